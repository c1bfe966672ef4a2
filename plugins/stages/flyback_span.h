/* flyback_span.h - stretches of a flyback cycle in which the circuit stays the same.
 *
 * Two kinds.  While one inductance carries the current it is a leg: L i' = u - r i.  While leakage and
 * magnetizing inductance carry different currents it is a span of two states, x' = A x + b, x = (primary
 * current, magnetizing current).  Both are followed exactly: for a span the powers of A are p_k I + q_k A
 * (Cayley and Hamilton), so that the exponential and its integrals are series of scalars; no division by a
 * resistance, so none need be other than zero.
 * source: linear differential equations, any text; docs/theory/flyback.md eq. 3 to 6 */
#ifndef FLYBACK_SPAN_H
#define FLYBACK_SPAN_H

#include <math.h>
#include <stdbool.h>

/* ------------------------------------------------------------------- legs -- */

typedef struct flyback_leg {
    double drive, resistance, inductance; /* V, ohm, H: inductance i' = drive - resistance i */
} flyback_leg;

/* (e^x - 1)/x and (e^x - 1 - x)/x^2, by their power series near zero. */
static inline double flyback_phi1(double x)
{
    return fabs(x) > 1e-5 ? expm1(x) / x : 1.0 + x * (0.5 + x / 6.0);
}

static inline double flyback_phi2(double x)
{
    if (fabs(x) > 0.5) return (expm1(x) - x) / (x * x);
    double term = 0.5, sum = 0.5;
    for (int k = 3; k < 20 && fabs(term) > 1e-17; k++) sum += term *= x / k;
    return sum;
}

/* Time in which the current goes from one value to another; negative when it was there before. */
static inline double flyback_leg_time(const flyback_leg *leg, double from, double to)
{
    double left = leg->drive - leg->resistance * to, z = leg->resistance * (to - from) / left;
    double factor = fabs(z) > 1e-5 ? log1p(z) / z : 1.0 - z * (0.5 - z / 3.0);
    return leg->inductance * (to - from) / left * factor;
}

static inline double flyback_leg_slope(const flyback_leg *leg, double i)
{
    return (leg->drive - leg->resistance * i) / leg->inductance;
}

static inline double flyback_leg_at(const flyback_leg *leg, double from, double t)
{
    return from + flyback_leg_slope(leg, from) * t * flyback_phi1(-leg->resistance * t / leg->inductance);
}

static inline double flyback_leg_charge(const flyback_leg *leg, double from, double t)
{
    double x = -leg->resistance * t / leg->inductance;
    return t * (from + flyback_leg_slope(leg, from) * t * flyback_phi2(x));
}

/* ------------------------------------------------------------------ spans -- */

typedef struct flyback_pair {
    double leak, core; /* A: primary (leakage) current, magnetizing current */
} flyback_pair;

typedef struct flyback_span {
    double a[2][2], b[2];
    double trace, determinant, fast, slow; /* of a; its eigenvalues, both real and <= 0 */
} flyback_span;

/* Secondary conducting: leakage Ll, magnetizing Lm, primary loop driven by `drive` through `resistance`,
 * secondary reflected as drop V0 and resistance Rn.  Ll <= Lm keeps the eigenvalues apart.
 *   Ll i' = drive + V0 - (R + Rn) i + Rn im,   Lm im' = -V0 + Rn i - Rn im    docs/theory/flyback.md eq. 2 */
static inline flyback_span flyback_span_of(double leakage, double magnetizing, double drive,
                                           double resistance, double reflected, double reflected_resistance)
{
    double rn = reflected_resistance;
    flyback_span s = {
        .a = {{-(resistance + rn) / leakage, rn / leakage}, {rn / magnetizing, -rn / magnetizing}},
        .b = {(drive + reflected) / leakage, -reflected / magnetizing},
        .trace = -(resistance + rn) / leakage - rn / magnetizing,
        .determinant = resistance * rn / (leakage * magnetizing)};
    s.fast = 0.5 * (s.trace - sqrt(fmax(s.trace * s.trace - 4.0 * s.determinant, 0.0)));
    s.slow = s.fast < 0.0 ? s.determinant / s.fast : 0.0;
    return s;
}

/* The exponential of A t, its integral and the integral of that. */
typedef struct flyback_motion {
    double m[3][2][2];
} flyback_motion;

/* Terms of a power series in x, |x| <= 1/2, whose sequel is below 1e-18. */
static inline int flyback_terms(double x)
{
    if (x < 1e-3) return 6;
    return x < 0.05 ? 10 : 16;
}

