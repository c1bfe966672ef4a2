/* flyback_plan.h - all cycles of one operating point: along the bus ripple, with their valleys and bursts,
 * and the clamp voltage they settle at together. */
#ifndef FLYBACK_PLAN_H
#define FLYBACK_PLAN_H

#include <string.h>

#include "flyback_figures.h"
#include "flyback_solve.h"

enum { FLYBACK_FIXED, FLYBACK_RESONANT };
enum { FLYBACK_STIFF, FLYBACK_RESISTOR, FLYBACK_ACTIVE };
enum { FLYBACK_NODES_MAX = 8 };
/* Peaks solved for on the way: at the first valley, at the highest frequency without a ring, and as it runs.
 */
enum { FLYBACK_PEAK_FIRST, FLYBACK_PEAK_CLAMPED, FLYBACK_PEAK_RUN, FLYBACK_PEAKS };

typedef struct flyback_node { /* one cycle of those along the ripple */
    flyback_circuit circuit;
    flyback_tank tank;
    flyback_ring ring;
    flyback_cycle cycle;
    flyback_figures figures;
    double weight; /* of the time; sum 1 */
    double share;  /* of its time in which it switches: below 1 in bursts */
    bool rings;
    double near[FLYBACK_PEAKS]; /* A, peaks found last: where to look first; 0: none */
} flyback_node;

typedef struct flyback_plan {
    flyback_node node[FLYBACK_NODES_MAX];
    size_t n;
    int mode, clamp;
    double load;                            /* A */
    double period;                          /* s, fixed frequency */
    int valley, minimum_valley;             /* valley 0: automatic */
    double shortest;                        /* s, of 1 / maximum frequency; 0: none */
    double burst_peak;                      /* A; 0: no bursts */
    double clamp_resistance, clamp_voltage; /* ohm, V */
    flyback_losses losses;
    double default_slope;
} flyback_plan;

/* Time the ring may still take so that the cycle is no shorter than the frequency clamp allows; the valley
 * that comes after it. docs/theory/flyback.md eq. 12 */
static inline int flyback_valley_after(const flyback_plan *p, const flyback_node *node, double wait)
{
    flyback_ring first;
    if (!flyback_ring_to(&node->tank, 2, true, &first)) return 0;
    double half = FLYBACK_PI / first.omega, later;
    if (first.parts == 2)
        later = 1.0 + 0.5 * (wait - first.part[0].duration - first.body) / half;
    else
        later = 0.5 * (wait / half + 1.0);
    double least = p->minimum_valley > 1 ? p->minimum_valley : 1;
    later = fmax(ceil(later * (1.0 - 1e-12)), least);
    return later < 1e6 ? (int)later : 0;
}

/* Ring to `valley` and solve. */
static inline bool flyback_at_valley(const flyback_plan *p, int valley, bool stay, double *near,
                                     flyback_node *node)
{
    if (!flyback_ring_to(&node->tank, valley, stay, &node->ring)) return false;
    node->rings = true;
    if (!flyback_solve_resonant(&node->circuit, &node->ring, p->load, *near, &node->cycle)) return false;
    *near = node->cycle.peak;
    return true;
}

