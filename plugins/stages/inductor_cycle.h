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

/* Where the walk is. */
typedef struct cycle_walk {
    double i, v;
    double charge; /* integral of g i - I */
    double area;   /* integral of v */
} cycle_walk;

static inline void walk_idle(const inductor_output *o, double t, cycle_walk *w, inductor_change *change)
{
    double charge = -o->load * t;
    w->area += t * (w->v + 0.5 * o->elastance * charge);
    w->charge += charge;
    w->v += o->elastance * charge;
    *change = (inductor_change){.charge = {0.0, 0.0, -o->load}, .area = {0.0, t, w->v}};
}

/* The area by Kirchhoff's voltages around the loop, the derivatives by those of the response. */
static inline void walk_feeding(const inductor_output *o, const inductor_path *path, const inductor_law *law,
                                const inductor_point *to, cycle_walk *w, inductor_change *change)
{
    double l = o->inductance, r = path->resistance, charge = inductor_charge(law, w->i, to);
    w->area += path->source * to->t - r * (charge + o->load * to->t) - o->esr * charge - l * (to->i - w->i);
    w->charge += charge;
    w->v += o->elastance * charge;
    double s_l = to->s / l, p_l = to->p / l, series = r + o->esr;
    *change = (inductor_change){
        .i = {to->own, -s_l, to->slope},
        .charge = {to->s, -p_l, to->i - o->load},
        .area = {l * (1.0 - to->own) - series * to->s, to->s + series * p_l, w->v},
    };
}

/* How long a current of this sign flows along a path, left s at most, and how it ends; 0: of either sign.
 * ahead: time and response there, where they are known */
static inline bool flows_out(const inductor_law *law, double i0, double sign, double left,
                             const inductor_point *ahead, inductor_point *end)
{
    if (ahead) {
        *end = *ahead;
        inductor_look_on(law, i0, end);
    } else {
        inductor_look_at(law, i0, left, end);
    }
    if (sign == 0.0 || inductor_stays(law, sign, end->i, end->slope, left)) return false;
    double t = inductor_zero(law, i0, sign, left);
    if (!(t < left)) return false;
    inductor_look_at(law, i0, t, end);
    end->i = 0.0;
    return true;
}

