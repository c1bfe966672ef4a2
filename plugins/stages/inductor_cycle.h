/* inductor_cycle.h - the periodic cycle of one inductor between switches, and the control that makes it
 * deliver.
 *
 * The controller steps through gate states. In a gate state the current either flows in a channel, whichever
 * way it goes, or only in one-way paths: one for positive, one for negative current, blocked between. The
 * cycle is solved for three unknowns - the control (an on-time or the period), current and capacitor voltage
 * at its start - by Newton's method on: current periodic, charge balanced, mean voltage as wanted. The
 * derivatives are carried along the walk, through the instants at which the current comes to zero.
 * docs/theory/buck.md eq. 5 source: Newton shooting on a switched linear circuit; T. J. Aprille, T. N. Trick,
 * Proc. IEEE 60(1), 1972 */
#ifndef INDUCTOR_CYCLE_H
#define INDUCTOR_CYCLE_H

#include "inductor_span.h"

enum { CYCLE_STATES_MAX = 8, CYCLE_SPANS_MAX = 3 * CYCLE_STATES_MAX };

typedef struct gate_state {
    inductor_path positive, negative; /* a channel uses only `positive` */
    bool channel;
    double base, rate; /* s and 1: it lasts base + rate * control */
} gate_state;

typedef struct inductor_cycle {
    inductor_output output;
    double voltage; /* V, mean wanted at the output */
    size_t states;
    gate_state state[CYCLE_STATES_MAX];
    double control_floor, control_limit; /* s; the control is kept in (floor, limit] */
    /* the solution */
    double control, current, capacitor, period;
    size_t spans;
    inductor_span span[CYCLE_SPANS_MAX];
    unsigned steps;
} inductor_cycle;

/* Where the walk is, with derivatives by control, first current and first voltage. */
typedef struct cycle_walk {
    bool slopes; /* whether derivatives are carried */
    double i, v, di[3], dv[3];
    double charge, dcharge[3]; /* integral of g i - I */
    double area, darea[3];     /* integral of v */
} cycle_walk;

static inline void walk_idle(const inductor_output *o, cycle_walk *w, double t, const double dt[3])
{
    double fall = o->elastance * o->load;
    for (int k = 0; k < 3 && w->slopes; k++) {
        w->darea[k] += t * w->dv[k] + (w->v - fall * t) * dt[k];
        w->dcharge[k] -= o->load * dt[k];
        w->dv[k] -= fall * dt[k];
        w->di[k] = 0.0;
    }
    w->area += t * (w->v - 0.5 * fall * t);
    w->charge -= o->load * t;
    w->i = 0.0;
    w->v -= fall * t;
}

/* A law at a time: its response, the current and its slope. */
typedef struct cycle_response {
    double t, s, p, own; /* own: d i / d i at the start */
    double i, slope;
} cycle_response;

static inline void respond(const inductor_law *law, double i0, double t, cycle_response *r)
{
    double y0 = i0 - law->rest;
    r->t = t;
    inductor_response(law, t, &r->s, &r->p);
    r->own = 1.0 - law->w2 * r->p - 2.0 * law->a * r->s;
    r->i = i0 + r->s * law->slope - law->w2 * r->p * y0;
    r->slope = law->slope * r->own - law->w2 * r->s * y0;
}

static inline void walk_away(const inductor_output *o, cycle_walk *w, const cycle_response *r,
                             const double dt[3])
{
    double di[3] = {0.0, 0.0, 0.0};
    for (int k = 0; k < 3 && w->slopes; k++) di[k] = w->di[k] * r->own + r->slope * dt[k];
    walk_idle(o, w, r->t, dt);
    w->i = r->i;
    for (int k = 0; k < 3 && w->slopes; k++) w->di[k] = di[k];
}

static inline void walk_feeding(const inductor_output *o, const inductor_path *path, const inductor_law *law,
                                cycle_walk *w, const cycle_response *at, const double dt[3])
{
    double l = 1.0 / o->inductance, y0 = w->i - o->load, e = path->source, r = path->resistance;
    double charge = y0 * (at->s + 2.0 * law->a * at->p) + law->slope * at->p, y1 = at->i - o->load;
    for (int k = 0; k < 3 && w->slopes; k++) {
        double di = at->own * w->di[k] - at->s * l * w->dv[k] + at->slope * dt[k];
        double dq = at->s * w->di[k] - at->p * l * w->dv[k] + y1 * dt[k];
        w->darea[k] += (e - r * o->load) * dt[k] - (r + o->esr) * dq - o->inductance * (di - w->di[k]);
        w->dcharge[k] += dq;
        w->dv[k] += o->elastance * dq;
        w->di[k] = di;
    }
    w->area += e * at->t - r * (charge + o->load * at->t) - o->esr * charge - o->inductance * (at->i - w->i);
    w->charge += charge;
    w->v += o->elastance * charge;
    w->i = at->i;
}