static inline bool flyback_operate_resonant(const flyback_plan *p, flyback_node *node)
{
    double *near = node->near;
    if (p->valley > 0) return flyback_at_valley(p, p->valley, false, &near[FLYBACK_PEAK_RUN], node);
    int least = p->minimum_valley > 1 ? p->minimum_valley : 1;
    if (!flyback_at_valley(p, least, true, &near[FLYBACK_PEAK_FIRST], node)) return false;
    if (!(node->cycle.period < p->shortest)) return true;
    flyback_cycle k;
    double guess = near[FLYBACK_PEAK_CLAMPED] > 0.0 ? near[FLYBACK_PEAK_CLAMPED] : node->cycle.peak;
    if (!flyback_peak_for(&node->circuit, p->load * p->shortest, 0.0, guess, &k)) return false;
    near[FLYBACK_PEAK_CLAMPED] = k.peak;
    if (!(node->tank.capacitance > 0.0)) { /* nothing rings: wait for the clamp */
        node->rings = false;
        return flyback_solve_fixed(&node->circuit, p->shortest, p->load, k.peak, &node->cycle);
    }
    int valley = flyback_valley_after(p, node, p->shortest - k.period);
    if (valley <= least) valley = least + 1;
    enum { MORE = 100 }; /* near the power limit the estimate may fall short */
    for (int n = 0; n < MORE; n++) {
        if (!flyback_at_valley(p, valley, true, &near[FLYBACK_PEAK_RUN], node)) return false;
        if (!(node->cycle.period < p->shortest)) return true;
        valley +=
            1 + (int)fmin(0.4 * (p->shortest - node->cycle.period) * node->ring.omega / FLYBACK_PI, 1e5);
    }
    return false;
}

/* Below the least peak current the stage switches at that current and pauses: the share of the time in which
 * it switches is what the load takes of the full rate. */
static inline bool flyback_burst(const flyback_plan *p, flyback_node *node)
{
    flyback_cycle *k = &node->cycle;
    if (k->continuous || !(p->burst_peak > k->peak)) return true;
    if (!(p->burst_peak < flyback_current_ceiling(&node->circuit))) return false;
    double start = node->rings ? node->ring.current : 0.0;
    flyback_discontinuous(&node->circuit, p->burst_peak, start, k);
    if (p->mode == FLYBACK_RESONANT && node->rings) {
        if (p->valley == 0) {
            int least = p->minimum_valley > 1 ? p->minimum_valley : 1;
            if (!flyback_ring_to(&node->tank, least, true, &node->ring)) return false;
            flyback_discontinuous(&node->circuit, p->burst_peak, node->ring.current, k);
            if (k->period + node->ring.duration < p->shortest) {
                flyback_discontinuous(&node->circuit, p->burst_peak, 0.0, k);
                int valley = flyback_valley_after(p, node, p->shortest - k->period);
                if (valley <= least) valley = least + 1;
                if (!flyback_ring_to(&node->tank, valley, true, &node->ring)) return false;
            }
            flyback_discontinuous(&node->circuit, p->burst_peak, node->ring.current, k);
        }
        k->rest = node->ring.duration;
    } else {
        double period = p->mode == FLYBACK_FIXED ? p->period : p->shortest;
        k->rest = fmax(period - k->period, 0.0);
    }
    k->period += k->rest;
    double share =
        p->load * k->period / k->charge; /* above 1: so near the power limit more peak gives less */
    node->share = fmin(share, 1.0);
    return share > 0.0 && share <= 1.0 + 1e-12;
}

/* Solve every cycle at the present clamp voltage. On failure *at is the node that has no solution. */
static inline bool flyback_operate(flyback_plan *p, size_t *at)
{
    p->losses.clamp_voltage = p->clamp_voltage;
    for (size_t n = 0; n < p->n; n++) {
        flyback_node *node = &p->node[n];
        flyback_cycle *k = &node->cycle;
        node->circuit.clamp = p->clamp_voltage + p->losses.clamp_drop;
        node->share = 1.0;
        node->rings = false;
        *at = n;
        bool solved = p->mode == FLYBACK_FIXED ? flyback_solve_fixed(&node->circuit, p->period, p->load,
                                                                     node->near[FLYBACK_PEAK_RUN], k)
                                               : flyback_operate_resonant(p, node);
        if (!solved) return false;
        if (p->mode == FLYBACK_FIXED) node->near[FLYBACK_PEAK_RUN] = k->continuous ? 0.0 : k->peak;
        if (!flyback_burst(p, node) || !isfinite(k->period + node->share + k->clamp_charge)) return false;
    }
    return true;
}

