/* inductor_search.h - the cycle with a stiff output found by bracketing, for the few points where Newton's
 * method jumps to and fro across a change of mode. Part of inductor_cycle.h.
 *
 * With the voltage held, periodic cycles lie on one path along which both the control (u) and the first
 * current (i0) never fall: so the sum u / T + i0 / scale numbers them, and the charge delivered rises along
 * it. For each number the one cycle is found by bisection, and the number itself by bisection on the charge.
 */
#ifndef INDUCTOR_SEARCH_H
#define INDUCTOR_SEARCH_H

#include "inductor_cycle.h"

typedef struct path_search {
    inductor_cycle *cycle;
    double span, scale; /* s, A: units of control and current */
    double control, current;
} path_search;

/* The periodic cycle numbered `place`. Returns the charge it delivers beyond the load, or an infinity of the
 * right sign where the control would leave its bounds. */
static inline double path_charge(path_search *s, double place)
{
    inductor_cycle *c = s->cycle;
    double low = c->control_floor, high = c->control_limit, charge = 0.0, gap = 0.0;
    enum { HALVINGS = 70 };
    for (int k = -2; k < HALVINGS; k++) {
        double u = k == -2 ? low + 1e-9 * (high - low) : k == -1 ? high : 0.5 * (low + high);
        double i = (place - u / s->span) * s->scale;
        cycle_walk w = walk_cycle(c, u, i, c->voltage);
        gap = w.i - i;
        s->control = u;
        s->current = i;
        charge = w.charge;
        if (k == -2 && gap > 0.0) return -INFINITY;
        if (k == -1 && gap < 0.0) return INFINITY;
        if (k < 0) continue;
        if (gap > 0.0)
            high = u;
        else
            low = u;
        if (high - low <= 1e-15 * high) break;
    }
    return charge;
}

static inline bool cycle_search(inductor_cycle *c, double control, double current)
{
    bool timed =
        !(c->state[0].rate > 0.0); /* the period is the control: Newton on a linear problem needs no search */
    if (timed) return cycle_newton(c, control, current, c->voltage);
    path_search s = {.cycle = c, .span = c->control_limit, .scale = fabs(current) + c->output.load + 1e-6};
    double place = control / s.span + current / s.scale, reach = 0.5, low = place, high = place;
    bool bracketed = false;
    bool more = path_charge(&s, place) < 0.0;
    for (int k = 0; k < 60 && !bracketed; k++, reach *= 1.6) {
        if (more) {
            low = high;
            high += reach;
            bracketed = path_charge(&s, high) >= 0.0;
        } else {
            high = low;
            low -= reach;
            bracketed = path_charge(&s, low) < 0.0;
        }
    }
    for (int k = 0; bracketed && k < 60; k++) {
        double middle = 0.5 * (low + high);
        if (path_charge(&s, middle) < 0.0)
            low = middle;
        else
            high = middle;
        if (high - low < 1e-13 * (fabs(low) + fabs(high))) break;
    }
    return bracketed && cycle_newton(c, s.control, s.current, c->voltage);
}

/* Newton from a guess; where that fails, a bracketed search with a stiff output that is then softened in
 * steps, the last of which is the circuit itself. */
static inline bool cycle_settle(inductor_cycle *c, double control, double current, double capacitor)
{
    if (cycle_newton(c, control, current, capacitor)) return true;
    inductor_output real = c->output;
    c->output.elastance = c->output.esr = 0.0;
    bool solved = cycle_search(c, control, current);
    enum { STEPS = 16 };
    for (int k = 1; k < STEPS && solved && real.elastance > 0.0; k++) {
        c->output.elastance = real.elastance * k / STEPS;
        c->output.esr = real.esr * k / STEPS;
        solved = cycle_newton(c, c->control, c->current, c->capacitor);
    }
    c->output = real;
    if (solved && real.elastance > 0.0) solved = cycle_newton(c, c->control, c->current, c->capacitor);
    return solved;
}

#endif
