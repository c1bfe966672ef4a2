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

#include "../lanes.h"
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

/* Called in many places, and long: kept out of line, so that the instructions of a cycle stay few. */
#define INDUCTOR_SHARED static __attribute__((noinline, unused))

typedef struct inductor_law {
    double a, w2; /* 1/s, 1/s^2 */
    double rest;  /* A, g I */
    double slope; /* A/s, i' at the start */
} inductor_law;

/* A law at a time t: its response, the current, and its slope. */
typedef struct inductor_point {
    double t, s, p;  /* s, s, s^2 */
    double own;      /* d i / d i0 */
    double i, slope; /* A, A/s */
} inductor_point;

/* By what the current at the end of a span, and the integrals of g i - I and of v over it, move with what it
 * begins with, i0 and v0, and with its duration. */
typedef struct inductor_change {
    double i[3], charge[3], area[3];
} inductor_change;

typedef struct inductor_span {
    inductor_path path;
    bool idle;       /* nothing conducts: i = 0, and the law is all zero */
    bool stops;      /* it ends where the current comes to zero */
    size_t state;    /* index of the gate state it lies in */
    double duration; /* s */
    double i0, v0, i1, v1;
    inductor_law law;
    double slope1; /* A/s, i' at its end */
    inductor_change change;
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
static const double inductor_inverse[] = {0,       1.,      1. / 2,  1. / 3,  1. / 4,  1. / 5,
                                          1. / 6,  1. / 7,  1. / 8,  1. / 9,  1. / 10, 1. / 11,
                                          1. / 12, 1. / 13, 1. / 14, 1. / 15, 1. / 16, 1. / 17};
enum { INDUCTOR_TERMS = 16 };
/* Up to this 2 a t + sqrt(w2) t the Taylor series is as good as exact with INDUCTOR_TERMS terms. */
static const double inductor_short = 0.5;

static inline double inductor_reach(const inductor_law *law, double t)
{
    return 2.0 * law->a * t + sqrt(law->w2) * t;
}

/* How many terms of such a series count. By the recurrence below the n-th of s is t reach^(n-1) / n! at most;
 * the first left out is below 1e-14 t. */
static inline int inductor_terms(double reach)
{
    static const int terms[] = {5, 7, 9, 12, INDUCTOR_TERMS};
    return terms[(reach > 1e-3) + (reach > 0.019) + (reach > 0.088) + (reach > 0.32)];
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
    /* Taylor's series of s, term by term: the recurrence is the differential equation */
    double x = 2.0 * law->a * t, q = law->w2 * t * t, before = 0.0, term = t, sum = t, integral = 0.5 * t;
    int terms = inductor_terms(reach);
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

/* Responses of four laws by their a and w2, each at a time of its own, by as many terms as the one needs that
 * goes furthest. false: one of them is beyond the series. */
FOUR_LANES static bool inductor_four_responses(const double a[LANES], const double w2[LANES],
                                               const double time[LANES], double s[LANES], double p[LANES])
{
    lanes t = lanes_load(time), root = lanes_load(w2), before = {0.0}, term = t, sum = t, integral = 0.5 * t;
    for (int k = 0; k < LANES; k++) root[k] = sqrt(root[k]);
    lanes x = 2.0 * lanes_load(a) * t, q = lanes_load(w2) * t * t, reach = x + root * t;
    lanes_mask beyond = ~(reach <= inductor_short);
    if (lanes_any(&beyond)) return false;
    double early = reach[0] > reach[1] ? reach[0] : reach[1],
           late = reach[2] > reach[3] ? reach[2] : reach[3];
    int terms = inductor_terms(early > late ? early : late);
    for (int n = 2; n < terms; n++) {
        lanes next = -inductor_inverse[n] * (x * term + q * inductor_inverse[n - 1] * before);
        sum += next;
        integral += next * inductor_inverse[n + 1];
        before = term;
        term = next;
    }
    lanes_store(s, sum);
    lanes_store(p, t * integral);
    return true;
}

/* Where its time and response are there. */
static inline void inductor_look_on(const inductor_law *law, double i0, inductor_point *at)
{
    double y0 = i0 - law->rest;
    at->own = 1.0 - law->w2 * at->p - 2.0 * law->a * at->s;
    at->i = i0 + at->s * law->slope - law->w2 * at->p * y0;
    at->slope = law->slope * at->own - law->w2 * at->s * y0;
}

INDUCTOR_SHARED void inductor_look_at(const inductor_law *law, double i0, double t, inductor_point *at)
{
    at->t = t;
    inductor_response(law, t, &at->s, &at->p);
    inductor_look_on(law, i0, at);
}

static inline inductor_point inductor_start(const inductor_law *law, double i0)
{
    return (inductor_point){.own = 1.0, .i = i0, .slope = law->slope};
}

/* Integral of y up to there. */
static inline double inductor_charge(const inductor_law *law, double i0, const inductor_point *at)
{
    return (i0 - law->rest) * (at->s + 2.0 * law->a * at->p) + law->slope * at->p;
}

/* Current and its slope at t. */
static inline double inductor_at(const inductor_law *law, double i0, double t, double *slope)
{
    inductor_point at;
    inductor_look_at(law, i0, t, &at);
    *slope = at.slope;
    return at.i;
}

/* --------------------------------------------------------------- moments -- */

/* The integral of x^m times Legendre's polynomial of order k over 0 to 1 is m! m! / ((m - k)! (m + k + 1)!):
 * Rodrigues' formula, k times by parts. source of the former: M. Abramowitz, I. A. Stegun, Handbook of
 * Mathematical Functions, 1964, 22.11 */
#define LEGENDRE_0(m) (1.0 / ((m) + 1.0))
#define LEGENDRE_1(m) (LEGENDRE_0(m) * (m) / ((m) + 2.0))
#define LEGENDRE_2(m) (LEGENDRE_1(m) * ((m)-1.0) / ((m) + 3.0))
#define LEGENDRE_3(m) (LEGENDRE_2(m) * ((m)-2.0) / ((m) + 4.0))
#define LEGENDRE_4(m) (LEGENDRE_3(m) * ((m)-3.0) / ((m) + 5.0))
#define LEGENDRE_5(m) (LEGENDRE_4(m) * ((m)-4.0) / ((m) + 6.0))
#define LEGENDRE(m)                                                                                          \
    {                                                                                                        \
        LEGENDRE_0(m), LEGENDRE_1(m), LEGENDRE_2(m), LEGENDRE_3(m), LEGENDRE_4(m), LEGENDRE_5(m)             \
    }
enum { INDUCTOR_ORDERS = 6 };
static const double inductor_legendre[INDUCTOR_TERMS][INDUCTOR_ORDERS] = {
    LEGENDRE(0),  LEGENDRE(1),  LEGENDRE(2),  LEGENDRE(3), LEGENDRE(4),  LEGENDRE(5),
    LEGENDRE(6),  LEGENDRE(7),  LEGENDRE(8),  LEGENDRE(9), LEGENDRE(10), LEGENDRE(11),
    LEGENDRE(12), LEGENDRE(13), LEGENDRE(14), LEGENDRE(15)};

/* The first n Taylor terms of y about the start, c[m] = y^(m) t^m / m!, from the first two: x = -2 a t, q =
 * -w2 t^2. */
WITHIN_LANES void inductor_series(int n, const lanes *x, const lanes *q, lanes c[INDUCTOR_TERMS])
{
#pragma GCC unroll 1
    for (int m = 2; m < n; m++)
        c[m] = inductor_inverse[m] * (*x * c[m - 1] + inductor_inverse[m - 1] * *q * c[m - 2]);
}

/* Adds the integrals over 0 to 1 of the sum of c[m] x^m and of its square: turned into a series of Legendre's
 * polynomials, whose squares add up alone. Order k is of the size of c[k] k! k! / (2 k)!: of a short span's
 * current those left out hold less than 1e-13 of the square of its swing. */
WITHIN_LANES void inductor_power_sums(int n, const lanes c[INDUCTOR_TERMS], lanes *sum, lanes *square)
{
    lanes part[INDUCTOR_ORDERS] = {{0.0}};
#pragma GCC unroll 1
    for (int m = 0; m < n; m++)
        for (int k = 0; k < INDUCTOR_ORDERS; k++) part[k] += inductor_legendre[m][k] * c[m];
    *sum += part[0];
    for (int k = INDUCTOR_ORDERS - 1; k >= 0; k--) *square += (2 * k + 1) * part[k] * part[k];
}

/* Value and slope of such a sum at 1, where the next piece begins. */
WITHIN_LANES void inductor_series_end(int n, const lanes c[INDUCTOR_TERMS], lanes *value, lanes *slope)
{
    *value = c[0];
    *slope = *value * 0.0;
#pragma GCC unroll 1
    for (int m = 1; m < n; m++) {
        *value += c[m];
        *slope += m * c[m];
    }
}

/* In how many pieces a span is short enough for a series. */
static inline int inductor_pieces(double reach)
{
    enum { PIECES_MAX = 400 }; /* beyond, the current has long come to rest; pieces then coarsen */
    return !(reach > inductor_short) ? 1 : (int)fmin(ceil(reach / inductor_short), PIECES_MAX);
}

/* Integrals over four spans of (i - middle) and (i - middle)^2, without cancellation: piecewise Taylor, each
 * piece short enough to be as good as exact, all four in as many. docs/theory/buck.md eq. 6 */
FOUR_LANES static void inductor_moments(const inductor_span *const span[LANES], double middle,
                                        double first[LANES], double second[LANES])
{
    double reach = 0.0;
    for (int k = 0; k < LANES; k++) {
        double one = inductor_reach(&span[k]->law, span[k]->duration);
        reach = one > reach ? one : reach;
    }
    int pieces = inductor_pieces(reach), n = inductor_terms(reach / pieces);
    lanes t = lanes_of(span, duration) / pieces, x = -2.0 * lanes_of(span, law.a) * t;
    lanes q = -lanes_of(span, law.w2) * t * t, apart = lanes_of(span, law.rest) - middle;
    lanes i = lanes_of(span, i0) - middle, slope = lanes_of(span, law.slope) * t;
    lanes sum = {0.0}, square = {0.0}, c[INDUCTOR_TERMS];
    for (int k = 1; k <= pieces; k++) {
        c[0] = i - apart;
        c[1] = slope;
        inductor_series(n, &x, &q, c);
        c[0] = i;
        inductor_power_sums(n, c, &sum, &square);
        if (k < pieces) inductor_series_end(n, c, &i, &slope);
    }
    lanes_store(first, sum * t);
    lanes_store(second, square * t);
}

/* ------------------------------------------------------------- crossings -- */

/* What is looked for: f(t) = offset + alpha y + beta y' = 0. */
typedef struct inductor_mark {
    double offset, alpha, beta;
} inductor_mark;

/* f and its first two derivatives at a point, and Halley's step from there to its zero. f - offset obeys the
 * equation that y does, so all of them follow from y and y'. `left`: what the step leaves, which goes by its
 * cube. source: J. F. Traub, Iterative Methods for the Solution of Equations, 1964, sect. 5.21 */
typedef struct inductor_step {
    double f, rate, bend, step, left;
} inductor_step;

static inline inductor_step inductor_step_from(const inductor_law *law, const inductor_mark *mark,
                                               const inductor_point *at)
{
    double damping = 2.0 * law->a, y = at->i - law->rest, slope = at->slope;
    double part = mark->alpha * y + mark->beta * slope, f = mark->offset + part;
    double rate = mark->alpha * slope - mark->beta * (damping * slope + law->w2 * y);
    double bend = -damping * rate - law->w2 * part;
    double inverse = 1.0 / rate, newton = -f * inverse, lag = -0.5 * newton * bend * inverse;
    double step = newton / (1.0 - lag);
    double left = fabs(step) * (lag * lag + (damping * damping + law->w2) * step * step);
    return (inductor_step){f, rate, bend, step, left};
}

/* A zero of f: a point beside it, its time, and the integral of f from that point on. */
typedef struct inductor_root {
    inductor_point at;
    double t, rise;
} inductor_root;

/* The first zero of f beyond a point, up to which it is known to change its sign, to a share of the time:
 * Halley's steps kept inside their bracket. */
static inline inductor_root inductor_crossing(const inductor_law *law, double i0, const inductor_mark *mark,
                                              const inductor_point *from, double to, double share)
{
    inductor_root root = {.at = *from};
    inductor_step step = inductor_step_from(law, mark, from);
    bool above = step.f > 0.0 || (step.f == 0.0 && step.rate > 0.0); /* from zero: where it goes */
    double low = from->t, high = to, t = low + step.step;
    for (int k = 0; k < 80; k++) {
        if (!(t > low && t < high)) t = 0.5 * (low + high);
        inductor_look_at(law, i0, t, &root.at);
        step = inductor_step_from(law, mark, &root.at);
        if ((step.f > 0.0) == above)
            low = t;
        else
            high = t;
        t += step.step;
        if (step.left <= share * to || high - low <= 1e-15 * to) break;
    }
    root.t = !(t > low) ? low : t < high ? t : high;
    double on = root.t - root.at.t;
    root.rise = on * (step.f + on * (0.5 * step.rate + on * step.bend * (1.0 / 6.0)));
    return root;
}

static const double inductor_time_share = 1e-15;
/* Of the time of a turn: what turns there is flat, so its height is right to the square of that. */
static const double inductor_turn_share = 1e-10;

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
    const inductor_mark zero = {law->rest, 1.0, 0.0}, turn = {0.0, 0.0, 1.0};
    double look = inductor_look(law, duration);
    inductor_point before = inductor_start(law, i0), at;
    for (int k = 1; k <= LOOKS; k++) {
        double t = fmin(look * k, duration);
        inductor_look_at(law, i0, t, &at);
        bool there = sign * at.i <= 0.0;
        if (!there && sign * before.slope < 0.0 && sign * at.slope > 0.0) {
            inductor_root top = inductor_crossing(law, i0, &turn, &before, t, inductor_time_share);
            there = sign * (top.at.i + top.rise) <= 0.0;
            if (there) t = top.t;
        }
        if (there) return inductor_crossing(law, i0, &zero, &before, t, inductor_time_share).t;
        if (!(t < duration)) break;
        before = at;
    }
    return duration;
}

#endif
