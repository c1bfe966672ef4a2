/* lanes_power.h - v^p of four numbers above zero at once. */
#ifndef HEATLEDGER_LANES_POWER_H
#define HEATLEDGER_LANES_POWER_H

#include "wave/lanes_turn.h"

/* x, or the nearest of -most and most. */
WITHIN_LANES void lanes_hold(lanes *x, double most)
{
    lanes limit = {most, most, most, most};
    lanes_bits bits, high, low;
    lanes_mask above = *x > limit, below = *x < -limit;
    memcpy(&bits, x, sizeof bits);
    memcpy(&high, &limit, sizeof high);
    limit = -limit;
    memcpy(&low, &limit, sizeof low);
    bits = (bits & ~(lanes_bits)above) | (high & (lanes_bits)above);
    bits = (bits & ~(lanes_bits)below) | (low & (lanes_bits)below);
    memcpy(x, &bits, sizeof bits);
}

/* ln v within 2e-16 of itself or of 1, v a normal number: v = 2^k (1 + f), 1 + f within sqrt(1/2) and sqrt 2,
 * s = f / (2 + f).
 * source: the coefficients of the freely distributed C library of Sun Microsystems, 1993 (e_log.c; from
 * memory, checked against the library) */
WITHIN_LANES void lanes_logarithm(const lanes *value, lanes *result)
{
    lanes_bits bits, shifted, whole;
    memcpy(&bits, value, sizeof bits);
    shifted = (bits - 0x3fe6a09e667f3bcdull + (1024ull << 52)) >> 52; /* k + 1024 */
    bits -= (shifted - 1024) << 52;
    whole = shifted | 0x4330000000000000ull;
    lanes k, m;
    memcpy(&k, &whole, sizeof k);
    memcpy(&m, &bits, sizeof m);
    k -= 4503599627370496.0 + 1024.0;
    lanes f = m - 1.0, s = f / (2.0 + f), z = s * s, half = 0.5 * f * f;
    lanes r = z * (6.666666666666735130e-01 +
                   z * (3.999999999940941908e-01 +
                        z * (2.857142874366239149e-01 +
                             z * (2.222219843214978396e-01 +
                                  z * (1.818357216161805012e-01 +
                                       z * (1.531383769920937332e-01 + z * 1.479819860511658591e-01))))));
    *result =
        k * 6.93147180369123816490e-01 - ((half - (s * (half + r) + k * 1.90821492927058770002e-10)) - f);
}

/* Within 1e-15 (1 + p |ln v|); below e^-600, or above e^600, held there. */
WITHIN_LANES void lanes_powers(const lanes *value, const lanes *p, lanes *result)
{
    lanes exponent;
    lanes_logarithm(value, &exponent);
    exponent *= *p;
    lanes_hold(&exponent, lanes_growth_most);
    lanes_exponential(&exponent, result);
}

WITHIN_LANES void lanes_power(const lanes *value, double p, lanes *result)
{
    lanes all = {p, p, p, p};
    lanes_powers(value, &all, result);
}

#endif
