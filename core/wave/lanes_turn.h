/* lanes_turn.h - e^(x + j y) of four numbers at once.
 *
 * The same operations on every machine, unlike a mathematics library's. */
#ifndef HEATLEDGER_LANES_TURN_H
#define HEATLEDGER_LANES_TURN_H

#include "wave/lanes.h"

/* |y| that the reduction serves, and |x| that neither overflows nor vanishes. */
static const double lanes_turn_most = 1e5, lanes_growth_most = 600.0;

/* Nearest whole number of x, |x| < 2^51: what adding 1.5 2^52 leaves. */
#define LANES_WHOLE 6755399441055744.0

/* cos y and sin y within 2e-16, |y| < lanes_turn_most: less k pi/2 in three parts, then the polynomials of
 * both for |r| <= pi/4.
 * source: the coefficients of the freely distributed C library of Sun Microsystems, 1993 (k_sin.c, k_cos.c,
 * e_rem_pio2.c; from memory, checked against the library in tests/wave) */
WITHIN_LANES void lanes_cos_sin(const lanes *angle, lanes *cosine, lanes *sine)
{
    lanes y = *angle, whole = y * 0.63661977236758134308 + LANES_WHOLE;
    lanes_bits bits;
    memcpy(&bits, &whole, sizeof bits);
    lanes k = whole - LANES_WHOLE;
    lanes r = y - k * 1.57079632673412561417e+00;
    r = r - k * 6.07710050630396597660e-11;
    r = r - k * 2.02226624879595063154e-21;
    lanes z = r * r;
    lanes s = r + r * z *
                      (-1.66666666666666324348e-01 +
                       z * (8.33333333332248946124e-03 +
                            z * (-1.98412698298579493134e-04 +
                                 z * (2.75573137070700676789e-06 +
                                      z * (-2.50507602534068634195e-08 + z * 1.58969099521155010221e-10)))));
    lanes c = 1.0 - 0.5 * z +
              z * z *
                  (4.16666666666666019037e-02 +
                   z * (-1.38888888888741095749e-03 +
                        z * (2.48015872894767294178e-05 +
                             z * (-2.75573143513906633035e-07 +
                                  z * (2.08757232129817482790e-09 + z * -1.13596475577881948265e-11)))));
    lanes_bits odd = -(bits & 1), s_bits, c_bits;
    memcpy(&s_bits, &s, sizeof s);
    memcpy(&c_bits, &c, sizeof c);
    lanes_bits swapped = (s_bits ^ c_bits) & odd;
    s_bits = (s_bits ^ swapped) ^ ((bits & 2) << 62);
    c_bits = (c_bits ^ swapped) ^ (((bits + 1) & 2) << 62);
    memcpy(sine, &s_bits, sizeof s);
    memcpy(cosine, &c_bits, sizeof c);
}

/* e^x within 3e-16, |x| < lanes_growth_most: 2^k e^r, |r| <= ln 2 / 2, and with
 *   c = 2 - 2 r / (e^r - 1):  e^r = 1 + r + r c / (2 - c),  r - c is even, a polynomial of r^2.
 * source: the coefficients of the freely distributed C library of Sun Microsystems, 1993 (e_exp.c; from
 * memory, checked against the library in tests/wave) */
WITHIN_LANES void lanes_exponential(const lanes *exponent, lanes *result)
{
    lanes x = *exponent, whole = x * 1.44269504088896338700 + LANES_WHOLE;
    lanes_bits bits;
    memcpy(&bits, &whole, sizeof bits);
    lanes k = whole - LANES_WHOLE;
    lanes high = x - k * 6.93147180369123816490e-01, low = k * 1.90821492927058770002e-10;
    lanes r = high - low, z = r * r;
    lanes c = r - z * (1.66666666666666019037e-01 +
                       z * (-2.77777777770155933842e-03 +
                            z * (6.61375632143793436117e-05 +
                                 z * (-1.65339022054652515390e-06 + z * 4.13813679705723846039e-08))));
    lanes sum = 1.0 - ((low - (r * c) / (2.0 - c)) - high);
    lanes_bits power = (bits + 1023) << 52;
    lanes scale;
    memcpy(&scale, &power, sizeof scale);
    *result = sum * scale;
}

#endif
