/* llc_border.h - one stretch of linear circuit, and the first border it crosses.
 *
 * Everything watched is a functional k + row . x(t); on a stretch it is k + p0 c1 + p1 s1 + p2 c2 + p3 s2
 * with the c, s of both groups.  It is sampled so finely that it cannot turn twice in between (a tenth of the
 * fast ringing), dips between samples are looked at, and the crossing is polished by Newton within its
 * bracket. */
#ifndef LLC_BORDER_H
#define LLC_BORDER_H

#include "llc_tank.h"

typedef enum llc_node { LLC_ON, LLC_FLOAT, LLC_LOW, LLC_HIGH } llc_node;

typedef struct llc_stretch {
    const llc_circuit *circuit;
    int sign;      /* rectifier: +1 with, -1 against, 0 not conducting */
    llc_node node; /* held by the switch, floating, or clamped beyond a rail */
    double start, duration;
    double x[LLC_STATES];       /* at its start */
    double part[4][LLC_STATES]; /* circuit->term times the state seen from its side */
    double node_voltage;        /* at its start, against the middle of the bus */
} llc_stretch;

typedef struct llc_functional {
    double k, p[4];
} llc_functional;

typedef struct llc_instant { /* c, s of both groups at one time */
    llc_pair fast, slow;
} llc_instant;

static inline double llc_side(const llc_stretch *stretch, int state)
{
    return stretch->sign < 0 && state != LLC_VO ? -1.0 : 1.0;
}

static void llc_begin(const llc_circuits *all, llc_stretch *stretch, int sign, llc_node node,
                      const double x[4])
{
    int floating = node == LLC_FLOAT;
    stretch->circuit = sign ? &all->conducting[floating] : &all->open[floating];
    stretch->sign = sign;
    stretch->node = node;
    double y[4];
    for (int i = 0; i < 4; i++) {
        stretch->x[i] = x[i];
        y[i] = llc_side(stretch, i) * x[i] - stretch->circuit->shift[i];
    }
    for (int g = 0; g < 4; g++)
        for (int i = 0; i < 4; i++) {
            const double *row = stretch->circuit->term[g][i];
            stretch->part[g][i] = row[0] * y[0] + row[1] * y[1] + row[2] * y[2] + row[3] * y[3];
        }
}

static inline llc_instant llc_instant_at(const llc_circuit *circuit, double t)
{
    return (llc_instant){llc_group_at(&circuit->fast, t, 0), llc_group_at(&circuit->slow, t, 0)};
}

static void llc_state_at(const llc_stretch *stretch, const llc_instant *now, double x[4])
{
    for (int i = 0; i < 4; i++) {
        double y = stretch->circuit->shift[i] + now->fast.c * stretch->part[0][i] +
                   now->fast.s * stretch->part[1][i] + now->slow.c * stretch->part[2][i] +
                   now->slow.s * stretch->part[3][i];
        x[i] = llc_side(stretch, i) * y;
    }
}

/* x' at a state of this stretch. */
static void llc_rate_at(const llc_stretch *stretch, const double x[4], double rate[4])
{
    double y[4];
    for (int i = 0; i < 4; i++) y[i] = llc_side(stretch, i) * x[i] - stretch->circuit->shift[i];
    for (int i = 0; i < 4; i++) {
        const double *row = stretch->circuit->rate[i];
        rate[i] = llc_side(stretch, i) * (row[0] * y[0] + row[1] * y[1] + row[2] * y[2] + row[3] * y[3]);
    }
}

static llc_functional llc_watch(const llc_stretch *stretch, double constant, const double row[4])
{
    llc_functional f = {.k = constant};
    for (int i = 0; i < 4; i++) {
        if (row[i] == 0.0) continue;
        double weight = row[i] * llc_side(stretch, i);
        f.k += weight * stretch->circuit->shift[i];
        for (int g = 0; g < 4; g++) f.p[g] += weight * stretch->part[g][i];
    }
    return f;
}

