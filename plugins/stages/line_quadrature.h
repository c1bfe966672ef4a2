/* line_quadrature.h - where along the quarter line to look, and with what weight.
 *
 * Averages over the line are integrals over angle, which is proportional to time. Gauss-Legendre with
 * eight points per panel is exact to polynomials of degree 15; panels end where the integrand bends (a mode
 * border), so that it is smooth inside each. source: M. Abramowitz, I. Stegun, Handbook of Mathematical
 * Functions, 1964, 25.4.30 and table 25.4 (n = 8). */
#ifndef LINE_QUADRATURE_H
#define LINE_QUADRATURE_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#include "../lanes.h"

enum { LINE_PANEL_NODES = 8, LINE_PANELS_MAX = 5, LINE_NODES_MAX = LINE_PANEL_NODES * LINE_PANELS_MAX };

#define LINE_QUARTER 1.5707963267948966 /* rad */

/* What pi/2 is beyond that number. */
static const double line_quarter_rest = 6.123233995736766e-17;

typedef struct line_nodes {
    size_t n;
    double angle[LINE_NODES_MAX];                        /* rad, rising */
    double weight[LINE_NODES_MAX];                       /* sum 1, less what comes before the first panel */
    double sine[LINE_NODES_MAX], cosine[LINE_NODES_MAX]; /* of the angle */
} line_nodes;

static inline void line_panel(line_nodes *nodes, double from, double to)
{
    static const double x[4] = {0.183434642495649805, 0.525532409916328986, 0.796666477413626740,
                                0.960289856497536232};
    static const double w[4] = {0.362683783378361983, 0.313706645877887287, 0.222381034453374471,
                                0.101228536290376259};
    double middle = 0.5 * (from + to), half = 0.5 * (to - from);
    for (int k = 0; k < LINE_PANEL_NODES; k++) {
        int j = k < 4 ? 3 - k : k - 4;
        nodes->angle[nodes->n] = middle + (k < 4 ? -half : half) * x[j];
        nodes->weight[nodes->n++] = w[j] * half / LINE_QUARTER;
    }
}

/* Of an angle from 0 to pi/2: Taylor's sum, whose next term is below 1e-19. */
static inline double line_sine(double angle)
{
    double z = angle * angle, sum = 1.0 - z * (1.0 / (22.0 * 23.0));
    sum = 1.0 - z * (1.0 / (16.0 * 17.0)) *
                    (1.0 - z * (1.0 / (18.0 * 19.0)) * (1.0 - z * (1.0 / (20.0 * 21.0)) * sum));
    sum = 1.0 - z * (1.0 / (10.0 * 11.0)) *
                    (1.0 - z * (1.0 / (12.0 * 13.0)) * (1.0 - z * (1.0 / (14.0 * 15.0)) * sum));
    sum = 1.0 -
          z * (1.0 / (4.0 * 5.0)) * (1.0 - z * (1.0 / (6.0 * 7.0)) * (1.0 - z * (1.0 / (8.0 * 9.0)) * sum));
    return angle - angle * (z * (1.0 / 6.0) * sum);
}

FOUR_LANES static void line_sines(line_nodes *nodes)
{
    for (size_t k = 0; k < nodes->n; k++) {
        nodes->sine[k] = line_sine(nodes->angle[k]);
        nodes->cosine[k] = line_sine((LINE_QUARTER - nodes->angle[k]) + line_quarter_rest);
    }
}

/* A border so near an end that its panel weighs nothing is none. */
static inline bool line_border_within(double from, double border)
{
    return border > from + 1e-9 && border < LINE_QUARTER - 1e-9;
}

/* `panels` panels over from .. pi/2 (nothing flows before `from`). borders: angles to end panels at, most
 * wanted first; those outside the range, or more than there is room for, are left out; what is left over
 * halves the widest panel. */
static inline void line_nodes_place(line_nodes *nodes, double from, size_t panels, const double borders[],
                                    size_t n_borders)
{
    double end[LINE_PANELS_MAX + 1] = {from, LINE_QUARTER};
    size_t n = 1;
    if (panels > LINE_PANELS_MAX) panels = LINE_PANELS_MAX;
    while (n < panels) {
        double at = -1.0;
        while (n_borders > 0 && at < 0.0) {
            if (line_border_within(from, *borders)) at = *borders;
            borders++;
            n_borders--;
        }
        size_t place = 0;
        if (at > 0.0) {
            while (end[place + 1] < at) place++;
        } else {
            for (size_t k = 1; k < n; k++)
                if (end[k + 1] - end[k] > (end[place + 1] - end[place]) * (1.0 + 1e-9)) place = k;
            at = 0.5 * (end[place] + end[place + 1]);
        }
        for (size_t k = ++n; k > place + 1; k--) end[k] = end[k - 1];
        end[place + 1] = at;
    }
    nodes->n = 0;
    for (size_t k = 0; k < n; k++) line_panel(nodes, end[k], end[k + 1]);
    line_sines(nodes);
}

#endif
