/* exponential.h - moments of a complex exponential over the unit interval, exact down to z = 0.
 *
 * Every closed form of this folder needs E0(z) = integral of e^(z u) and E1(z) = integral of u e^(z u),
 * u from 0 to 1.  Written as (e^z - 1)/z they lose all digits where z is small: little damping, slow
 * ringing, a harmonic that meets the ringing frequency, a short segment.  docs/theory/waveforms.md eq. 4. */
#ifndef HEATLEDGER_EXPONENTIAL_H
#define HEATLEDGER_EXPONENTIAL_H

/* C11's own complex product checks for infinities on every call; these do not. */
typedef struct complex_number {
    double re, im;
} complex_number;

static inline complex_number complex_product(complex_number a, complex_number b)
{
    return (complex_number){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

/* a / b; |b|^2 must neither overflow nor vanish. */
static inline complex_number complex_quotient(complex_number a, complex_number b)
{
    double inverse = 1.0 / (b.re * b.re + b.im * b.im);
    return (complex_number){(a.re * b.re + a.im * b.im) * inverse, (a.im * b.re - a.re * b.im) * inverse};
}

/* e^z - 1 without cancellation in either part. */
complex_number exponential_minus_one(complex_number z);

/* Sum of z^k / (k! (k + 1 + order)), the series of E_order, order 0 or 1, for |z|^2 < EXPONENTIAL_NEAR_ZERO.
 */
complex_number exponential_series(complex_number z, int order);

/* E0(z), when e^z is not known yet. */
complex_number exponential_moment(complex_number z);

/* Below |z| = 1/2 the series are used: their term 16 is under 1e-18. */
#define EXPONENTIAL_NEAR_ZERO 0.25

/* E0(z) from z and minus_one = e^z - 1. */
static inline complex_number exponential_moment_0(complex_number z, complex_number minus_one)
{
    if (z.re * z.re + z.im * z.im < EXPONENTIAL_NEAR_ZERO) return exponential_series(z, 0);
    return complex_quotient(minus_one, z);
}

/* E1(z) likewise. */
complex_number exponential_moment_1(complex_number z, complex_number minus_one);

#endif
