/* flyback_clamp.h - the voltage a clamp of capacitor and resistor settles at.
 *
 * The capacitor takes the leakage's energy at turn-off and gives it to the resistor until the next one:
 * v falls as e^(-t/RC). In bursts the pulses are taken as evenly spread, so that is a long time, and what
 * has fallen below the reflected voltage the whole current must lift again before the secondary can take
 * over. source: charge balance of the capacitor, docs/theory/flyback.md eq. 17 to 20 */
#ifndef FLYBACK_CLAMP_H
#define FLYBACK_CLAMP_H

#include <string.h>

#include "flyback_plan.h"

/* Where a balance was found, to look for the next one nearby. */
typedef struct flyback_found {
    double voltage, slope; /* V; how the balance's miss changes with it */
    double start;          /* V as the switch turns off, where the capacitor is filled; 0: it is not */
} flyback_found;

typedef struct flyback_kept { /* of a point */
    flyback_found clamp[FLYBACK_NODES_MAX];
    double peak[FLYBACK_NODES_MAX][FLYBACK_PEAKS];
} flyback_kept;

/* A search of v where miss(v) = 0 by secants between bounds, halving them where secants gain nothing. */
typedef struct flyback_hunt {
    double low, high, v, last_v, last_g, before_g, slope;
    int n;
} flyback_hunt;

static inline flyback_hunt flyback_hunt_from(double low, const flyback_found *found)
{
    flyback_hunt h = {.low = low, .high = INFINITY, .v = 1.5 * low + 1.0, .slope = -1.0};
    h.last_g = h.before_g = INFINITY;
    if (found->voltage > low && isfinite(found->slope)) {
        h.v = found->voltage;
        h.slope = fmin(found->slope, -0.1);
    }
    return h;
}

/* Does the search gain too little? */
static inline bool flyback_hunt_stuck(const flyback_hunt *h, double g)
{
    return fabs(g) > 0.5 * fabs(h->before_g);
}

static inline bool flyback_hunt_arrived(const flyback_hunt *h, double g)
{
    double v = h->v;
    return fabs(g) <= 2e-14 * v || (flyback_hunt_stuck(h, g) && fabs(g) <= 1e-12 * v) ||
           h->high - h->low <= 1e-15 * v;
}

/* Where to look next, with a miss of g at v. */
static inline double flyback_hunt_next(flyback_hunt *h, double g)
{
    double v = h->v;
    if (h->n++ > 0 && g != h->last_g) h->slope = (g - h->last_g) / (v - h->last_v);
    double next = v - g / h->slope;
    if (next > h->low && next < h->high && !(flyback_hunt_stuck(h, g) && h->high < INFINITY)) return next;
    return h->high < INFINITY ? 0.5 * (h->low + h->high) : v + g;
}

/* Takes the miss at v and moves on; true: arrived. */
static inline bool flyback_hunt_on(flyback_hunt *h, double g)
{
    if (flyback_hunt_arrived(h, g)) return true;
    *(g > 0.0 ? &h->low : &h->high) = h->v;
    double next = flyback_hunt_next(h, g);
    if (next == h->v) return true;
    h->last_v = h->v;
    h->before_g = h->last_g;
    h->last_g = g;
    h->v = next;
    return false;
}

enum { FLYBACK_HUNTS = 100 };

/* ------------------------------------------------------- large capacitor -- */

/* The clamp's resistor takes Vcl / R in the mean: V (V - V0) = K R with K = I (V - V0) nearly constant, so
 * solved for V again and again, with secants.
 * source: the balance as in R. Ridley, Flyback Snubber Design, 2005, with the exact charge */
static inline bool flyback_balance_clamp(flyback_plan *p, flyback_found *found, size_t *at)
{
    double least = flyback_least_clamp(&p->node[0].circuit) - p->losses.clamp_drop;
    flyback_hunt h = flyback_hunt_from(fmax(least, 0.0), found);
    for (int n = 0; n < FLYBACK_HUNTS; n++) {
        double v = p->clamp_voltage = found->voltage = h.v;
        if (!flyback_operate(p, v, at)) return false;
        double k = flyback_clamp_current(p) * (v - least);
        double g = 0.5 * (least + sqrt(least * least + 4.0 * k * p->clamp_resistance)) - v;
        bool arrived = flyback_hunt_on(&h, g);
        found->slope = h.slope;
        if (arrived) return true;
    }
    return false;
}

/* ------------------------------------------------------ finite capacitor -- */

/* Lowest voltage of the capacitor at which the secondary takes over. */
static inline double flyback_clamp_base(const flyback_plan *p, const flyback_node *node)
{
    return fmax(flyback_least_clamp(&node->circuit) - p->losses.clamp_drop, 0.0);
}

/* Share of the capacitor's voltage that is lost in the time between two pulses. */
static inline double flyback_clamp_lost(const flyback_plan *p, const flyback_node *node)
{
    return -expm1(-node->cycle.period / node->share / (p->clamp_resistance * p->clamp_capacitance));
}

/* Voltage while the leakage resets, at a fill. The charge q = C (V2 - V1) that lifts the capacitor brings the
 * energy C/2 (V2^2 - V1^2), that of q at the mean (V1 + V2)/2: a stiff clamp there takes the same charge and
 * energy, exactly where the loop's resistances drop little.
 *
 *   from what is left, V1 = V2 e:         V = q/(2C) (1 + e)/(1 - e),  e = e^(-T/RC)
 *   from where the secondary takes over:  V = V1 + q/(2C)
 *
 * with q (V - V0') = K nearly constant. *steady: the first. docs/theory/flyback.md eq. 18, 19 */