/* How long a current of this sign flows along a path, *left s at most, and how it ends; 0: of either sign. */
static inline bool flows_out(const inductor_law *law, double i0, double sign, double left, cycle_response *r)
{
    respond(law, i0, left, r);
    if (sign == 0.0 || inductor_stays(law, sign, r->i, r->slope, left)) return false;
    double t = inductor_zero(law, i0, sign, left);
    if (!(t < left)) return false;
    respond(law, i0, t, r);
    return true;
}

/* One span of at most *left seconds; shortens *left and dleft by what it took. */
static inline void walk_span(inductor_cycle *c, size_t state, const inductor_path *path, double sign,
                             cycle_walk *w, double *left, double dleft[3])
{
    const inductor_output *o = &c->output;
    double t = *left, dt[3] = {dleft[0], dleft[1], dleft[2]};
    inductor_span *span = &c->span[c->spans++];
    span->idle = !path;
    span->state = state;
    span->i0 = w->i;
    span->v0 = w->v;
    bool zero = false;
    if (!path) {
        span->path = (inductor_path){0};
        walk_idle(o, w, t, dt);
    } else {
        const inductor_law law = inductor_law_of(o, path, w->i, w->v);
        cycle_response r;
        span->path = *path;
        span->law = law;
        zero = flows_out(&law, w->i, sign, *left, &r);
        span->slope1 = r.slope;
        t = r.t;
        double g = path->feeds ? 1.0 : 0.0;
        for (int k = 0; k < 3 && zero; k++) /* t follows from i(t) = 0: dt = -(di at fixed t) / i' */
            dt[k] = r.slope != 0.0 ? -(r.own * w->di[k] - g * r.s / o->inductance * w->dv[k]) / r.slope : 0.0;
        if (path->feeds)
            walk_feeding(o, path, &law, w, &r, dt);
        else
            walk_away(o, w, &r, dt);
        if (zero) {
            w->i = 0.0;
            w->di[0] = w->di[1] = w->di[2] = 0.0;
        }
    }
    span->duration = t;
    span->i1 = w->i;
    span->v1 = w->v;
    *left = zero ? *left - t : 0.0;
    for (int k = 0; k < 3; k++) dleft[k] -= dt[k];
}

/* The way a current of this sign takes, and from zero the way that drives it on; NULL: it stays at zero. */
static inline const inductor_path *way(const inductor_cycle *c, const gate_state *g, const cycle_walk *w,
                                       double *sign)
{
    *sign = w->i > 0.0 ? 1.0 : w->i < 0.0 ? -1.0 : 0.0;
    if (*sign == 0.0) {
        if (inductor_law_of(&c->output, &g->positive, 0.0, w->v).slope > 0.0)
            *sign = 1.0;
        else if (inductor_law_of(&c->output, &g->negative, 0.0, w->v).slope < 0.0)
            *sign = -1.0;
    }
    return *sign > 0.0 ? &g->positive : *sign < 0.0 ? &g->negative : NULL;
}

static inline void walk_state(inductor_cycle *c, size_t state, double t, double rate, cycle_walk *w)
{
    const gate_state *g = &c->state[state];
    double left = t, dleft[3] = {rate, 0.0, 0.0};
    if (!(left > 0.0)) left = 0.0;
    if (g->channel) {
        walk_span(c, state, &g->positive, 0.0, w, &left, dleft);
        return;
    }
    for (int part = 0; part < 3; part++) {
        double sign;
        const inductor_path *path = part < 2 ? way(c, g, w, &sign) : NULL;
        walk_span(c, state, path, path ? sign : 0.0, w, &left, dleft);
        if (!(left > 0.0)) return;
        if (path && part == 0 && w->i == 0.0 && !way(c, g, w, &sign)) part = 1;
    }
}

static inline cycle_walk walk_along(inductor_cycle *c, double control, double current, double capacitor,
                                    bool slopes)
{
    cycle_walk w = {.slopes = slopes, .i = current, .v = capacitor, .di = {0, 1, 0}, .dv = {0, 0, 1}};
    c->spans = 0;
    c->period = 0.0;
    for (size_t k = 0; k < c->states; k++) {
        double t = c->state[k].base + c->state[k].rate * control;
        c->period += t;
        walk_state(c, k, t, c->state[k].rate, &w);
    }
    return w;
}

