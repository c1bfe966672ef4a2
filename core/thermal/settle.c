/* settle.c - the slow way to a steady state, for when Newton's method finds none.
 *
 * Implicit steps in an artificial time from the surroundings upward.  Heat that rises with
 * temperature makes this climb monotone, towards the lowest steady state if there is one and
 * past every bound if there is none (Kelley & Keyes 1998, SIAM J. Numer. Anal. 35, for the
 * method; monotone systems after H. L. Smith 1995).  So its end tells a run-away from a hard start. */
#include "thermal/work.h"

#include <math.h>
#include <string.h>

enum { STEPS_MAX = 3000 };

static const double hottest = 2000.0;    /* K */
static const double longest_step = 60.0; /* K in one step */
static const double careful_step = 1.0;  /* K, across the border where feedback overtakes the links */
static const double least_difference = 1e-4;

typedef struct climb {
    hl_network_work *work;
    hl_heat heat;
    void *context;
    double pace; /* artificial time step, in units of each node's own time constant */
    bool stable; /* at the present point */
} climb;

/* A scale of time for each node: its links' conductance, at least a thousandth of the strongest. */
static void set_inertia(hl_network_work *work)
{
    double strongest = 0;
    work_assemble_links(work, 5.0);
    for (int i = 0; i < work->n; i++) {
        work->mode[i] = work->value[work->diagonal[i]];
        strongest = fmax(strongest, work->mode[i]);
    }
    for (int i = 0; i < work->n; i++)
        work->mode[i] = fmax(work->mode[i], strongest > 0 ? 1e-3 * strongest : 1.0);
}

/* Cooled to nothing: more heat is drawn than the links bring. */
static bool is_frozen(const hl_network_work *work)
{
    for (int i = 0; i < work->n; i++)
        if (!(work->temperature[i] > 1.0)) return true;
    return false;
}

static double greatest(const double vector[], int n)
{
    double most = 0;
    for (int i = 0; i < n; i++)
        if (!(fabs(vector[i]) <= most)) most = fabs(vector[i]);
    return most;
}

/* Is the present point one where feedback is weaker than the links? Destroys the values. */
static bool is_stable(climb *c)
{
    return work_factor(c->work);
}

static void add_inertia(hl_network_work *work, double pace)
{
    for (int i = 0; i < work->n; i++) work->value[work->diagonal[i]] += work->mode[i] / pace;
}

static void go_back(climb *c)
{
    hl_network_work *work = c->work;
    memcpy(work->temperature, work->kept, (size_t)work->n * sizeof(double));
    work_assemble(work, c->heat, c->context, 0, least_difference);
    c->pace *= 0.25;
}

/* One step; false when it had to be given up and the pace cut. */
static bool advance(climb *c)
{
    hl_network_work *work = c->work;
    int n = work->n;
    memcpy(work->kept, work->temperature, (size_t)n * sizeof(double));
    add_inertia(work, c->pace);
    for (int i = 0; i < n; i++) work->step[i] = -work->residual[i];
    bool good = work_factor(work);
    if (good) work_solve(work, work->step);
    double change = good ? greatest(work->step, n) : INFINITY;
    if (!(change <= longest_step)) {
        go_back(c);
        return false;
    }
    for (int i = 0; i < n; i++)
        work->temperature[i] = fmax(work->temperature[i] + work->step[i], 0.5 * work->temperature[i]);
    if (!work_assemble(work, c->heat, c->context, 0, least_difference)) {
        go_back(c);
        return false;
    }
    bool stable = is_stable(c);
    if (c->stable && !stable && change > careful_step) {
        go_back(c);
        return false;
    }
    c->stable = stable;
    c->pace *= change < 0.5 * longest_step ? 2.0 : 1.0;
    return true;
}

hl_status work_settle(hl_network_work *work, hl_heat heat, void *context)
{
    climb c = {work, heat, context, 0.1, true};
    for (int i = 0; i < work->n; i++) work->temperature[i] = work->ambient;
    set_inertia(work);
    if (!work_assemble(work, heat, context, 0, least_difference)) return HL_BAD_INPUT;
    c.stable = is_stable(&c);
    for (int k = 0; k < STEPS_MAX && c.pace > 1e-90; k++) {
        if (c.stable && work_imbalance(work) <= work_tolerance(work)) return HL_OK;
        advance(&c);
        if (!(greatest(work->temperature, work->n) <= hottest)) return HL_RUNAWAY;
        if (is_frozen(work)) return HL_NO_SOLUTION;
    }
    return HL_NO_SOLUTION;
}