/* Each as p I + q A, by power series. */
static inline flyback_motion flyback_motion_short(const flyback_span *s, double t)
{
    static const double share[17] = {1.0,      1.0 / 2,  1.0 / 3,  1.0 / 4,  1.0 / 5,  1.0 / 6,
                                     1.0 / 7,  1.0 / 8,  1.0 / 9,  1.0 / 10, 1.0 / 11, 1.0 / 12,
                                     1.0 / 13, 1.0 / 14, 1.0 / 15, 1.0 / 16, 1.0 / 17};
    double sum_p[3] = {0}, sum_q[3] = {0}, p = 1.0, q = 0.0, weight = 1.0; /* weight = t^k / k! */
    int terms = flyback_terms(fabs(s->trace * t));
    for (int k = 0; k < terms; k++) {
        double w1 = weight * t * share[k], w2 = w1 * t * share[k + 1], before = q;
        sum_p[0] += weight * p, sum_q[0] += weight * q;
        sum_p[1] += w1 * p, sum_q[1] += w1 * q;
        sum_p[2] += w2 * p, sum_q[2] += w2 * q;
        q = p + s->trace * q;
        p = -s->determinant * before;
        weight = w1;
    }
    flyback_motion m;
    for (int k = 0; k < 3; k++)
        for (int r = 0; r < 2; r++)
            for (int c = 0; c < 2; c++) m.m[k][r][c] = sum_q[k] * s->a[r][c] + (r == c ? sum_p[k] : 0.0);
    return m;
}

/* Each as f(fast) P + f(slow) (I - P) with the projections (A - other I)/(own - other), written without the
 * differences that cancel when one decay is far faster: A11 - fast = slow - A22 = g, A22 - fast = slow - A11.
 */
static inline flyback_motion flyback_motion_at(const flyback_span *s, double t)
{
    if (!(fabs(s->trace * t) > 0.5)) return flyback_motion_short(s, t);
    flyback_motion m;
    double x1 = s->fast * t, x2 = s->slow * t, apart = 1.0 / (s->slow - s->fast);
    double f1[3] = {exp(x1), t * flyback_phi1(x1), t * t * flyback_phi2(x1)};
    double f2[3] = {exp(x2), t * flyback_phi1(x2), t * t * flyback_phi2(x2)};
    double g = (s->slow - s->a[1][1]) * apart, h = (s->slow - s->a[0][0]) * apart;
    for (int k = 0; k < 3; k++) {
        double d = (f2[k] - f1[k]) * apart;
        m.m[k][0][0] = f1[k] * h + f2[k] * g;
        m.m[k][1][1] = f1[k] * g + f2[k] * h;
        m.m[k][0][1] = d * s->a[0][1];
        m.m[k][1][0] = d * s->a[1][0];
    }
    return m;
}

static inline flyback_pair flyback_product(const flyback_span *s, flyback_pair x)
{
    return (flyback_pair){s->a[0][0] * x.leak + s->a[0][1] * x.core,
                          s->a[1][0] * x.leak + s->a[1][1] * x.core};
}

static inline flyback_pair flyback_apply(const double m[2][2], flyback_pair x)
{
    return (flyback_pair){m[0][0] * x.leak + m[0][1] * x.core, m[1][0] * x.leak + m[1][1] * x.core};
}

static inline flyback_pair flyback_rate(const flyback_span *s, flyback_pair x)
{
    flyback_pair y = flyback_product(s, x);
    return (flyback_pair){y.leak + s->b[0], y.core + s->b[1]};
}

static inline flyback_pair flyback_add(flyback_pair x, double scale, flyback_pair y)
{
    return (flyback_pair){x.leak + scale * y.leak, x.core + scale * y.core};
}

/* x(t) = x0 + (integral of exp(A t)) x0' */
static inline flyback_pair flyback_span_at(const flyback_span *s, flyback_pair x0, double t)
{
    flyback_motion m = flyback_motion_at(s, t);
    return flyback_add(x0, 1.0, flyback_apply(m.m[1], flyback_rate(s, x0)));
}

/* h = weight . x from x0 on: its slopes' power series, h' = sum series[k] t^k, by Cayley and Hamilton. */
enum { FLYBACK_SERIES = 16 };

typedef struct flyback_course {
    const flyback_span *span;
    flyback_pair x0, rate, weight;
    double value, series[FLYBACK_SERIES];
} flyback_course;

static inline double flyback_weighed(flyback_pair weight, flyback_pair x)
{
    return weight.leak * x.leak + weight.core * x.core;
}

static inline flyback_course flyback_course_of(const flyback_span *s, flyback_pair x0, flyback_pair weight)
{
    flyback_course h = {s, x0, flyback_rate(s, x0), weight, flyback_weighed(weight, x0), {0}};
    double before = flyback_weighed(weight, h.rate);
    double now = flyback_weighed(weight, flyback_product(s, h.rate)), factor = 1.0;
    h.series[0] = before;
    for (int k = 1; k < FLYBACK_SERIES; k++) {
        factor /= k;
        h.series[k] = now * factor;
        double next = s->trace * now - s->determinant * before;
        before = now;
        now = next;
    }
    return h;
}