/* d/dt of p c + q s is (q - a p) c - (sigma p + a q) s. */
static llc_functional llc_slope_of(const llc_circuit *circuit, const llc_functional *f)
{
    const llc_group *fast = &circuit->fast, *slow = &circuit->slow;
    return (llc_functional){0.0,
                            {f->p[1] - fast->a * f->p[0], -fast->sigma * f->p[0] - fast->a * f->p[1],
                             f->p[3] - slow->a * f->p[2], -slow->sigma * f->p[2] - slow->a * f->p[3]}};
}

static inline double llc_value(const llc_functional *f, const llc_instant *now)
{
    return f->k + f->p[0] * now->fast.c + f->p[1] * now->fast.s + f->p[2] * now->slow.c +
           f->p[3] * now->slow.s;
}

/* From one instant to another one near by, either way: series where they reach. */
static llc_instant llc_instant_beside(const llc_circuit *circuit, llc_instant now, double t, double next)
{
    double step = next - t, size = fabs(step);
    if (!(size * circuit->fast.reach < llc_series_reach && size * circuit->slow.reach < llc_series_reach))
        return llc_instant_at(circuit, next);
    return (llc_instant){
        llc_pair_product(&circuit->fast, now.fast, llc_group_series(&circuit->fast, step, 0)),
        llc_pair_product(&circuit->slow, now.slow, llc_group_series(&circuit->slow, step, 0)),
    };
}

/* Root of f between low and high, where f(low) > 0 >= f(high), from a guess t, to a share `close` of the
 * bracket.  Newton inside the bracket: from two steps on, what the next one would be is known, since each is
 * as the square of the one before; and where the value is rounding only, its sign says nothing about the
 * side. */
static double llc_polish(const llc_circuit *circuit, const llc_functional *f, double low, double high,
                         double t, double close)
{
    llc_functional slope = llc_slope_of(circuit, f);
    double width = high - low, last = width;
    if (!(t > low && t < high)) t = 0.5 * (low + high);
    llc_instant now = llc_instant_at(circuit, t);
    for (int k = 0; k < 80; k++) {
        double value = llc_value(f, &now), rate = llc_value(&slope, &now), move = -value / rate;
        if (fabs(move) <= 1e-15 * width) break;
        if (value > 0)
            low = t;
        else
            high = t;
        double next = t + move;
        bool newton = next > low && next < high && fabs(move) <= 0.6 * last;
        if (!newton) next = 0.5 * (low + high);
        double step = fabs(next - t), sequel = step * (step / last) * (step / last);
        bool quadratic = k > 0 && newton && step < 1e-3 * last && sequel <= close * width;
        last = step;
        bool done = quadratic || !(step > 2e-16 * high);
        if (!done) now = llc_instant_beside(circuit, now, t, next);
        t = next;
        if (done) break;
    }
    return t;
}

/* To rounding; and for the top of a curve, which is flat there. */
static const double llc_sharp = 1e-16, llc_flat = 1e-9;

enum { LLC_BORDERS_MAX = 4, LLC_SAMPLES_MAX = 4000, LLC_HALVINGS = 40 };

typedef struct llc_borders {
    int n;
    llc_functional f[LLC_BORDERS_MAX];
} llc_borders;

/* Lowest point of the cubic through (0, v0, w0) and (step, v1, w1), w0 < 0 < w1. */
static double llc_dip(double v0, double w0, double v1, double w1, double step, double *where)
{
    double a = w0 + w1 - 2.0 * (v1 - v0) / step, b = 3.0 * (v1 - v0) / step - 2.0 * w0 - w1;
    double root = b * b - 3.0 * a * w0;
    double u = root > 0 ? -w0 / (b + sqrt(root)) : 0.5;
    if (!(u > 0 && u < 1)) u = 0.5;
    *where = u;
    return v0 + step * u * (w0 + u * (b + u * a));
}

