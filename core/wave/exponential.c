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

/* docs/theory/waveforms.md eq. 4. */
complex_number exponential_series(complex_number z, int order)
{
    complex_number sum = {0.0, 0.0};
    complex_number power = {1.0, 0.0};
    for (int k = 0; k < TERMS; k++) {
        double weight = 1.0 / (k + 1 + order);
        sum.re += power.re * weight;
        sum.im += power.im * weight;
        power = complex_product(power, z);
        power.re /= k + 1;
        power.im /= k + 1;
    }
    return sum;
}

complex_number exponential_moment_1(complex_number z, complex_number minus_one)
{
    if (z.re * z.re + z.im * z.im < EXPONENTIAL_NEAR_ZERO) return exponential_series(z, 1);
    complex_number zeroth = complex_quotient(minus_one, z);
    return complex_quotient((complex_number){minus_one.re + 1.0 - zeroth.re, minus_one.im - zeroth.im}, z);
}