/* One span of at most `left` seconds. ahead: as flows_out has it. return what is left after it */
static inline double walk_span(inductor_cycle *c, size_t state, const inductor_path *path, double sign,
                               double left, const inductor_point *ahead, cycle_walk *w)
{
    static const inductor_path nowhere;
    const inductor_output o = c->output;
    inductor_span *span = &c->span[c->spans++];
    inductor_point end = {.t = left};
    span->idle = !path;
    span->path = path ? *path : nowhere;
    span->law = path ? inductor_law_of(&o, path, w->i, w->v) : (inductor_law){0};
    span->state = state;
    span->i0 = w->i;
    span->v0 = w->v;
    span->stops = path && flows_out(&span->law, w->i, sign, left, ahead, &end);
    if (span->path.feeds) {
        walk_feeding(&o, path, &span->law, &end, w, &span->change);
    } else {
        walk_idle(&o, end.t, w, &span->change);
        span->change.i[0] = end.own;
        span->change.i[2] = end.slope;
    }
    w->i = end.i;
    span->duration = end.t;
    span->i1 = end.i;
    span->v1 = w->v;
    span->slope1 = end.slope;
    return span->stops ? left - end.t : 0.0;
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

/* ahead: time and response at the end of its positive path, if that lasts as long as the state; NULL: not
 * known
 */
static inline void walk_state(inductor_cycle *c, size_t state, double left, const inductor_point *ahead,
                              cycle_walk *w)
{
    const gate_state *g = &c->state[state];
    if (!(left > 0.0)) left = 0.0;
    if (g->channel) {
        walk_span(c, state, &g->positive, 0.0, left, ahead, w);
        return;
    }
    for (int part = 0; part < 3; part++) {
        double sign = 0.0;
        const inductor_path *path = part < 2 ? way(c, g, w, &sign) : NULL;
        left = walk_span(c, state, path, sign, left, path == &g->positive && part == 0 ? ahead : NULL, w);
        if (!(left > 0.0)) return;
        if (path && part == 0 && w->i == 0.0 && !way(c, g, w, &sign)) part = 1;
    }
}

/* Time and response at the ends of the positive paths of four gate states, the first being `from`, as if each
 * lasted as long as its state; of such as there are not, at no time. false: there are the times alone. */
static inline bool look_ahead(const inductor_cycle *c, double control, size_t from,
                              inductor_point ahead[LANES])
{
    const inductor_output *o = &c->output;
    double half = 0.5 / o->inductance, rate = o->elastance / o->inductance;
    double a[LANES] = {0.0}, w2[LANES] = {0.0}, t[LANES] = {0.0}, s[LANES], p[LANES];
    for (size_t k = 0; k < LANES && from + k < c->states; k++) { /* as inductor_law_of */
        const gate_state *g = &c->state[from + k];
        a[k] = (g->positive.resistance + (g->positive.feeds ? o->esr : 0.0)) * half;
        w2[k] = g->positive.feeds ? rate : 0.0;
        t[k] = g->base + g->rate * control;
    }
    for (size_t k = 0; k < LANES; k++) ahead[k].t = t[k];
    if (!inductor_four_responses(a, w2, t, s, p)) return false;
    for (size_t k = 0; k < LANES; k++) ahead[k].s = s[k], ahead[k].p = p[k];
    return true;
}

static inline cycle_walk walk_cycle(inductor_cycle *c, double control, double current, double capacitor)
{
    cycle_walk w = {.i = current, .v = capacitor};
    c->spans = 0;
    c->period = 0.0;
    for (size_t from = 0; from < c->states; from += LANES) {
        inductor_point ahead[LANES];
        bool known = look_ahead(c, control, from, ahead);
        for (size_t k = from; k < from + LANES && k < c->states; k++) {
            const inductor_point *there = &ahead[k - from];
            c->period += there->t;
            walk_state(c, k, there->t, known && there->t > 0.0 ? there : NULL, &w);
        }
    }
    return w;
}

/* ----------------------------------------------------------- derivatives -- */

/* How the walk moves, to first order, in four ways at once. */
typedef struct cycle_change {
    lanes i, v, charge, area;
    lanes left; /* s, of the time left in the gate state */
} cycle_change;

/* Along one span: it takes all that is left, but where it ends at zero current when that comes to pass, dt =
 * -(di at fixed t) / i'. */
WITHIN_LANES void change_span(const inductor_output *o, const inductor_span *n, cycle_change *d)
{
    const inductor_change *by = &n->change;
    lanes dt = d->left, end = by->i[0] * d->i + by->i[1] * d->v;
    if (n->stops) dt = end * (by->i[2] != 0.0 ? -1.0 / by->i[2] : 0.0);
    lanes charge = by->charge[0] * d->i + by->charge[1] * d->v + by->charge[2] * dt;
    d->area += by->area[0] * d->i + by->area[1] * d->v + by->area[2] * dt;
    d->charge += charge;
    d->v += o->elastance * charge;
    d->i = n->stops ? 0.0 * end : end + by->i[2] * dt;
    d->left -= dt;
}

static inline bool begins_state(const inductor_cycle *c, size_t span)
{
    return span == 0 || c->span[span].state != c->span[span - 1].state;
}

/* Moves the end of the walk with the control, and with current and voltage at its start. */
FOUR_LANES static void change_cycle(const inductor_cycle *c, cycle_change *change)
{
    cycle_change d = {.i = {0.0, 1.0}, .v = {0.0, 0.0, 1.0}};
    for (size_t k = 0; k < c->spans; k++) {
        if (begins_state(c, k)) d.left = (lanes){c->state[c->span[k].state].rate};
        change_span(&c->output, &c->span[k], &d);
    }
    *change = d;
}

/* Moves all that has been walked with the control and with its start. false: the current would turn, or a
 * span end before it begins, so that the walk has to be made anew. */
FOUR_LANES static bool shift_cycle(inductor_cycle *c, double control, double current, double capacitor)
{
    const inductor_output o = c->output;
    const double inverse = 1.0 / o.inductance;
    cycle_change d = {.i = {current}, .v = {capacitor}}; /* of four ways the first */
    bool alike = true;
    for (size_t k = 0; k < c->spans; k++) {
        inductor_span *n = &c->span[k];
        double damping = 2.0 * n->law.a, g = n->path.feeds ? inverse : 0.0, all;
        if (begins_state(c, k)) {
            d.left = (lanes){c->state[n->state].rate * control};
            c->period += d.left[0];
        }
        bool positive = n->i1 > 0.0;
        n->i0 += d.i[0];
        n->v0 += d.v[0];
        n->law.slope -= damping * d.i[0] + g * d.v[0];
        all = d.left[0];
        change_span(&o, n, &d);
        n->duration += all - d.left[0];
        n->i1 += d.i[0];
        n->v1 += d.v[0];
        n->slope1 -= damping * d.i[0] + g * d.v[0];
        alike = alike && n->duration >= 0.0 && positive == (n->i1 > 0.0);
    }
    return alike;
}

/* The three residuals and their matrix: current periodic; charge balanced (A s); mean voltage (stiff: v
 * itself). */
static inline void cycle_equations(const inductor_cycle *c, const cycle_walk *w, double current,
                                   double capacitor, double f[3], double m[3][3])
{
    cycle_change d;
    change_cycle(c, &d);
    double stretch = 0.0;
    for (size_t k = 0; k < c->states; k++) stretch += c->state[k].rate;
    f[0] = w->i - current;
    f[1] = w->charge;
    for (int k = 0; k < 3; k++) {
        m[0][k] = d.i[k] - (k == 1);
        m[1][k] = d.charge[k];
    }
    if (c->output.elastance > 0.0) {
        double inverse = 1.0 / c->period;
        f[2] = (w->area - c->voltage * c->period) * inverse;
        for (int k = 0; k < 3; k++) m[2][k] = d.area[k] * inverse;
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
    c->control = control;
    c->current = current;
    c->capacitor = capacitor;
    for (c->steps = 1; c->steps <= STEPS_MAX; c->steps++) {
        double f[3], m[3][3], step[3], x0 = c->control, x1 = c->current, x2 = c->capacitor;
        cycle_walk w = walk_cycle(c, x0, x1, x2);
        cycle_equations(c, &w, x1, x2, f, m);
        if (!solve_three(m, f, step)) return false;
        c->control = next_control(c, x0, step[0]);
        c->current = x1 - step[1];
        c->capacitor = x2 - step[2];
        if (!isfinite(c->current) || !isfinite(c->capacitor)) return false;
        double size = fabs(x1) + fabs(w.i) + c->output.load + 1e-9;
        bool near = fabs(c->control - x0) < 1e-7 * fmax(x0, 1e-6 * c->control_limit) &&
                    fabs(step[1]) < 1e-7 * size && fabs(step[2]) < 1e-7 * (fabs(c->voltage) + 1e-9);
        if (!near) continue;
        /* the error left is of the order of the square of the step, and so is what the shift leaves */
        if (w.i == 0.0) c->current = 0.0; /* blocked at the end: at rest, not merely within rounding of it */
        if (!shift_cycle(c, c->control - x0, c->current - x1, c->capacitor - x2))
            walk_cycle(c, c->control, c->current, c->capacitor);
        return !(fabs(x0 - step[0] - c->control) > 1e-8 * fabs(c->control)); /* not held at a bound */
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
    *low = value < *low ? value : *low;
    *high = value > *high ? value : *high;
}

/* Inner extrema between two looks at a span: of the current, and of the node voltage u = v + esr y. */
static inline void turns_between(const inductor_output *o, const inductor_span *n, const inductor_point *from,
                                 const inductor_point *to, cycle_figures *f)
{
    const inductor_law *law = &n->law;
    const inductor_mark turn = {0.0, 0.0, 1.0}, crest = {0.0, o->elastance, o->esr}; /* i', u' */
    if ((from->slope > 0.0) != (to->slope > 0.0)) {
        inductor_root top = inductor_crossing(law, n->i0, &turn, from, to->t, inductor_turn_share);
        widen(top.at.i + top.rise, &f->valley, &f->peak);
    }
    double rise = o->elastance * (from->i - law->rest) + o->esr * from->slope;
    double next_rise = o->elastance * (to->i - law->rest) + o->esr * to->slope;
    if (n->path.feeds && (rise > 0.0) != (next_rise > 0.0)) {
        inductor_root top = inductor_crossing(law, n->i0, &crest, from, to->t, inductor_turn_share);
        double v = n->v0 + o->elastance * inductor_charge(law, n->i0, &top.at);
        widen(v + o->esr * (top.at.i - law->rest) + top.rise, &f->lowest, &f->highest);
    }
}

/* One look at the end, or several over the first turn of a span that rings; what follows is smaller. */
static inline void span_turns(const inductor_output *o, const inductor_span *n, cycle_figures *f)
{
    enum { LOOKS = 16 };
    const inductor_point end = {.t = n->duration, .i = n->i1, .slope = n->slope1};
    inductor_point before = inductor_start(&n->law, n->i0), at;
    double look = inductor_look(&n->law, n->duration);
    for (int k = 1; k <= LOOKS && look * k < n->duration; k++) {
        inductor_look_at(&n->law, n->i0, look * k, &at);
        turns_between(o, n, &before, &at, f);
        before = at;
    }
    if (!(look * LOOKS < n->duration)) turns_between(o, n, &before, &end, f);
}

static inline void span_ends(const inductor_output *o, const inductor_span *n, cycle_figures *f)
{
    double g = n->path.feeds ? 1.0 : 0.0;
    widen(n->i0, &f->valley, &f->peak);
    widen(n->i1, &f->valley, &f->peak);
    widen(n->v0 + o->esr * (g * n->i0 - o->load), &f->lowest, &f->highest);
    widen(n->v1 + o->esr * (g * n->i1 - o->load), &f->lowest, &f->highest);
}

/* Charge and square of a span's current, in the parts that it flows through. */
static inline void measure_parts(unsigned who, double charge, double square, cycle_figures *f)
{
    for (int p = 0; who; p++, who >>= 1)
        if (who & 1u) {
            f->average[p] += charge;
            f->square[p] += square;
        }
}

/* One span, of whose current first and second are the integrals of i - middle and its square over the period.
 */
static inline void measure_span(const inductor_output *o, const inductor_span *n, double inverse,
                                double middle, double first, double second, cycle_figures *f)
{
    double share = n->duration * inverse, apart = middle - o->load, average = first + middle * share;
    measure_parts(n->path.who, average, second + middle * (2.0 * first + middle * share), f);
    if (n->path.feeds) {
        f->fed += average;
        f->fed_ac_square += second + apart * (2.0 * first + apart * share);
    } else {
        f->fed_ac_square += o->load * o->load * share;
    }
    span_ends(o, n, f);
    if (!n->idle) span_turns(o, n, f);
}

static inline void cycle_measure(const inductor_cycle *c, cycle_figures *f)
{
    *f = (cycle_figures){.peak = -INFINITY, .valley = INFINITY, .highest = -INFINITY, .lowest = INFINITY};
    double inverse = 1.0 / c->period, middle = 0.0, sum = 0.0, sum2 = 0.0;
    for (size_t k = 0; k < c->spans; k++)
        middle += 0.5 * (c->span[k].i0 + c->span[k].i1) * c->span[k].duration * inverse;
    for (size_t from = 0; from < c->spans; from += LANES) {
        const inductor_span *four[LANES];
        double first[LANES], second[LANES];
        for (size_t k = 0; k < LANES; k++)
            four[k] = &c->span[from + k < c->spans ? from + k : c->spans - 1]; /* the last again: unused */
        inductor_moments(four, middle, first, second);
        for (size_t k = 0; k < LANES && from + k < c->spans; k++) {
            if (!(four[k]->duration > 0.0)) continue;
            sum += first[k] * inverse;
            sum2 += second[k] * inverse;
            measure_span(&c->output, four[k], inverse, middle, first[k] * inverse, second[k] * inverse, f);
        }
    }
    f->mean = middle + sum;
    f->ac_square = fmax(sum2 - sum * sum, 0.0);
}

#endif
