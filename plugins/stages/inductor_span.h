/* inductor_span.h - one stretch of time in which the circuit around one inductor stays the same.
 *
 * An inductor L is driven by a source E through a resistance R and either feeds the output node (a capacitor
 * C with series resistance r beside a constant load current I) or is closed on itself away from it: L di/dt =
 * E - R i - g u,   u = v + r (g i - I),   C dv/dt = g i - I,   g = 1 or 0. With y = i - g I both cases read
 * y'' = -2 a y' - w2 y, a = (R + g r) / 2L, w2 = g / (L C), so everything follows from the response s(t) (s =
 * 0, s' = 1 at 0) and its integral p(t): i(t) = i0 + s i0' - w2 p y0,    integral of y = y0 (s + 2 a p) + i0'
 * p. Neither R nor 1/C need be other than zero. docs/theory/buck.md eq. 1 to 4 source: linear differential
 * equation of second order, any text; form chosen so that nothing is divided by R */
#ifndef INDUCTOR_SPAN_H
#define INDUCTOR_SPAN_H

#include <math.h>
#include <stdbool.h>

#include "heatledger/plugin.h"

/* Which way the current takes. `who`: one bit for every part it flows through. */
typedef struct inductor_path {
    double source;     /* V, E: drives the current up */
    double resistance; /* ohm, R of all parts in the path, winding included */
    bool feeds;        /* g */
    unsigned who;
} inductor_path;

/* What every span of a cycle shares. elastance = 1/C; 0: the output is stiff at the voltage v. */
typedef struct inductor_output {
    double inductance, elastance, esr, load;
} inductor_output;

typedef struct inductor_law {
    double a, w2; /* 1/s, 1/s^2 */
    double rest;  /* A, g I */
    double slope; /* A/s, i' at the start */
} inductor_law;

typedef struct inductor_span {
    inductor_path path;
    bool idle;       /* nothing conducts: i = 0 */
    size_t state;    /* index of the gate state it lies in */
    double duration; /* s */
    double i0, v0, i1, v1;
    inductor_law law; /* unless idle */
    double slope1;    /* A/s, i' at its end */
} inductor_span;

static inline inductor_law inductor_law_of(const inductor_output *o, const inductor_path *p, double i,
                                           double v)
{
    double g = p->feeds ? 1.0 : 0.0, y = i - g * o->load, inverse = 1.0 / o->inductance;
    return (inductor_law){.a = 0.5 * (p->resistance + g * o->esr) * inverse,
                          .w2 = g * o->elastance * inverse,
                          .rest = g * o->load,
                          .slope = (p->source - p->resistance * i - g * (v + o->esr * y)) * inverse};
}

/* 1/n, so that the series below need no division. */
static const double inductor_inverse[] = {0,       1.,      1. / 2,  1. / 3,  1. / 4,  1. / 5,  1. / 6,
                                          1. / 7,  1. / 8,  1. / 9,  1. / 10, 1. / 11, 1. / 12, 1. / 13,
                                          1. / 14, 1. / 15, 1. / 16, 1. / 17, 1. / 18, 1. / 19, 1. / 20,
                                          1. / 21, 1. / 22, 1. / 23, 1. / 24, 1. / 25, 1. / 26, 1. / 27,
                                          1. / 28, 1. / 29, 1. / 30, 1. / 31, 1. / 32, 1. / 33};
enum { INDUCTOR_TERMS = 16 };
/* Up to this 2 a t + sqrt(w2) t the Taylor series is exact to rounding with INDUCTOR_TERMS terms. */
static const double inductor_short = 0.5;

static inline double inductor_reach(const inductor_law *law, double t)
{
    return 2.0 * law->a * t + sqrt(law->w2) * t;
}

/* Taylor terms of y about the start, coefficient[n] = y^(n) t^n / n!, from the first two; the recurrence is
 * the differential equation. Returns their number, after which nothing is left above rounding. */
static inline int inductor_series(const inductor_law *law, double t, double coefficient[INDUCTOR_TERMS])
{
    double x = 2.0 * law->a * t, q = law->w2 * t * t;
    double floor = 1e-17 * (fabs(coefficient[0]) * (q > 0.0) + fabs(coefficient[1]));
    for (int n = 2; n < INDUCTOR_TERMS; n++) {
        coefficient[n] = -inductor_inverse[n] *
                         (x * coefficient[n - 1] + q * inductor_inverse[n - 1] * coefficient[n - 2]);
        if (fabs(coefficient[n]) + fabs(coefficient[n - 1]) <= floor) return n;
    }
    return INDUCTOR_TERMS;
}