static inline double flyback_course_at(const flyback_course *h, double t, double *slope)
{
    double x = fabs(h->span->trace * t);
    if (!(x <= 0.5)) {
        flyback_motion m = flyback_motion_at(h->span, t);
        *slope = flyback_weighed(h->weight, flyback_apply(m.m[0], h->rate));
        return h->value + flyback_weighed(h->weight, flyback_apply(m.m[1], h->rate));
    }
    int terms = flyback_terms(x);
    double sum = 0.0, area = 0.0;
    for (int k = terms - 1; k >= 0; k--) {
        sum = sum * t + h->series[k];
        area = area * t + h->series[k] / (k + 1);
    }
    *slope = sum;
    return h->value + area * t;
}

/* Newton's first step, which heeds the bend where it is slight (Halley). */
static inline double flyback_first_step(double value, double slope, double bend)
{
    double share = value * bend / (2.0 * slope * slope);
    return fabs(share) < 0.3 ? -value / slope / (1.0 - share) : -value / slope;
}

/* Is what a further step would bring lost in rounding? Steps shrink as the square of the one before. */
static inline bool flyback_until_done(int k, double step, double last, double t, double left)
{
    if (!(fabs(step) > 1e-15 * fabs(t)) || !(fabs(left) > 1e-16)) return true;
    return k > 1 && step / last * (step / last) * fabs(step) < 1e-17 * fabs(t);
}

/* Time at which weight . x is zero, negative where that lies before; it falls without turning, so Newton
 * creeps up from below. docs/theory/flyback.md, "why the events are simple" */
static inline double flyback_span_until(const flyback_span *s, flyback_pair x0, flyback_pair weight)
{
    flyback_course h = flyback_course_of(s, x0, weight);
    double value = h.value, slope = h.series[0], t = 0.0, last = INFINITY;
    for (int k = 0; k < 60; k++) {
        double step = k ? -value / slope : flyback_first_step(value, slope, h.series[1]);
        t += step;
        if (flyback_until_done(k, step, last, t, value / h.value)) break;
        last = k ? step : INFINITY;
        value = flyback_course_at(&h, t, &slope);
        if (!(slope * h.series[0] > 0.0)) return NAN;
    }
    return t;
}

/* ---------------------------------------------------------------- moments -- */

typedef struct flyback_moments { /* A s, A^2 s */
    double leak, core, leak_square, core_square, product;
} flyback_moments;

/* Eight-point Gauss-Legendre on panels short enough that products of exponentials are exact to rounding.
 * source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 25.4.30 */
static const double gauss_node[8] = {0.019855071751231884, 0.101666761293186630, 0.237233795041835507,
                                     0.408282678752175098, 0.591717321247824902, 0.762766204958164493,
                                     0.898333238706813370, 0.980144928248768116};
static const double gauss_weight[8] = {0.050614268145188130, 0.111190517226687235, 0.156853322938943644,
                                       0.181341891689180991, 0.181341891689180991, 0.156853322938943644,
                                       0.111190517226687235, 0.050614268145188130};

static inline void flyback_moments_add(flyback_moments *m, double weight, flyback_pair x)
{
    m->leak += weight * x.leak;
    m->core += weight * x.core;
    m->leak_square += weight * x.leak * x.leak;
    m->core_square += weight * x.core * x.core;
    m->product += weight * x.leak * x.core;
}

/* Panels: 1.4 times the fast time constant at first, then wider as that decay dies out, never more than 1.4
 * times the slow one. */
static inline double flyback_panel(double fast, double slow, double at, double end)
{
    double wanted = 1.4 + 0.5 * fabs(fast) * at, left = end - at;
    if (fabs(slow) * wanted > 1.4 * fabs(fast)) wanted = 1.4 * fabs(fast / slow);
    return fabs(fast) * left > wanted ? fmax(wanted / fabs(fast), 1e-9 * end) : left;
}

static inline flyback_moments flyback_span_moments(const flyback_span *s, flyback_pair x0, double t)
{
    flyback_moments m = {0};
    double at = 0.0, h;
    while (at < t) {
        h = flyback_panel(s->fast, s->slow, at, t);
        for (int j = 0; j < 8; j++)
            flyback_moments_add(&m, h * gauss_weight[j], flyback_span_at(s, x0, at + h * gauss_node[j]));
        if (!(at + h > at)) break;
        at += h;
    }
    return m;
}

/* A leg through both inductances (`through`), or through the magnetizing one alone. */
static inline flyback_moments flyback_leg_moments(const flyback_leg *leg, double from, double t, bool through)
{
    flyback_moments m = {0};
    double rate = leg->resistance / leg->inductance;
    double at = 0.0, h;
    while (at < t) {
        h = flyback_panel(rate, rate, at, t);
        for (int j = 0; j < 8; j++) {
            double i = flyback_leg_at(leg, from, at + h * gauss_node[j]);
            flyback_moments_add(&m, h * gauss_weight[j], (flyback_pair){through ? i : 0.0, i});
        }
        if (!(at + h > at)) break;
        at += h;
    }
    return m;
}

#endif
