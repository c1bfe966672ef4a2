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
    return item->set.model->device->family == HL_FAMILY_MAGNETIC ? loss->watts[HL_CORE] : 0;
}

/* Heat of one part, all of its count, into its node or nodes. */
static void gather_item(hl_workspace *work, const design_item *item, const item_state *state)
{
    int node = item->shown.node;
    if (node < 0) return;
    double count = item->shown.count, watts = state->watts * count;
    if (item->outer >= 0) {
        double outside = outer_watts(item, &state->loss) * count;
        watts -= outside;
        if (outside > 0) work->power[item->outer] += outside;
    }
    work->power[node] += watts;
    work->slope[node] += state->loss.slope * count;
}

/* Heat of a stage that belongs to no part. */
static void gather_stage(hl_workspace *work, const design_stage *stage, double own_loss)
{
    if (stage->node < 0 || stage->n_nodes <= 0 || own_loss == 0) return;
    double each = own_loss / stage->n_nodes, *power = work->power + stage->node;
    for (int k = 0, nodes = stage->n_nodes; k < nodes; k++) power[k] += each;
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
    for (size_t i = 0; i < design->n_items; i++) gather_item(work, &design->items[i], &work->items[i]);
    for (size_t i = 0; i < design->n_stages; i++) {
        gather_stage(work, &design->stages[i], work->stages[i].out.own_loss);
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
    const double room = work->surroundings.temperature, *temperature = work->temperature;
    for (size_t i = 0, n = design->n_items; i < n; i++) {
        int node = design->items[i].shown.node;
        work->items[i].temperature = node < 0 ? room : temperature[node];
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