/* s and p away from t = 0: rings, creeps, or close to the border between the two. */
static inline void inductor_response_long(const inductor_law *law, double t, double *s, double *p)
{
    double a = law->a, w2 = law->w2, d = a * a - w2, q = d * t * t;
    if (d > 0.0 && (q > 0.25 || w2 * t * t < 0.01)) { /* two real rates, the slow one without cancellation */
        double b = sqrt(d), fast = a + b, slow = w2 / fast;
        double rise_slow = slow * t > 1e-300 ? -expm1(-slow * t) / slow : t,
               rise_fast = -expm1(-fast * t) / fast;
        *s = (exp(-slow * t) - exp(-fast * t)) / (2.0 * b);
        *p = (rise_slow - rise_fast) / (2.0 * b);
        return;
    }
    double envelope = exp(-a * t), even, odd; /* cos(x), sin(x)/x with x^2 = -q */
    if (q < -0.25) {
        double x = sqrt(-q);
        even = cos(x);
        odd = sin(x) / x;
    } else {
        even = odd = 1.0;
        double term = 1.0;
        for (int n = 1; n <= 8; n++) {
            term *= q * inductor_inverse[2 * n] * inductor_inverse[2 * n - 1];
            even += term;
            odd += term * inductor_inverse[2 * n + 1];
        }
    }
    *s = envelope * odd * t;
    *p = (1.0 - envelope * even - a * *s) / w2; /* here w2 t^2 is 0.01 or more */
}

static inline void inductor_response(const inductor_law *law, double t, double *s, double *p)
{
    double reach = inductor_reach(law, t);
    if (!(reach <= inductor_short)) {
        inductor_response_long(law, t, s, p);
        return;
    }
    /* inductor_series from 0 and t, added up as it goes; what is left is t reach^(n-1) / n! at most */
    double x = 2.0 * law->a * t, q = law->w2 * t * t, before = 0.0, term = t, sum = t, integral = 0.5 * t;
    int terms = reach > 0.1 ? INDUCTOR_TERMS : reach > 0.02 ? 11 : 9;
    for (int n = 2; n < terms; n++) {
        double next = -inductor_inverse[n] * (x * term + q * inductor_inverse[n - 1] * before);
        sum += next;
        integral += next * inductor_inverse[n + 1];
        before = term;
        term = next;
    }
    *s = sum;
    *p = t * integral;
}

/* Current and its slope at t. */
static inline double inductor_at(const inductor_law *law, double i0, double t, double *slope)
{
    double s, p, y0 = i0 - law->rest;
    inductor_response(law, t, &s, &p);
    *slope = law->slope * (1.0 - law->w2 * p - 2.0 * law->a * s) - law->w2 * s * y0;
    return i0 + s * law->slope - law->w2 * p * y0;
}

/* Integrals over the span of (i - middle) and (i - middle)^2, without cancellation: piecewise Taylor, each
 * piece short enough to be exact to rounding. docs/theory/buck.md eq. 6 */
static inline void inductor_moments(const inductor_span *span, double middle, double *first, double *second)
{
    *first = -middle * span->duration;
    *second = middle * middle * span->duration;
    if (span->idle || !(span->duration > 0.0)) return;
    inductor_law law = span->law;
    double pieces = ceil(inductor_reach(&law, span->duration) / inductor_short);
    enum { PIECES_MAX = 400 }; /* beyond, the current has long come to rest; pieces then coarsen */
    pieces = pieces >= 1.0 ? fmin(pieces, PIECES_MAX) : 1.0;
    double t = span->duration / pieces, i = span->i0, q1 = 0.0, q2 = 0.0;
    for (int k = 0; k < (int)pieces; k++) {
        double c[INDUCTOR_TERMS];
        c[0] = i - law.rest;
        c[1] = law.slope * t;
        int n = inductor_series(&law, t, c);
        c[0] = i - middle;
        double sum = 0.0, square = 0.0, end = 0.0, end_slope = 0.0;
        for (int m = 0; m < n; m++) {
            double row = 0.5 * c[m] * inductor_inverse[2 * m + 1];
            int most = m < n + 3 - m ? m : n + 3 - m; /* products of more terms are below rounding */
            for (int j = 0; j < most; j++) row += c[j] * inductor_inverse[m + j + 1];
            square += 2.0 * c[m] * row;
            sum += c[m] * inductor_inverse[m + 1];
            end += c[m];
            end_slope += m * c[m];
        }
        q1 += sum;
        q2 += square;
        i = end + middle;
        law.slope = end_slope / t;
    }
    *first = q1 * t;
    *second = q2 * t;
}

