/* result.c - reading the point a workspace solved last. */
#include "solve/workspace.h"

#include <math.h>
#include <string.h>

hl_outcome hl_result_outcome(const hl_workspace *workspace)
{
    return workspace->outcome;
}

const char *hl_result_reason(const hl_workspace *workspace)
{
    return workspace->reason;
}

const hl_power_figures *hl_result_power(const hl_workspace *workspace)
{
    return &workspace->figures;
}

const hl_design *hl_workspace_design(const hl_workspace *workspace)
{
    return workspace->design;
}

const hl_item *hl_result_item(const hl_workspace *workspace, size_t item)
{
    return item < workspace->design->n_items ? &workspace->design->items[item].shown : NULL;
}

double hl_result_loss(const hl_workspace *workspace, size_t item, hl_mechanism mechanism)
{
    if (item >= workspace->design->n_items || (unsigned)mechanism >= HL_MECHANISMS) return 0;
    return workspace->items[item].loss.watts[mechanism] * workspace->design->items[item].shown.count;
}

size_t hl_result_heats(const hl_workspace *workspace, size_t item, hl_mechanism mechanism)
{
    if (item >= workspace->design->n_items || (unsigned)mechanism >= HL_MECHANISMS) return item;
    return item_heats(workspace, item, mechanism);
}

double hl_result_item_loss(const hl_workspace *workspace, size_t item)
{
    double watts = 0;
    for (int m = 0; m < HL_MECHANISMS; m++) watts += hl_result_loss(workspace, item, (hl_mechanism)m);
    return watts;
}

double hl_result_item_temperature(const hl_workspace *workspace, size_t item)
{
    if (workspace->outcome != HL_SOLVED || item >= workspace->design->n_items) return NAN;
    return workspace->items[item].temperature;
}

uint32_t hl_result_item_flags(const hl_workspace *workspace, size_t item)
{
    return item < workspace->design->n_items ? workspace->items[item].loss.flags : 0;
}

double hl_result_own(const hl_workspace *workspace, size_t stage, const char **name)
{
    const hl_stage_output *out = &workspace->stages[stage].out;
    if (name) *name = out->own_name ? out->own_name : "controller";
    return out->own_loss;
}

double hl_result_stage_input(const hl_workspace *workspace, size_t stage)
{
    return workspace->stages[stage].input_power;
}

double hl_result_stage_output(const hl_workspace *workspace, size_t stage)
{
    return workspace->stages[stage].out.output.power;
}

size_t hl_result_quantities(const hl_workspace *workspace, size_t stage)
{
    size_t n = workspace->stages[stage].out.quantities;
    return n < HL_QUANTITIES_MAX ? n : HL_QUANTITIES_MAX;
}

const hl_quantity *hl_result_quantity(const hl_workspace *workspace, size_t stage, size_t index)
{
    told_quantities(workspace);
    return index < hl_result_quantities(workspace, stage) ? &workspace->stages[stage].out.quantity[index]
                                                          : NULL;
}

double hl_result_port_voltage(const hl_workspace *workspace, size_t port)
{
    return workspace->stages[workspace->design->ports[port].stage].voltage;
}

double hl_result_port_current(const hl_workspace *workspace, size_t port)
{
    return workspace->settings[SETTING_LOAD] *
           workspace->settings[workspace->design->ports[port].current_setting];
}

double hl_result_node_temperature(const hl_workspace *workspace, size_t node)
{
    if (workspace->outcome != HL_SOLVED || node >= hl_design_nodes(workspace->design)) return NAN;
    return workspace->temperature[node];
}

double hl_result_node_heat(const hl_workspace *workspace, size_t node)
{
    return node < hl_design_nodes(workspace->design) ? workspace->power[node] : 0;
}

const hl_surroundings *hl_result_surroundings(const hl_workspace *workspace)
{
    return &workspace->surroundings;
}