static inline cycle_walk walk_cycle(inductor_cycle *c, double control, double current, double capacitor)
{
    return walk_along(c, control, current, capacitor, true);
}

/* The three residuals and their matrix: current periodic; charge balanced (A s); mean voltage (stiff: v
 * itself). */
static inline void cycle_equations(const inductor_cycle *c, const cycle_walk *w, double current,
                                   double capacitor, double f[3], double m[3][3])
{
    double stretch = 0.0;
    for (size_t k = 0; k < c->states; k++) stretch += c->state[k].rate;
    f[0] = w->i - current;
    f[1] = w->charge;
    for (int k = 0; k < 3; k++) {
        m[0][k] = w->di[k] - (k == 1);
        m[1][k] = w->dcharge[k];
    }
    if (c->output.elastance > 0.0) {
        double inverse = 1.0 / c->period;
        f[2] = (w->area - c->voltage * c->period) * inverse;
        for (int k = 0; k < 3; k++) m[2][k] = w->darea[k] * inverse;
        m[2][0] -= c->voltage * stretch * inverse;
    } else {
        f[2] = capacitor - c->voltage;
        m[2][0] = m[2][1] = 0.0;
        m[2][2] = 1.0;
    }
}

/* Cramer's rule; the step only steers, its rounding does not reach the solution. */
static inline bool solve_three(const double m[3][3], const double f[3], double x[3])
{
    double c0 = m[1][1] * m[2][2] - m[1][2] * m[2][1], c1 = m[1][2] * m[2][0] - m[1][0] * m[2][2],
           c2 = m[1][0] * m[2][1] - m[1][1] * m[2][0];
    double det = m[0][0] * c0 + m[0][1] * c1 + m[0][2] * c2;
    if (det == 0.0 || !isfinite(det)) return false;
    double inverse = 1.0 / det;
    x[0] = inverse * (f[0] * c0 + m[0][1] * (m[1][2] * f[2] - f[1] * m[2][2]) +
                      m[0][2] * (f[1] * m[2][1] - m[1][1] * f[2]));
    x[1] = inverse * (m[0][0] * (f[1] * m[2][2] - m[1][2] * f[2]) + f[0] * c1 +
                      m[0][2] * (m[1][0] * f[2] - f[1] * m[2][0]));
    x[2] = inverse * (m[0][0] * (m[1][1] * f[2] - f[1] * m[2][1]) +
                      m[0][1] * (f[1] * m[2][0] - m[1][0] * f[2]) + f[0] * c2);
    return isfinite(x[0]) && isfinite(x[1]) && isfinite(x[2]);
}

/* s: the control after a step, within (floor, limit]; at most nine tenths of the way down, and half of that
 * up. */
static inline double next_control(const inductor_cycle *c, double control, double step)
{
    double low = c->control_floor, high = c->control_limit, next = control - step;
    if (!(next - low > 0.1 * (control - low))) next = low + 0.1 * (control - low);
    if (next > high) next = control < 0.9 * high ? 0.5 * (control + high) : high;
    return next;
}

/* Newton from a guess; true when the unknowns have stopped moving. The control stays within (0, limit]. */
static inline bool cycle_newton(inductor_cycle *c, double control, double current, double capacitor)
{
    enum { STEPS_MAX = 60 };
    double x[3] = {control, current, capacitor}, f[3], m[3][3], step[3];
    for (c->steps = 1; c->steps <= STEPS_MAX; c->steps++) {
        cycle_walk w = walk_cycle(c, x[0], x[1], x[2]);
        cycle_equations(c, &w, x[1], x[2], f, m);
        if (!solve_three(m, f, step)) return false;
        double next = next_control(c, x[0], step[0]);
        double moved = fabs(next - x[0]) / fmax(x[0], 1e-6 * c->control_limit);
        double size = fabs(x[1]) + fabs(w.i) + c->output.load + 1e-9;
        moved = fmax(moved, fabs(step[1]) / size);
        moved = fmax(moved, fabs(step[2]) / (fabs(c->voltage) + 1e-9));
        bool held = fabs(x[0] - step[0] - next) > 1e-8 * fabs(next);
        x[0] = next;
        x[1] -= step[1];
        x[2] -= step[2];
        if (!isfinite(x[1]) || !isfinite(x[2])) return false;
        if (moved < 1e-7) {             /* the error left is of the order of its square */
            if (w.i == 0.0) x[1] = 0.0; /* blocked at the end: at rest, not merely within rounding of it */
            walk_along(c, x[0], x[1], x[2], false);
            c->control = x[0];
            c->current = x[1];
            c->capacitor = x[2];
            return !held;
        }
    }
    return false;
}

