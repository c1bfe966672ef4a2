/* layer_winding.h - one layer of foil or flat wire in a field parallel to it: the one-dimensional solution.
 *
 * A layer of thickness h carries the current I over the width b; its faces see the fields Ha and Hb, in
 * units of I / b, Hb - Ha = 1. With D = h / delta, the loss over that of direct current is
 *   F = D [(Ha^2 + Hb^2) z1 - 4 Ha Hb z2]
 *   z1 = (sinh 2D + sin 2D) / (cosh 2D - cos 2D), z2 = (sinh D cos D + cosh D sin D) / (cosh 2D - cos 2D)
 * which splits into a part of the layer's own current and one of the mean field M = (Ha + Hb) / 2:
 *   F = own + field M^2,  field = 2 D g,  own = D z1 - field / 4,  g = (sinh D - sin D) / (cosh D + cos D).
 * The split is orthogonal (one part is odd over the thickness, the other even), so M may come from any number
 * of other windings. Exact for layers that fill the width; a layer that fills the share eta of it is taken as
 * a full one of conductivity eta sigma.
 * source: P. L. Dowell, Proc. IEE 113(8), 1966, pp. 1387-1394, eq. 10; J. A. Ferreira, IEEE Trans. Power
 * Electron. 9(1), 1994, pp. 127-131 (orthogonality) */
#ifndef LAYER_WINDING_H
#define LAYER_WINDING_H

#include <math.h>

typedef struct ac_factor {
    double own_excess; /* loss of the conductor's own current over dc, less 1 */
    double field;      /* loss per square of the mean field along the layer, field in I / pitch */
    double across;     /* the same for a field across the layer; 0 where not modelled */
} ac_factor;

enum { LAYER_SERIES = 6 };
static const double layer_thick = 40.0; /* beyond, exp(-D) is below rounding */

/* D z1 - 1: x = 2D, sums of (4k)th powers, each difference taken term by term so that nothing cancels. */
static inline double layer_own_series(double x)
{
    double power = 1.0, top = 0.0, bottom = 0.0, factorial = 1.0, fourth = x * x * x * x;
    for (int k = 0; k < LAYER_SERIES; k++) {
        double n = 4.0 * k; /* factorial = (n + 1)! */
        top += power / factorial * n / (n + 2.0);
        bottom += power / factorial * 2.0 / (n + 2.0);
        power *= fourth;
        factorial *= (n + 2.0) * (n + 3.0) * (n + 4.0) * (n + 5.0);
    }
    return top / bottom;
}

/* sinh D - sin D for small D */
static inline double layer_difference_series(double d)
{
    double fourth = d * d * d * d, term = d * d * d / 3.0, sum = 0.0;
    for (int k = 0; k < LAYER_SERIES; k++) {
        double n = 4.0 * k + 3.0;
        sum += term;
        term *= fourth / ((n + 1.0) * (n + 2.0) * (n + 3.0) * (n + 4.0));
    }
    return sum;
}

static inline ac_factor layer_factor(double thickness_over_depth)
{
    double d = thickness_over_depth, both, g;
    if (d < 1.0) {
        both = layer_own_series(2.0 * d);
        g = layer_difference_series(d) / (cosh(d) + cos(d));
    } else if (d < layer_thick) {
        both = d * (sinh(2.0 * d) + sin(2.0 * d)) / (cosh(2.0 * d) - cos(2.0 * d)) - 1.0;
        g = (sinh(d) - sin(d)) / (cosh(d) + cos(d));
    } else {
        both = d - 1.0;
        g = 1.0;
    }
    double field = 2.0 * d * g;
    return (ac_factor){.own_excess = both - 0.25 * field, .field = field};
}

/* Mean of M^2 over the m layers of a portion that begins at zero field: (4 m^2 - 1) / 12. Holds for half
 * layers too (m = 1/2: the zero lies within the layer). */
static inline double layer_mean_square_field(double layers)
{
    return fmax((4.0 * layers * layers - 1.0) / 12.0, 0.0);
}

#endif
