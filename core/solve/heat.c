/* heat.c - between parts and nodes: losses into the network, temperatures back to the parts. */
#include "solve/heat.h"

#include <math.h>
#include <string.h>

enum { WALKS_MAX = 60 };

static const double settled = 1e-10; /* of the power */

/* What is lost outside of the hot spot: in the core around the windings.  Its figure is that at the hot spot.
 */
static double outer_watts(const design_item *item, const hl_loss *loss)
{
    bool wound = item->outer >= 0 && item->set.model->device->family == HL_FAMILY_MAGNETIC;
    return wound ? loss->watts[HL_CORE] : 0;
}

/* Watts booked to one part that warm another of its stage.  They rise with the temperature of the first,
 * which the slope of neither node tells. */
static void warm_others(hl_workspace *work, size_t stage)
{
    const hl_design *design = work->design;
    for (size_t s = 0, n = slots_of(&design->stages[stage]); s < n; s++) {
        const hl_stage_output *out = &work->stages[stage].out;
        if (!out->heats[s]) continue;
        int item = design->stages[stage].item[s], other = slot_warms(work, stage, s);
        if (item < 0 || other < 0 || other == item) continue;
        int from = design->items[item].shown.node, to = design->items[other].shown.node;
        double count = design->items[item].shown.count;
        double watts = count * loss_watts_of(&work->items[item].loss, out->heats_by[s]);
        if (to < 0 || from < 0) continue;
        work->power[from] -= watts;
        work->power[to] += watts;
        work->slope[from] -= work->items[item].sent_slope * count;
        work->sent[from] += 0.5 * fabs(work->items[item].sent_slope) * count;
        work->sent[to] += 0.5 * fabs(work->items[item].sent_slope) * count;
    }
}

void heat_gather(hl_workspace *work)
{
    const hl_design *design = work->design;
    size_t n = hl_network_nodes(design->network);
    memset(work->power, 0, n * sizeof *work->power);
    memset(work->slope, 0, n * sizeof *work->slope);
    memset(work->sent, 0, n * sizeof *work->sent);
    for (size_t i = 0; i < design->n_items; i++) {
        int node = design->items[i].shown.node;
        if (node < 0) continue;
        const hl_loss *loss = &work->items[i].loss;
        double count = design->items[i].shown.count, outside = outer_watts(&design->items[i], loss) * count;
        work->power[node] += work->items[i].watts * count - outside;
        if (outside > 0) work->power[design->items[i].outer] += outside;
        work->slope[node] += loss->slope * design->items[i].shown.count;
    }
    for (size_t i = 0; i < design->n_stages; i++) {
        const design_stage *stage = &design->stages[i];
        int nodes = stage->node >= 0 ? stage->n_nodes : 0;
        double each = nodes > 0 ? work->stages[i].out.own_loss / nodes : 0;
        for (int k = 0; k < nodes; k++) work->power[stage->node + k] += each;
        warm_others(work, i);
    }
    heat_stand(work);
}

void heat_stand(hl_workspace *work)
{
    memcpy(work->base, work->temperature, hl_design_nodes(work->design) * sizeof *work->base);
}

void heat_share(hl_workspace *work)
{
    const hl_design *design = work->design;
    for (size_t i = 0; i < design->n_items; i++) {
        int node = design->items[i].shown.node;
        work->items[i].temperature = node < 0 ? work->surroundings.temperature : work->temperature[node];
    }
}

hl_stage_status heat_balance(hl_workspace *work, bool fresh, size_t *failed)
{
    heat_share(work);
    if (fresh) electrical_begin(work);
    for (unsigned walk = 0; walk < WALKS_MAX; walk++) {
        double change = 0;
        hl_stage_status status = electrical_pass(work, walk, &change, failed);
        if (status != HL_STAGE_SOLVED) return status;
        if (walk > 0 && change <= settled) break;
    }
    heat_gather(work);
    return HL_STAGE_SOLVED;
}
