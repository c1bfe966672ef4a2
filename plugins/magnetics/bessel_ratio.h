/* bessel_ratio.h - ratios of modified Bessel functions, all that a round wire's currents need.
 *
 * Inside a round wire the vector potential of order m is I_m((1 + j) r / delta) cos(m theta), and only
 * quotients of neighbouring orders enter resistance and loss; so no Bessel function is ever evaluated.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, 9.6.26 (recurrence);
 * D. E. Amos, Math. Comp. 28 (1974), p. 239 (form of the start value, there for real argument). */
#ifndef BESSEL_RATIO_H
#define BESSEL_RATIO_H

#include <complex.h>

enum { BESSEL_RUN_IN = 16 };

/* ratio[m] = I_(m+1)(z) / I_m(z) for m = 0 .. n-1, Re z > 0.
 * Downward recurrence r_m = 1 / (2 (m+1) / z + r_(m+1)) forgets its start as |r|^2 per step; where |r| is
 * near 1 (|z| large) the start itself is good to O(1/z^3), as (order + 1/2) (order + 3/2) under the root
 * makes it. Relative error for z = (1 + j) x: below 1e-9 up to x = 10, below 2e-5 anywhere (most near x = 60,
 * for n = 2). */
static inline void bessel_ratios(double complex z, int n, double complex ratio[])
{
    double order = n + BESSEL_RUN_IN;
    double complex inverse = 1.0 / z;
    double complex r = z / (order + 0.5 + csqrt((order + 0.5) * (order + 1.5) + z * z));
    for (int m = n + BESSEL_RUN_IN - 1; m >= 0; m--) {
        r = 1.0 / (2.0 * (m + 1) * inverse + r);
        if (m < n) ratio[m] = r;
    }
}

#endif
