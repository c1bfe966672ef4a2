/* pulse_moments.h - integrals of what flows and stands while a capacitor is charged from a sine.
 *
 * Each such quantity is constant + exponential e^(-rate s) + cosine cos(omega s) + sine sin(omega s), all of
 * one pulse with the same rate and omega; so nine integrals over the pulse serve every mean and mean square.
 * source: elementary */
#ifndef PULSE_MOMENTS_H
#define PULSE_MOMENTS_H

#include <complex.h>
#include <math.h>

typedef struct pulse_form {
    double constant, exponential, rate, cosine, sine, omega;
} pulse_form;

/* e^(-rate s), cos and sin of omega s at one time. */
typedef struct pulse_instant {
    double fade, c, s;
} pulse_instant;

static inline pulse_instant pulse_instant_at(const pulse_form *f, double s)
{
    return (pulse_instant){exp(-f->rate * s), cos(f->omega * s), sin(f->omega * s)};
}

static inline double pulse_value(const pulse_form *f, const pulse_instant *now)
{
    return f->constant + f->exponential * now->fade + f->cosine * now->c + f->sine * now->s;
}

static inline double pulse_rise(const pulse_form *f, const pulse_instant *now)
{
    return -f->rate * f->exponential * now->fade + f->omega * (f->sine * now->c - f->cosine * now->s);
}

static inline double pulse_bend(const pulse_form *f, const pulse_instant *now)
{
    return f->rate * f->rate * f->exponential * now->fade -
           f->omega * f->omega * (f->cosine * now->c + f->sine * now->s);
}

static inline double pulse_at(const pulse_form *f, double s)
{
    pulse_instant now = pulse_instant_at(f, s);
    return pulse_value(f, &now);
}

static inline double pulse_slope(const pulse_form *f, double s)
{
    pulse_instant now = pulse_instant_at(f, s);
    return pulse_rise(f, &now);
}

/* ------------------------------------------------------------- integrals -- */

/* (e^(z t) - 1) / z from end = e^(z t); by its series where |z t| < 0.1 and digits would be lost. */
static inline double complex pulse_exponential_integral(double complex z, double t, double complex end)
{
    double complex x = z * t;
    double size = creal(x) * creal(x) + cimag(x) * cimag(x);
    if (size > 0.01) {
        double square = creal(z) * creal(z) + cimag(z) * cimag(z);
        double a = creal(end) - 1.0, b = cimag(end);
        return ((a * creal(z) + b * cimag(z)) + I * (b * creal(z) - a * cimag(z))) / square;
    }
    double complex sum = 1.0;
    for (int k = 10; k > 1; k--) {
        double re = creal(x) / k, im = cimag(x) / k, sr = creal(sum), si = cimag(sum);
        sum = (1.0 + re * sr - im * si) + I * (re * si + im * sr);
    }
    return t * creal(sum) + I * (t * cimag(sum));
}

typedef struct pulse_moments {
    double length;                        /* s, the integral of one */
    double fade, fade_square;             /* of e, e^2 */
    double c, s, c_square, s_square, c_s; /* of cos, sin and their products */
    double fade_c, fade_s;                /* of e cos, e sin */
} pulse_moments;

/* Those of one, cos, sin and their products alone; c and s are cos and sin at the end. */
static inline pulse_moments pulse_mains_moments(double w, double length, double c, double s)
{
    double x = w * length, half = sin(0.5 * x), both = s * c / (2.0 * w), y = 4.0 * x * x;
    pulse_moments m = {.length = length,
                       .c = s / w,
                       .s = 2.0 * half * half / w,
                       .c_square = 0.5 * length + both,
                       .s_square = 0.5 * length - both,
                       .c_s = s * s / (2.0 * w)};
    if (x < 0.2) /* (2 x - sin 2x) / 4 w by its series */
        m.s_square =
            length * y / 12.0 * (1.0 - y / 20.0 * (1.0 - y / 42.0 * (1.0 - y / 72.0 * (1.0 - y / 110.0))));
    return m;
}

/* `end` is the instant at the end of the pulse. */
static inline pulse_moments pulse_moments_of(const pulse_form *f, double length, const pulse_instant *end)
{
    double w = f->omega, r = f->rate, lost = -expm1(-r * length);
    double complex mixed =
        pulse_exponential_integral(-r + I * w, length, end->fade * end->c + I * (end->fade * end->s));
    pulse_moments m = pulse_mains_moments(w, length, end->c, end->s);
    m.fade = lost / r;
    m.fade_square = lost * (2.0 - lost) / (2.0 * r);
    m.fade_c = creal(mixed);
    m.fade_s = cimag(mixed);
    return m;
}

static inline double pulse_integral(const pulse_form *f, const pulse_moments *m)
{
    return f->constant * m->length + f->exponential * m->fade + f->cosine * m->c + f->sine * m->s;
}

/* Integral of f g. */
static inline double pulse_product(const pulse_form *f, const pulse_form *g, const pulse_moments *m)
{
    double one = f->constant * m->length + f->exponential * m->fade + f->cosine * m->c + f->sine * m->s;
    double fade =
        f->constant * m->fade + f->exponential * m->fade_square + f->cosine * m->fade_c + f->sine * m->fade_s;
    double c = f->constant * m->c + f->exponential * m->fade_c + f->cosine * m->c_square + f->sine * m->c_s;
    double s = f->constant * m->s + f->exponential * m->fade_s + f->cosine * m->c_s + f->sine * m->s_square;
    return g->constant * one + g->exponential * fade + g->cosine * c + g->sine * s;
}

/* ------------------------------------------------------------- harmonics -- */

/* Integral of f(s) e^(j n omega s) over the pulse, whose end is e^(j n omega length) and `step` the same for
 * n = 1; `fade` is e^(-rate length). */
static inline double complex pulse_fourier(const pulse_form *f, int n, double length, double fade,
                                           double complex end, double complex step)
{
    double w = f->omega;
    double complex before = (creal(end) * creal(step) + cimag(end) * cimag(step)) +
                            I * (cimag(end) * creal(step) - creal(end) * cimag(step));
    double complex after = (creal(end) * creal(step) - cimag(end) * cimag(step)) +
                           I * (cimag(end) * creal(step) + creal(end) * cimag(step));
    double complex own = pulse_exponential_integral(I * (n * w), length, end);
    double complex fading = pulse_exponential_integral(-f->rate + I * (n * w), length, fade * end);
    double complex up = pulse_exponential_integral(I * ((n + 1) * w), length, after);
    double complex down = pulse_exponential_integral(I * ((n - 1) * w), length, before);
    double re = f->constant * creal(own) + f->exponential * creal(fading) +
                0.5 * (f->cosine * (creal(up) + creal(down)) + f->sine * (cimag(up) - cimag(down)));
    double im = f->constant * cimag(own) + f->exponential * cimag(fading) +
                0.5 * (f->cosine * (cimag(up) + cimag(down)) + f->sine * (creal(down) - creal(up)));
    return re + I * im;
}

#endif
