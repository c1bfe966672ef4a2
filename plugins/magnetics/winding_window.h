/* winding_window.h - layers in a window with a gap: mean square field at each winding.
 *
 * The ampere-turns of a winding are balanced by the gap in the inner leg, or in the outer ones, or both
 * (sheets over their mouths, the field there taken as even) and by the core, along all its walls, in
 * proportion to their reluctances. Wires answer the gap's field, which comes from outside and varies quickly,
 * by pushing it away: the wound region is for it a layer of relative permeability mu = (1 + phi rho) / (1 -
 * phi rho), phi = share of copper, rho = -I2(z) / I0(z), z = (1 + j) R / delta (J. C. Maxwell Garnett, Phil.
 * Trans. R. Soc. A 203, 1904, in two dimensions, with the dipole of round_row.h). With y = mu tanh k (depth -
 * x2), t = tanh k (x2 - x1), s = (y + t) / (1 + y t), the order n of the gap's field has A(x1) = mu0 K_n / (k
 * (sinh k x1 + s / mu cosh k x1)), and in the layer A(x) = A(x1) (cosh k (x2 - x) + y sinh k (x2 - x)) /
 * (cosh k (x2 - x1) + y sinh k (x2 - x1)). Around a round leg of radius a the orders n > 0 fall a little
 * faster: along by c_0 = K0(kr) / K0(ka) exp(k (r - a)), across by K1(kr) / K0(ka) exp(k (r - a)), each by
 * its asymptotic series to first order (M. Abramowitz, I. A. Stegun, 1964, 9.7.2). a comes from the mean turn
 * length, so it serves any leg. Against two-dimensional field solutions up to d / delta = 4: 2 % with a gap,
 * 3 % for two windings without, 10 % for one winding on a core without gap, whose walls are not alike.
 * docs/theory/windings.md */
#ifndef WINDING_WINDOW_H
#define WINDING_WINDOW_H

#include <stdbool.h>
#include <stddef.h>

#include "bessel_ratio.h"
#include "gap.h"
#include "window_field.h"

enum { WINDOW_LAYERS = 64, WINDOW_PLACES = 8, GAP_ORDERS = 32 };

typedef struct window_layer {
    double x, breadth, turns; /* m, m, turns of this layer */
    double length;            /* of its turns over the mean */
    size_t winding;
} window_layer;

typedef struct winding_window {
    window_size size;
    double gap, outer_gap;         /* m; 0: none in the inner leg, in the outer ones */
    double gap_share, outer_share; /* of the ampere-turns each takes; the core takes the rest */
    double leg_radius;             /* m, of a round leg as long around; infinite for a plane one */
    size_t n;
    window_layer layer[WINDOW_LAYERS];
    double from, to; /* x1, x2: the wound region */
} winding_window;

/* Of place i along a layer; half of it is enough. */
static inline double window_place(const window_layer *layer, int i)
{
    return 0.5 * layer->breadth * (i + 0.5) / WINDOW_PLACES;
}

/* A gap as long as this much of the inner leg's area would need without fringe; its leg has `area`. */
static inline double window_air(const winding_window *w, double gap, double area)
{
    return gap > 0.0 ? gap / gap_widening(gap, area, w->size.width) : 0.0;
}

/* Gaps and core share the tension as their reluctances; the two outer legs are half the inner one each. */
static inline void window_share(winding_window *w, double area, double path, double mu)
{
    double around = path > 0.0 ? path : 2.0 * (w->size.width + w->size.depth);
    double inner = window_air(w, w->gap, area), outer = window_air(w, w->outer_gap, 0.5 * area);
    double all = inner + outer + around / mu;
    w->gap_share = inner > 0.0 ? inner / all : 0.0;
    w->outer_share = outer > 0.0 ? outer / all : 0.0;
}

/* Put `count` layers of winding w from x on; returns the x of the last. false: no room. */
static inline bool window_put(winding_window *w, size_t winding, int count, double turns, double breadth,
                              double pitch, double *x)
{
    for (int i = 0; i < count; i++, *x += pitch) {
        if (w->n == WINDOW_LAYERS || !(*x > 0.0 && *x < w->size.depth)) return false;
        w->layer[w->n++] = (window_layer){*x, breadth, turns, 1.0, winding};
    }
    *x -= pitch;
    return true;
}

/* Once all layers lie: the wound region, and lengths from the mean turn of the whole. */
static inline void window_close(winding_window *w, double turn_length, double layer_pitch)
{
    const double turn = 6.28318530717958648;
    double first = w->layer[0].x, last = w->layer[w->n - 1].x, middle = 0.5 * (first + last);
    w->from = fmax(first - 0.5 * layer_pitch, 0.05 * first);
    w->to = fmin(last + 0.5 * layer_pitch, w->size.depth);
    w->leg_radius = turn_length > turn * middle ? turn_length / turn - middle : INFINITY;
    if (!isfinite(w->leg_radius)) return;
    for (size_t i = 0; i < w->n; i++)
        w->layer[i].length = (w->leg_radius + w->layer[i].x) / (w->leg_radius + middle);
}

/* Less the field of a gap's mouth that takes so many ampere-turns. */
static inline void window_mouth(const winding_window *w, const window_sheet *mouth, double taken, double x,
                                double y, window_vector *sum)
{
    if (!(taken > 0.0)) return;
    window_vector h = window_sheet_field(&w->size, mouth, x, y);
    sum->along -= taken * h.along;
    sum->across -= taken * h.across;
}

