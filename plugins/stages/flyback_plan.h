/* flyback_plan.h - all cycles of one operating point: along the bus ripple, with their valleys and bursts,
 * at given clamp voltages. */
#ifndef FLYBACK_PLAN_H
#define FLYBACK_PLAN_H

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
    double clamp_voltage;           /* V of the clamp while the leakage resets, mean by charge */
    double clamp_start, clamp_peak; /* V as the switch turns off; when the leakage is reset */
    double near[FLYBACK_PEAKS];     /* A, peaks found last: where to look first; 0: none */
} flyback_node;

typedef struct flyback_plan {
    flyback_node node[FLYBACK_NODES_MAX];
    size_t n;
    int mode, clamp;
    double load;                                /* A */
    double period;                              /* s, fixed frequency */
    int valley, minimum_valley;                 /* valley 0: automatic; minimum at least 1 */
    double shortest;                            /* s, of 1 / maximum frequency; 0: none */
    double border_shift;                        /* 1, by which that is longer, where valleys alternate */
    double burst_peak;                          /* A; 0: no bursts */
    double clamp_resistance, clamp_capacitance; /* ohm, F; 0: so large that its voltage stands */
    double clamp_voltage;                       /* V, stated, or the mean over the time */
    flyback_losses losses;
    double default_slope;
    double others; /* F at the drain that neither switch nor rectifier books as its own */
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
    later = fmax(ceil(later * (1.0 - 1e-12)), p->minimum_valley);
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
    int least = p->minimum_valley;
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
            int least = p->minimum_valley;
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

/* Solve one cycle at a clamp voltage and the fill its circuit states. */
static inline bool flyback_operate_node(const flyback_plan *p, flyback_node *node, double clamp_voltage)
{
    flyback_cycle *k = &node->cycle;
    node->clamp_voltage = node->clamp_start = node->clamp_peak = clamp_voltage;
    node->circuit.clamp = clamp_voltage + p->losses.clamp_drop;
    node->circuit.clamp_rise = 0.0;
    node->share = 1.0;
    node->rings = false;
    bool solved = p->mode == FLYBACK_FIXED ? flyback_solve_fixed(&node->circuit, p->period, p->load,
                                                                 node->near[FLYBACK_PEAK_RUN], k)
                                           : flyback_operate_resonant(p, node);
    if (!solved) return false;
    if (p->mode == FLYBACK_FIXED) node->near[FLYBACK_PEAK_RUN] = k->continuous ? 0.0 : k->peak;
    return flyback_burst(p, node) && isfinite(k->period) && isfinite(node->share) &&
           isfinite(k->clamp_charge);
}

/* Solve every cycle at one clamp voltage. On failure *at is the node that has no solution. */
static inline bool flyback_operate(flyback_plan *p, double clamp_voltage, size_t *at)
{
    for (size_t n = 0; n < p->n; n++) {
        *at = n;
        if (!flyback_operate_node(p, &p->node[n], clamp_voltage)) return false;
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
        if (!isfinite(f->drawn) || !isfinite(f->conduction) || !isfinite(f->clamp_energy)) return false;
    }
    return true;
}

/* Mean of a cycle integral over all of the time. */
static inline double flyback_rate_of(const flyback_node *node)
{
    return node->weight * node->share / node->cycle.period;
}

static inline double flyback_highest_frequency(const flyback_plan *p)
{
    double most = 0.0;
    for (size_t n = 0; n < p->n; n++) most = fmax(most, 1.0 / p->node[n].cycle.period);
    return most;
}

static inline double flyback_clamp_current(const flyback_plan *p)
{
    double sum = 0.0;
    for (size_t n = 0; n < p->n; n++)
        sum += flyback_rate_of(&p->node[n]) * (p->node[n].cycle.clamp_charge + p->node[n].cycle.filled);
    return sum;
}

#endif