/* f' of what is looked for below. y and y' obey the same equation, so it needs no more than they do. */
static inline double crossing_rate(const inductor_law *law, double y, double slope, double alpha, double beta)
{
    return alpha * slope - beta * (2.0 * law->a * slope + law->w2 * y);
}

/* Time in (low, high] at which f(t) = offset + alpha y + beta y' is zero, known to change sign there: Newton
 * kept inside its bracket. */
static inline double inductor_crossing(const inductor_law *law, double i0, double low, double high,
                                       double offset, double alpha, double beta)
{
    double slope = law->slope, t, tolerance = 1e-15 * high;
    double y = low > 0.0 ? inductor_at(law, i0, low, &slope) - law->rest : i0 - law->rest;
    double f0 = offset + alpha * y + beta * slope;
    double rate = crossing_rate(law, y, slope, alpha, beta);
    bool above = f0 > 0.0 || (f0 == 0.0 && rate > 0.0); /* from zero: where it goes */
    t = rate != 0.0 ? low - f0 / rate : 0.5 * (low + high);
    for (int k = 0; k < 80; k++) {
        if (!(t > low && t < high)) t = 0.5 * (low + high);
        y = inductor_at(law, i0, t, &slope) - law->rest;
        double f = offset + alpha * y + beta * slope;
        if ((f > 0.0) == above)
            low = t;
        else
            high = t;
        rate = crossing_rate(law, y, slope, alpha, beta);
        double step = rate != 0.0 ? -f / rate : 0.0;
        t += step;
        if (fabs(step) <= tolerance || high - low <= tolerance) break;
    }
    return fmin(fmax(t, low), high);
}

/* How far apart to look at a current and its slope so that no turn between two looks hides another: y' is
 * zero once per half turn of the ringing, and once at most without any. Half a radian of it, or the whole
 * duration. */
static inline double inductor_look(const inductor_law *law, double duration)
{
    double ringing = law->w2 - law->a * law->a;
    return ringing * duration * duration > 0.25 ? 0.5 / sqrt(ringing) : duration;
}

/* Whether a current of this sign (+1 or -1) has not come to zero by the time at which it is `i` with that
 * slope: it does not ring by then, and does not turn back. */
static inline bool inductor_stays(const inductor_law *law, double sign, double i, double slope, double t)
{
    bool turns = sign * law->slope < 0.0 && sign * slope > 0.0;
    return sign * i > 0.0 && !turns && !(inductor_look(law, t) < t);
}

/* Time at which a current of this sign (+1 or -1) comes to zero first; the duration itself when it does not.
 * Looked at over the first turn: later minima of a damped ringing lie higher. Where it turns back between two
 * looks the turn is looked at too. */
static inline double inductor_zero(const inductor_law *law, double i0, double sign, double duration)
{
    enum { LOOKS = 16 };
    double slope, before = law->slope, look = inductor_look(law, duration);
    for (int k = 1; k <= LOOKS; k++) {
        double low = look * (k - 1), t = fmin(look * k, duration), any;
        bool there = sign * inductor_at(law, i0, t, &slope) <= 0.0;
        if (!there && sign * before < 0.0 && sign * slope > 0.0) {
            double turn = inductor_crossing(law, i0, low, t, 0.0, 0.0, 1.0);
            there = sign * inductor_at(law, i0, turn, &any) <= 0.0;
            if (there) t = turn;
        }
        if (there) return inductor_crossing(law, i0, low, t, law->rest, 1.0, 0.0);
        if (!(t < duration)) break;
        before = slope;
    }
    return duration;
}

#endif