/* ------------------------------------------------------------- figures -- */

enum { CYCLE_PARTS = 8 };

typedef struct cycle_figures {
    double average[CYCLE_PARTS], square[CYCLE_PARTS]; /* A, A^2: mean through each part of `who` */
    double mean, ac_square, peak, valley;             /* A, A^2: inductor */
    double fed, fed_ac_square; /* A, A^2: current into the output node, and its ripple */
    double highest, lowest;    /* V, of the output node */
} cycle_figures;

static inline void widen(double value, double *low, double *high)
{
    if (value < *low) *low = value;
    if (value > *high) *high = value;
}

/* Inner extrema of the current, and of the node voltage u, whose slope is elastance y + esr y': one look at
 * the end, or several over the first turn of a span that rings; what follows is smaller. */
static inline void span_turns(const inductor_output *o, const inductor_span *n, cycle_figures *f)
{
    enum { LOOKS = 16 };
    const inductor_law *law = &n->law;
    double t = n->duration, look = inductor_look(law, t), y0 = n->i0 - law->rest, slope = law->slope;
    double rise = o->elastance * y0 + o->esr * slope;
    for (int k = 1; k <= LOOKS; k++) {
        double to = fmin(look * k, t), next_slope = n->slope1, any;
        double y = (to < t ? inductor_at(law, n->i0, to, &next_slope) : n->i1) - law->rest;
        double next_rise = o->elastance * y + o->esr * next_slope;
        if ((slope > 0.0) != (next_slope > 0.0)) {
            double at = inductor_crossing(law, n->i0, look * (k - 1), to, 0.0, 0.0, 1.0);
            widen(inductor_at(law, n->i0, at, &any), &f->valley, &f->peak);
        }
        if (n->path.feeds && o->elastance > 0.0 && (rise > 0.0) != (next_rise > 0.0)) {
            double at = inductor_crossing(law, n->i0, look * (k - 1), to, 0.0, o->elastance, o->esr), s, p;
            inductor_response(law, at, &s, &p);
            double v = n->v0 + o->elastance * (y0 * (s + 2.0 * law->a * p) + law->slope * p);
            widen(v + o->esr * (inductor_at(law, n->i0, at, &any) - law->rest), &f->lowest, &f->highest);
        }
        slope = next_slope;
        rise = next_rise;
        if (!(to < t)) return;
    }
}

static inline void span_ends(const inductor_output *o, const inductor_span *n, cycle_figures *f)
{
    double g = n->path.feeds ? 1.0 : 0.0;
    widen(n->i0, &f->valley, &f->peak);
    widen(n->i1, &f->valley, &f->peak);
    widen(n->v0 + o->esr * (g * n->i0 - o->load), &f->lowest, &f->highest);
    widen(n->v1 + o->esr * (g * n->i1 - o->load), &f->lowest, &f->highest);
}

static inline void cycle_measure(const inductor_cycle *c, cycle_figures *f)
{
    *f = (cycle_figures){.peak = -INFINITY, .valley = INFINITY, .highest = -INFINITY, .lowest = INFINITY};
    const inductor_output *o = &c->output;
    double inverse = 1.0 / c->period, middle = 0.0, first, second, idle = 0.0;
    for (size_t k = 0; k < c->spans; k++)
        middle += 0.5 * (c->span[k].i0 + c->span[k].i1) * c->span[k].duration * inverse;
    double sum = 0.0, sum2 = 0.0;
    for (size_t k = 0; k < c->spans; k++) {
        const inductor_span *n = &c->span[k];
        if (!(n->duration > 0.0)) continue;
        inductor_moments(n, middle, &first, &second);
        sum += first;
        sum2 += second;
        double charge = first + middle * n->duration,
               square = second + 2.0 * middle * first + middle * middle * n->duration;
        for (int p = 0; p < CYCLE_PARTS; p++)
            if (n->path.who >> p & 1u) {
                f->average[p] += charge * inverse;
                f->square[p] += square * inverse;
            }
        double apart = middle - o->load;
        if (n->path.feeds && !n->idle) {
            f->fed += charge * inverse;
            f->fed_ac_square += (second + 2.0 * apart * first + apart * apart * n->duration) * inverse;
        } else {
            idle += n->duration;
        }
        span_ends(o, n, f);
        if (!n->idle) span_turns(o, n, f);
    }
    f->fed_ac_square += o->load * o->load * idle * inverse;
    double off = sum * inverse;
    f->mean = middle + off;
    f->ac_square = fmax(sum2 * inverse - off * off, 0.0);
}

#endif