/* The figures of every cycle; false where the parts are beyond what can be computed. */
static inline bool flyback_measure(flyback_plan *p, size_t *at)
{
    for (size_t n = 0; n < p->n; n++) {
        flyback_node *node = &p->node[n];
        flyback_figures *f = &node->figures;
        *at = n;
        *f = flyback_figures_of(&node->circuit, &node->cycle, node->rings ? &node->ring : NULL, &node->tank,
                                &p->losses, p->default_slope);
        if (!isfinite(f->drawn + f->conduction + f->clamp_energy)) return false;
    }
    return true;
}

/* Mean of a cycle integral over all of the time. */
static inline double flyback_rate_of(const flyback_node *node)
{
    return node->weight * node->share / node->cycle.period;
}

static inline double flyback_clamp_current(const flyback_plan *p)
{
    double sum = 0.0;
    for (size_t n = 0; n < p->n; n++) sum += flyback_rate_of(&p->node[n]) * p->node[n].cycle.clamp_charge;
    return sum;
}

/* What is kept of a point: where to look for the next one nearby. */
typedef struct flyback_kept {
    double clamp_voltage, clamp_slope; /* V; how the balance's miss changes with it */
    double peak[FLYBACK_NODES_MAX][FLYBACK_PEAKS];
} flyback_kept;

/* The clamp's resistor takes Vcl / R in the mean: V (V - V0) = K R with K = I (V - V0) nearly constant, so
 * solved for V again and again, with secants.
 * source: the balance as in R. Ridley, Flyback Snubber Design, 2005, with the exact charge */
static inline bool flyback_balance_clamp(flyback_plan *p, flyback_kept *kept, size_t *at)
{
    double floor_voltage = flyback_least_clamp(&p->node[0].circuit) - p->losses.clamp_drop;
    double low = fmax(floor_voltage, 0.0), high = INFINITY, v = 1.5 * low + 1.0, last_v = 0.0,
           last_g = INFINITY;
    double slope = -1.0, before_g = INFINITY; /* the miss two steps ago: bisect where secants gain nothing */
    if (kept->clamp_voltage > low && isfinite(kept->clamp_slope)) {
        v = kept->clamp_voltage;
        slope = fmin(kept->clamp_slope, -0.1);
    }
    for (int n = 0; n < 100; n++) {
        p->clamp_voltage = kept->clamp_voltage = v;
        if (!flyback_operate(p, at)) return false;
        double k = flyback_clamp_current(p) * (v - floor_voltage);
        double g =
            0.5 * (floor_voltage + sqrt(floor_voltage * floor_voltage + 4.0 * k * p->clamp_resistance)) - v;
        bool stuck = fabs(g) > 0.5 * fabs(before_g);
        if (fabs(g) <= 2e-14 * v || (stuck && fabs(g) <= 1e-12 * v) || high - low <= 1e-15 * v) return true;
        if (g > 0.0)
            low = v;
        else
            high = v;
        if (n > 0 && g != last_g) slope = (g - last_g) / (v - last_v);
        kept->clamp_slope = slope;
        double next = v - g / slope;
        if (!(next > low && next < high) || (stuck && high < INFINITY))
            next = high < INFINITY ? 0.5 * (low + high) : v + g;
        if (next == v) return true;
        last_v = v;
        before_g = last_g;
        last_g = g;
        v = next;
    }
    return true;
}

/* All cycles and their figures, from what was kept of a point nearby. */
static inline bool flyback_plan_solve(flyback_plan *p, flyback_kept *memory, size_t *at)
{
    flyback_kept none = {0}, *kept = memory ? memory : &none;
    for (size_t n = 0; n < p->n; n++) memcpy(p->node[n].near, kept->peak[n], sizeof p->node[n].near);
    bool solved = p->clamp == FLYBACK_RESISTOR ? flyback_balance_clamp(p, kept, at) : flyback_operate(p, at);
    if (!solved) return false;
    for (size_t n = 0; n < p->n; n++) memcpy(kept->peak[n], p->node[n].near, sizeof p->node[n].near);
    return flyback_measure(p, at);
}

#endif