/* Field per ampere of winding u at a place, the wires' answer to the gap left out. */
static inline window_vector window_static(const winding_window *w, size_t u, double x, double y,
                                          bool with_gap)
{
    window_vector sum = {0.0, 0.0}, h;
    double turns = 0.0;
    for (size_t i = 0; i < w->n; i++) {
        const window_layer *layer = &w->layer[i];
        if (layer->winding != u) continue;
        window_sheet sheet = {layer->x, layer->breadth};
        h = window_sheet_field(&w->size, &sheet, x, y);
        sum.along += layer->turns * h.along;
        sum.across += layer->turns * h.across;
        turns += layer->turns;
    }
    double core = 1.0 - w->gap_share - w->outer_share;
    h = window_wall_field(&w->size, x, y);
    sum.along -= turns * core * h.along;
    sum.across -= turns * core * h.across;
    if (!with_gap) return sum;
    window_mouth(w, &(window_sheet){0.0, w->gap}, turns * w->gap_share, x, y, &sum);
    window_mouth(w, &(window_sheet){w->size.depth, w->outer_gap}, turns * w->outer_share, x, y, &sum);
    return sum;
}

/* ------------------------------------------------- one winding and its gap -- */

/* What of the field of one winding does not depend on frequency. */
typedef struct gap_field {
    winding_window window;
    double turns, pitch; /* m, of turns along the layer */
    double copper_share;
    window_vector fixed[WINDOW_LAYERS][WINDOW_PLACES];
    double cosine[WINDOW_PLACES][GAP_ORDERS], sine[WINDOW_PLACES][GAP_ORDERS];
} gap_field;

static inline void gap_field_prepare(gap_field *g)
{
    const winding_window *w = &g->window;
    for (int p = 0; p < WINDOW_PLACES; p++) {
        double y = window_place(&w->layer[0], p);
        for (size_t i = 0; i < w->n; i++) g->fixed[i][p] = window_static(w, 0, w->layer[i].x, y, false);
        for (int n = 0; n < GAP_ORDERS; n++) {
            g->cosine[p][n] = cos(window_order(&w->size, n + 1) * y);
            g->sine[p][n] = sin(window_order(&w->size, n + 1) * y);
        }
    }
}

typedef struct gap_orders {
    double complex along[GAP_ORDERS], across[GAP_ORDERS];
    int n;
} gap_orders;

/* Amplitudes at layer x of the gap's orders, for the permeability mu of the wound region. */
static inline void gap_orders_at(const winding_window *w, double x, double complex mu, gap_orders *orders)
{
    double r = w->leg_radius + x, a = w->leg_radius;
    orders->n = 0;
    for (int n = 1; n <= GAP_ORDERS; n++) {
        double k = window_order(&w->size, n), below = k * w->from, thick = k * (w->to - w->from);
        if (k * x > 30.0) return;
        double t = tanh(thick), left = k * (w->to - x);
        double complex y = mu * tanh(k * (w->size.depth - w->to)), s = (y + t) / (1.0 + y * t);
        double complex at_from =
            window_amplitude(&w->size, w->gap, n) / (k * (sinh(below) + s / mu * cosh(below)));
        /* cosh and sinh of both lengths, over e^thick */
        double complex more = 0.5 * (1.0 + y), less = 0.5 * (1.0 - y);
        double complex end = at_from * exp(left - thick) / (more + less * exp(-2.0 * thick));
        double complex falling = less * exp(-2.0 * left);
        double round = 1.0, round_across = 1.0;
        if (isfinite(a)) {
            round = sqrt(a / r) * (1.0 + 0.125 / (k * a)) / (1.0 + 0.125 / (k * r));
            round_across = sqrt(a / r) * (1.0 + 0.125 / (k * a)) * (1.0 + 0.375 / (k * r));
        }
        orders->along[n - 1] = round * k / mu * end * (more - falling);
        orders->across[n - 1] = -round_across * k * end * (more + falling);
        orders->n = n;
    }
}

/* Mean squares over all wires of the field in I / pitch, at R / delta. */
static inline window_vector gap_field_squares(const gap_field *g, double radius_over_depth)
{
    const winding_window *w = &g->window;
    double complex ratio[2];
    bessel_ratios((1.0 + I) * radius_over_depth, 2, ratio);
    double complex dipole = -g->copper_share * ratio[0] * ratio[1], mu = (1.0 + dipole) / (1.0 - dipole);
    window_vector sum = {0.0, 0.0};
    double lengths = 0.0, scale = g->turns * w->gap_share;
    for (size_t i = 0; i < w->n; i++) {
        gap_orders orders;
        gap_orders_at(w, w->layer[i].x, mu, &orders);
        lengths += w->layer[i].length;
        for (int p = 0; p < WINDOW_PLACES; p++) {
            double complex along = 1.0 / w->size.width, across = 0.0;
            for (int n = 0; n < orders.n; n++) {
                along += orders.along[n] * g->cosine[p][n];
                across += orders.across[n] * g->sine[p][n];
            }
            along = g->fixed[i][p].along - scale * along;
            across = g->fixed[i][p].across - scale * across;
            double weight = w->layer[i].length / WINDOW_PLACES;
            sum.along += weight * (creal(along) * creal(along) + cimag(along) * cimag(along));
            sum.across += weight * (creal(across) * creal(across) + cimag(across) * cimag(across));
        }
    }
    double square = g->pitch * g->pitch / lengths;
    return (window_vector){square * sum.along, square * sum.across};
}

#endif