static inline bool flyback_meet_clamp(const flyback_plan *p, flyback_node *node, bool filled,
                                      flyback_found *found, bool *steady)
{
    double base = flyback_clamp_base(p, node), c = p->clamp_capacitance;
    double least = flyback_least_clamp(&node->circuit) - p->losses.clamp_drop;
    flyback_hunt h = flyback_hunt_from(base, found);
    for (int n = 0; n < FLYBACK_HUNTS; n++) {
        double v = found->voltage = h.v;
        if (!flyback_operate_node(p, node, v)) return false;
        double q = node->cycle.clamp_charge, k = q * (v - least), lost = flyback_clamp_lost(p, node);
        double left = 0.5 * (least + sqrt(least * least + 2.0 * k * (2.0 - lost) / (lost * c)));
        double met = base > 0.0 ? least + sqrt(0.5 * k / c) : 0.0;
        *steady = !filled && left >= met;
        double g = (*steady ? left : met) - v;
        bool arrived = flyback_hunt_on(&h, g);
        found->slope = h.slope;
        node->circuit.clamp_rise = 0.5 * q / c;
        node->clamp_peak = v + 0.5 * q / c;
        node->clamp_start = *steady ? v - 0.5 * q / c : node->clamp_peak * (1.0 - lost);
        if (arrived) return true;
    }
    return false;
}

/* The fill from `start` up to where the secondary takes over. */
static inline void flyback_state_fill(const flyback_plan *p, double start, flyback_node *node)
{
    double base = flyback_clamp_base(p, node);
    node->circuit.fill_charge = p->clamp_capacitance * fmax(base - start, 0.0);
    node->circuit.fill_voltage = 0.5 * (base + start) + p->losses.clamp_drop;
}

/* A search of the voltage that is left as the switch turns off, between none and `base`. */
typedef struct flyback_left {
    double base, low, high, s, last_s, last_g;
    int n;
} flyback_left;

static inline flyback_left flyback_left_from(double base, const flyback_node *node,
                                             const flyback_found *found)
{
    flyback_left left = {.base = base, .high = base, .s = found->start};
    if (!(left.s > 0.0 && left.s < base)) left.s = fmin(node->clamp_start, 0.99 * base);
    return left;
}

static inline bool flyback_left_arrived(const flyback_left *left, double g)
{
    return fabs(g) <= 1e-13 * left->base || left->high - left->low <= 1e-14 * left->base;
}

/* By secants, every eighth time by halves. */
static inline double flyback_left_next(const flyback_left *left, double g)
{
    double s = left->s,
           slope = left->n > 0 && s != left->last_s ? (g - left->last_g) / (s - left->last_s) : -1.0;
    double next = s - g / slope;
    if (!(next > left->low && next < left->high) || left->n % 8 == 7) next = 0.5 * (left->low + left->high);
    return next;
}

/* The voltage V that is left as the switch turns off: a higher one is sooner filled, so more is delivered and
 * the next pulse comes later: what is left then falls with V, and meets it once between none and `base`. */
static inline bool flyback_fill_clamp(const flyback_plan *p, flyback_node *node, flyback_found *found,
                                      bool *steady)
{
    flyback_left left = flyback_left_from(flyback_clamp_base(p, node), node, found);
    for (; left.n < FLYBACK_HUNTS; left.n++) {
        flyback_state_fill(p, left.s, node);
        if (!flyback_meet_clamp(p, node, true, found, steady)) return false;
        double g = node->clamp_start - left.s;
        found->start = left.s;
        if (flyback_left_arrived(&left, g)) return true;
        *(g > 0.0 ? &left.low : &left.high) = left.s;
        double next = flyback_left_next(&left, g);
        left.last_s = left.s;
        left.last_g = g;
        left.s = next;
    }
    return false;
}

static inline bool flyback_settle_clamp(const flyback_plan *p, flyback_node *node, flyback_found *found)
{
    bool steady = false;
    node->circuit.fill_charge = 0.0;
    if (!flyback_meet_clamp(p, node, false, found, &steady)) return false;
    if (steady || node->clamp_start >= flyback_clamp_base(p, node)) {
        found->start = 0.0;
        return true;
    }
    return flyback_fill_clamp(p, node, found, &steady);
}

static inline bool flyback_settle_clamps(flyback_plan *p, flyback_kept *kept, size_t *at)
{
    for (size_t n = 0; n < p->n; n++) {
        *at = n;
        if (!flyback_settle_clamp(p, &p->node[n], &kept->clamp[n])) return false;
    }
    p->clamp_voltage = flyback_clamp_current(p) * p->clamp_resistance;
    return true;
}

/* ------------------------------------------------------------------ plan -- */

/* All cycles and their figures, from what was kept of a point nearby. */
static inline bool flyback_plan_solve(flyback_plan *p, flyback_kept *memory, size_t *at)
{
    flyback_kept none = {0}, *kept = memory ? memory : &none;
    bool solved;
    for (size_t n = 0; n < p->n; n++) memcpy(p->node[n].near, kept->peak[n], sizeof p->node[n].near);
    if (p->clamp != FLYBACK_RESISTOR)
        solved = flyback_operate(p, p->clamp_voltage, at);
    else if (p->clamp_capacitance > 0.0)
        solved = flyback_settle_clamps(p, kept, at);
    else
        solved = flyback_balance_clamp(p, kept->clamp, at);
    if (!solved) return false;
    for (size_t n = 0; n < p->n; n++) memcpy(kept->peak[n], p->node[n].near, sizeof p->node[n].near);
    return flyback_measure(p, at);
}

#endif
