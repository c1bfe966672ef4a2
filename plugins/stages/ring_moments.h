/* ring_moments.h - integrals of what flows and stands while a capacitor is charged from a sine through an
 * inductance.
 *
 * Each such quantity is constant + first f1 + second f2 + cosine cos(omega s) + sine sin(omega s), all of one
 * pulse with the same f1 and f2, the circuit's own modes:
 *   ringing       f1 = e^(-a s) cos(b s),  f2 = e^(-a s) sin(b s)
 *   fading alike  f1 = e^(-a s) cosh(b s), f2 = e^(-a s) sinh(b s),  b < a / 2
 *   fading        f1 = e^(-a s),           f2 = e^(-b s),            a < b
 * where "alike" loses no digits to modes that all but coincide.
 * So fifteen integrals over the pulse serve every mean and mean square. source: elementary */
#ifndef RING_MOMENTS_H
#define RING_MOMENTS_H

#include <stdbool.h>

#include "pulse_moments.h"

typedef enum ring_kind { RING_RINGS, RING_ALIKE, RING_FADES } ring_kind;

typedef struct ring_modes {
    ring_kind kind;
    double a, b, omega; /* 1/s; 1/s or rad/s; rad/s of the mains */
} ring_modes;

typedef struct ring_form {
    double constant, first, second, cosine, sine;
} ring_form;

/* f1, f2, cos and sin of omega s at one time. */
typedef struct ring_instant {
    double first, second, c, s;
} ring_instant;

static inline ring_instant ring_instant_at(const ring_modes *m, double s)
{
    double c = cos(m->omega * s), si = sin(m->omega * s);
    if (m->kind == RING_FADES) return (ring_instant){exp(-m->a * s), exp(-m->b * s), c, si};
    if (m->kind == RING_ALIKE) {
        double slow = exp((m->b - m->a) * s), half = -0.5 * slow * expm1(-2.0 * m->b * s);
        return (ring_instant){slow - half, half, c, si};
    }
    double fade = exp(-m->a * s);
    return (ring_instant){fade * cos(m->b * s), fade * sin(m->b * s), c, si};
}

static inline double ring_value(const ring_form *f, const ring_instant *now)
{
    return f->constant + f->first * now->first + f->second * now->second + f->cosine * now->c +
           f->sine * now->s;
}

/* The form of a form's rise. */
static inline ring_form ring_rise(const ring_modes *m, const ring_form *f)
{
    double w = m->omega, p = f->first, q = f->second;
    if (m->kind == RING_FADES) return (ring_form){0.0, -m->a * p, -m->b * q, w * f->sine, -w * f->cosine};
    double turn = m->kind == RING_RINGS ? -m->b : m->b;
    return (ring_form){0.0, m->b * q - m->a * p, turn * p - m->a * q, w * f->sine, -w * f->cosine};
}

static inline double ring_at(const ring_modes *m, const ring_form *f, double s)
{
    ring_instant now = ring_instant_at(m, s);
    return ring_value(f, &now);
}

/* ------------------------------------------------------------- integrals -- */

typedef struct ring_moments {
    pulse_moments mains; /* length, cos, sin and their products; the rest is not used */
    double f1, f2, f1_square, f2_square, f1_f2;
    double f1_c, f1_s, f2_c, f2_s;
} ring_moments;

/* Integral of e^(z s), z = -fade + j turn, from the value e^(z t) at the end. */
static inline double complex ring_integral(double fade, double turn, double t, double re, double im)
{
    return pulse_exponential_integral(-fade + I * turn, t, re + I * im);
}

/* 1 - e^(-rate t) over rate. */
static inline double ring_fade(double rate, double t)
{
    return rate == 0.0 ? t : -expm1(-rate * t) / rate;
}

/* Integral of e^(-2 a s) sin^2(b s), or sinh^2, by parts: all its terms are as small as it is where b is.
 *   (b^2 [e^(-2 a s)] - e^(-2 a t) (b sin bt cos bt + a sin^2 bt)) / 2 (a^2 +- b^2) */
static inline double ring_square(const ring_modes *m, double even, const ring_instant *e)
{
    double sign = m->kind == RING_RINGS ? 1.0 : -1.0;
    double sum = m->b * m->b * even - (m->b * e->first + m->a * e->second) * e->second;
    return sum / (2.0 * (m->a * m->a + sign * m->b * m->b));
}

static inline void ring_ringing(const ring_modes *m, double t, const ring_instant *e, ring_moments *r)
{
    double a = m->a, b = m->b, w = m->omega;
    double complex own = ring_integral(a, b, t, e->first, e->second);
    double re = e->first * e->first - e->second * e->second, im = 2.0 * e->first * e->second;
    double complex twice = ring_integral(2.0 * a, 2.0 * b, t, re, im);
    double even = ring_fade(2.0 * a, t);
    double complex up =
        ring_integral(a, b + w, t, e->first * e->c - e->second * e->s, e->second * e->c + e->first * e->s);
    double complex down =
        ring_integral(a, b - w, t, e->first * e->c + e->second * e->s, e->second * e->c - e->first * e->s);
    r->f1 = creal(own);
    r->f2 = cimag(own);
    r->f2_square = ring_square(m, even, e);
    r->f1_square = even - r->f2_square;
    r->f1_f2 = 0.5 * cimag(twice);
    r->f1_c = 0.5 * (creal(up) + creal(down));
    r->f1_s = 0.5 * (cimag(up) - cimag(down));
    r->f2_c = 0.5 * (cimag(up) + cimag(down));
    r->f2_s = 0.5 * (creal(down) - creal(up));
}

