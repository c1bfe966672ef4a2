/* exponential.c - E0 and E1 by their power series near zero and in closed form elsewhere. */
#include "wave/exponential.h"

#include <math.h>

enum { TERMS = 15 };

/* Re(e^z - 1) = expm1(x) cos y - 2 sin^2(y/2): both parts keep full relative accuracy as z -> 0.
 * source: identity, docs/theory/waveforms.md eq. 5 */
complex_number exponential_minus_one(complex_number z)
{
    double grown = expm1(z.re);
    if (z.im == 0.0) return (complex_number){grown, 0.0};
    double half = sin(0.5 * z.im);
    return (complex_number){grown * cos(z.im) - 2.0 * half * half, (grown + 1.0) * sin(z.im)};
}

/* 1 / (k! (k + 1 + order)): docs/theory/waveforms.md eq. 4. */
static const double coefficient[2][TERMS] = {
    {1.0, 0.5, 0.16666666666666666, 0.041666666666666664, 0.008333333333333333, 0.001388888888888889,
     0.0001984126984126984, 2.48015873015873e-05, 2.7557319223985893e-06, 2.755731922398589e-07,
     2.505210838544172e-08, 2.08767569878681e-09, 1.6059043836821613e-10, 1.1470745597729725e-11,
     7.647163731819816e-13},
    {0.5, 0.3333333333333333, 0.125, 0.03333333333333333, 0.006944444444444444, 0.0011904761904761906,
     0.00017361111111111112, 2.2045855379188714e-05, 2.48015873015873e-06, 2.505210838544172e-07,
     2.296443268665491e-08, 1.9270852604185937e-09, 1.4911969277048643e-10, 1.0706029224547743e-11,
     7.169215998581078e-13},
};

/* Terms whose sequel is below 1e-17. */
static int terms_for(double square)
{
    if (square < 1e-8) return 4;
    if (square < 2.5e-3) return 9;
    return square < 0.04 ? 12 : TERMS;
}

complex_number exponential_series(complex_number z, int order)
{
    const double *c = coefficient[order];
    int k = terms_for(z.re * z.re + z.im * z.im);
    complex_number sum = {c[--k], 0.0};
    while (k > 0) {
        sum = complex_product(sum, z);
        sum.re += c[--k];
    }
    return sum;
}

complex_number exponential_moment(complex_number z)
{
    if (z.re * z.re + z.im * z.im < EXPONENTIAL_NEAR_ZERO) return exponential_series(z, 0);
    return complex_quotient(exponential_minus_one(z), z);
}

complex_number exponential_moment_1(complex_number z, complex_number minus_one)
{
    if (z.re * z.re + z.im * z.im < EXPONENTIAL_NEAR_ZERO) return exponential_series(z, 1);
    complex_number zeroth = complex_quotient(minus_one, z);
    return complex_quotient((complex_number){minus_one.re + 1.0 - zeroth.re, minus_one.im - zeroth.im}, z);
}