/* A border that starts at zero: positive somewhere before `high`, where it is not?  0 when nowhere. */
static double llc_hump(const llc_circuit *circuit, const llc_functional *f, double high)
{
    double t = high;
    for (int k = 0; k < LLC_HALVINGS; k++) {
        t *= 0.5;
        llc_instant now = llc_instant_at(circuit, t);
        if (llc_value(f, &now) > 0) return t;
    }
    return 0.0;
}

static double llc_dip_crossing(const llc_circuit *circuit, const llc_functional *f, double low, double high)
{
    llc_functional slope = llc_slope_of(circuit, f);
    llc_functional fall = {-slope.k, {-slope.p[0], -slope.p[1], -slope.p[2], -slope.p[3]}};
    double bottom = llc_polish(circuit, &fall, low, high, 0.5 * (low + high), llc_flat);
    llc_instant now = llc_instant_at(circuit, bottom);
    return llc_value(f, &now) > 0 ? INFINITY
                                  : llc_polish(circuit, f, low, bottom, 0.5 * (low + bottom), llc_sharp);
}

/* First time in (0, limit) at which a border falls to zero; *which is its index, -1 when none does.
 * reluctant: a border at zero from the start counts only after it has been positive. */
static double llc_first_crossing(const llc_circuit *circuit, const llc_borders *borders, double limit,
                                 bool reluctant, int *which)
{
    *which = -1;
    if (!(limit > 0)) return 0.0;
    int n = 1 + (int)fmin(limit * circuit->fast.reach / 0.6, LLC_SAMPLES_MAX);
    double step = limit / n;
    llc_instant stride = llc_instant_at(circuit, step), now = {{1.0, 0.0}, {1.0, 0.0}};
    llc_functional slope[LLC_BORDERS_MAX];
    double v[LLC_BORDERS_MAX], w[LLC_BORDERS_MAX], size[LLC_BORDERS_MAX] = {0};
    for (int j = 0; j < borders->n; j++) {
        const llc_functional *f = &borders->f[j];
        slope[j] = llc_slope_of(circuit, f);
        v[j] = llc_value(f, &now);
        w[j] = llc_value(&slope[j], &now);
        size[j] = fabs(f->k) + fabs(f->p[0]) + fabs(f->p[2]) + fabs(f->p[1]) / (circuit->fast.reach + 1e-300);
    }
    double best = INFINITY;
    for (int k = 0; k < n; k++) {
        double from = k * step, to = k + 1 == n ? limit : from + step;
        now.fast = llc_pair_product(&circuit->fast, now.fast, stride.fast);
        now.slow = llc_pair_product(&circuit->slow, now.slow, stride.slow);
        for (int j = 0; j < borders->n; j++) {
            const llc_functional *f = &borders->f[j];
            double v1 = llc_value(f, &now), w1 = llc_value(&slope[j], &now), t = INFINITY, where;
            bool armed = v[j] > 1e-13 * size[j];
            if (v1 <= 0 && armed) {
                t = llc_polish(circuit, f, from, to, from + (to - from) * v[j] / (v[j] - v1), llc_sharp);
            } else if (v1 <= 0 && !reluctant) {
                double hump = llc_hump(circuit, f, to - from);
                t = hump > 0 ? llc_polish(circuit, f, from + hump, from + 2.0 * hump, from, llc_sharp) : from;
            } else if (v1 > 0 && armed && w[j] < 0 && w1 > 0 &&
                       llc_dip(v[j], w[j], v1, w1, to - from, &where) < 2e-3 * size[j]) {
                t = llc_dip_crossing(circuit, f, from, to);
            }
            v[j] = v1, w[j] = w1;
            if (!(t < best)) continue;
            best = t;
            *which = j;
        }
        if (*which >= 0) return fmin(best, limit);
    }
    return limit;
}

#endif
