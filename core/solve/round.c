/* round.c - one round of a point: a walk over the circuit, then a Newton step in the thermal network with
 * every loss linearised about the temperatures it was booked at, P + dP/dT (T - T0), so that the feedback of
 * temperature on loss is taken inside the network. */
#include "solve/round.h"

#include <math.h>
#include <string.h>

#include "solve/field_step.h"
#include "solve/heat.h"
#include "thermal/repeat.h"

static void linear_heat(void *context, double time, const double temperature[], double power[],
                        double slope[])
{
    const hl_workspace *work = context;
    (void)time;
    size_t n = hl_network_nodes(work->design->network);
    for (size_t i = 0; i < n; i++) {
        power[i] = work->power[i] + work->slope[i] * (temperature[i] - work->base[i]);
        slope[i] = work->slope[i];
    }
}

static void constant_heat(void *context, double time, const double temperature[], double power[],
                          double slope[])
{
    const hl_workspace *work = context;
    (void)time, (void)temperature;
    size_t n = hl_network_nodes(work->design->network);
    for (size_t i = 0; i < n; i++) {
        power[i] = work->power[i];
        slope[i] = 0;
    }
}

static bool heat_is_finite(const hl_workspace *work)
{
    size_t n = hl_network_nodes(work->design->network);
    for (size_t i = 0; i < n; i++)
        if (!isfinite(work->power[i]) || !isfinite(work->slope[i])) return false;
    return true;
}

hl_status round_stand_still(hl_workspace *work)
{
    if (work->field) return field_stand_still(work);
    memcpy(work->temperature, work->base, hl_network_nodes(work->design->network) * sizeof *work->base);
    return hl_network_steady(work->network, &work->surroundings, constant_heat, work, work->temperature);
}

/* The network in balance.  `open`: what the last round left, as a share; balancing the network much finer
 * would be for nothing, and the step itself is what tells the end.  HL_RUNAWAY: no balance. */
static hl_status network_balance(hl_workspace *work, bool hurry, bool first, double open)
{
    hl_status status = HL_OK;
    if (first || !hurry ||
        !network_step(work->network, &work->surroundings, linear_heat, work, work->temperature))
        status = network_steady_within(work->network, &work->surroundings, linear_heat, work,
                                       hurry && first ? 1e-2 : 1e-3 * fmin(open, 1e-2), work->temperature);
    if (hurry && status != HL_OK) return HL_RUNAWAY;
    if (status == HL_RUNAWAY ||
        status == HL_NO_SOLUTION) { /* the slope outweighs the links: step without it */
        status = round_stand_still(work);
    }
    return status == HL_NO_SOLUTION ? HL_RUNAWAY : status;
}

/* New temperatures; *change in K.  HL_RUNAWAY: no balance, or hotter than any part survives. */
static hl_status thermal_step(hl_workspace *work, bool hurry, bool first, double open, double *change)
{
    size_t n = hl_network_nodes(work->design->network);
    heat_gather(work);
    if (!heat_is_finite(work)) return HL_RUNAWAY;
    hl_status status = work->field ? field_step(work) : network_balance(work, hurry, first, open);
    if (status != HL_OK) return status;
    *change = 0;
    double hottest = 0;
    for (size_t i = 0; i < n; i++) {
        double moved = fabs(work->temperature[i] - work->base[i]);
        if (moved > *change) *change = moved;
        if (work->temperature[i] > hottest) hottest = work->temperature[i];
    }
    heat_share(work);
    return hottest > DESTROYED ? HL_RUNAWAY : HL_OK;
}

/* ----------------------------------------------------------------- round -- */

size_t round_unknowns(const hl_design *design)
{
    return 3 * design->n_stages + hl_design_nodes(design);
}

void round_pack(const hl_workspace *work, double handed[])
{
    for (size_t i = 0; i < work->design->n_stages; i++, handed += 3) {
        const stage_state *stage = &work->stages[i];
        handed[0] = stage->extra;
        handed[1] = stage->bus_drawn;
        handed[2] = stage->voltage;
    }
    memcpy(handed, work->temperature, hl_design_nodes(work->design) * sizeof *handed);
}

void round_unpack(hl_workspace *work, const double handed[])
{
    for (size_t i = 0; i < work->design->n_stages; i++, handed += 3) {
        stage_state *stage = &work->stages[i];
        stage->extra = handed[0];
        stage->bus_drawn = handed[1];
        stage->voltage = handed[2];
    }
    memcpy(work->temperature, handed, hl_design_nodes(work->design) * sizeof *handed);
    heat_share(work);
}

hl_stage_status round_make(hl_workspace *work, const round_way *way, round_end *end)
{
    memset(end, 0, sizeof *end);
    hl_stage_status stage = electrical_pass(work, way->walk, &end->electrical, &end->failed);
    work->figures.passes++;
    work->times.passes++;
    if (stage != HL_STAGE_SOLVED || !(work->network || work->field)) return stage;
    double began = times_now(work);
    end->heat = thermal_step(work, way->hurry, way->first, way->open, &end->thermal);
    times_add(work, &work->times.network, began);
    if (end->heat == HL_OK) electrical_foresee(work);
    return stage;
}

hl_status round_rebalance(hl_workspace *work)
{
    double change;
    return work->network ? thermal_step(work, true, false, 1e-2, &change) : HL_OK;
}