/* `first` and `second` are e^(-a s) and e^(-b s) at the end. */
static inline void ring_fading(double a, double b, double w, double t, const ring_instant *e, ring_moments *r)
{
    double complex slow = ring_integral(a, w, t, e->first * e->c, e->first * e->s);
    double complex fast = ring_integral(b, w, t, e->second * e->c, e->second * e->s);
    r->f1 = ring_fade(a, t);
    r->f2 = ring_fade(b, t);
    r->f1_square = ring_fade(2.0 * a, t);
    r->f2_square = ring_fade(2.0 * b, t);
    r->f1_f2 = ring_fade(a + b, t);
    r->f1_c = creal(slow);
    r->f1_s = cimag(slow);
    r->f2_c = creal(fast);
    r->f2_s = cimag(fast);
}

/* Half the sum and half the difference of two that fade. */
static inline void ring_alike(const ring_modes *m, double t, const ring_instant *e, ring_moments *r)
{
    ring_instant apart = {e->first + e->second, e->first - e->second, e->c, e->s};
    ring_moments two;
    ring_fading(m->a - m->b, m->a + m->b, m->omega, t, &apart, &two);
    r->f1 = 0.5 * (two.f1 + two.f2);
    r->f2 = 0.5 * (two.f1 - two.f2);
    r->f2_square = ring_square(m, two.f1_f2, e);
    r->f1_square = two.f1_f2 + r->f2_square;
    r->f1_f2 = 0.25 * (two.f1_square - two.f2_square);
    r->f1_c = 0.5 * (two.f1_c + two.f2_c);
    r->f1_s = 0.5 * (two.f1_s + two.f2_s);
    r->f2_c = 0.5 * (two.f1_c - two.f2_c);
    r->f2_s = 0.5 * (two.f1_s - two.f2_s);
}

/* `end` is the instant at the end of the pulse. */
static inline ring_moments ring_moments_of(const ring_modes *m, double length, const ring_instant *end)
{
    ring_moments r;
    r.mains = pulse_mains_moments(m->omega, length, end->c, end->s);
    if (m->kind == RING_RINGS)
        ring_ringing(m, length, end, &r);
    else if (m->kind == RING_ALIKE)
        ring_alike(m, length, end, &r);
    else
        ring_fading(m->a, m->b, m->omega, length, end, &r);
    return r;
}

static inline double ring_total(const ring_form *f, const ring_moments *m)
{
    return f->constant * m->mains.length + f->first * m->f1 + f->second * m->f2 + f->cosine * m->mains.c +
           f->sine * m->mains.s;
}

/* Integral of f g. */
static inline double ring_product(const ring_form *f, const ring_form *g, const ring_moments *m)
{
    const pulse_moments *w = &m->mains;
    double first = f->constant * m->f1 + f->first * m->f1_square + f->second * m->f1_f2 +
                   f->cosine * m->f1_c + f->sine * m->f1_s;
    double second = f->constant * m->f2 + f->first * m->f1_f2 + f->second * m->f2_square +
                    f->cosine * m->f2_c + f->sine * m->f2_s;
    double c = f->constant * w->c + f->first * m->f1_c + f->second * m->f2_c + f->cosine * w->c_square +
               f->sine * w->c_s;
    double s = f->constant * w->s + f->first * m->f1_s + f->second * m->f2_s + f->cosine * w->c_s +
               f->sine * w->s_square;
    return g->constant * ring_total(f, m) + g->first * first + g->second * second + g->cosine * c +
           g->sine * s;
}

/* ------------------------------------------------------------- harmonics -- */

/* Integral of f(s) e^(j n omega s) over the pulse; of the constant and the mains' own sine as pulse_fourier
 * has it. `turn` is e^(j n omega length), `step` the same for n = 1, `end` the instant there. */
static inline double complex ring_fourier(const ring_modes *m, const ring_form *f, int n, double length,
                                          const ring_instant *end, double complex turn, double complex step)
{
    pulse_form steady = {f->constant, 0.0, 1.0, f->cosine, f->sine, m->omega};
    double complex sum = pulse_fourier(&steady, n, length, 0.0, turn, step);
    double w = n * m->omega, c = creal(turn), s = cimag(turn), p = end->first, q = end->second;
    if (m->kind != RING_RINGS) {
        bool alike = m->kind == RING_ALIKE;
        double x = alike ? p + q : p, y = alike ? p - q : q;
        double complex slow = ring_integral(alike ? m->a - m->b : m->a, w, length, x * c, x * s);
        double complex fast = ring_integral(alike ? m->a + m->b : m->b, w, length, y * c, y * s);
        if (alike) return sum + 0.5 * (f->first * (slow + fast) + f->second * (slow - fast));
        return sum + f->first * slow + f->second * fast;
    }
    double complex up = ring_integral(m->a, w + m->b, length, p * c - q * s, q * c + p * s);
    double complex down = ring_integral(m->a, w - m->b, length, p * c + q * s, p * s - q * c);
    double re = f->first * (creal(up) + creal(down)) + f->second * (cimag(up) - cimag(down));
    double im = f->first * (cimag(up) + cimag(down)) + f->second * (creal(down) - creal(up));
    return sum + 0.5 * (re + I * im);
}

#endif
