/* document.c - a result as a tree: keys and units of the schema heatledger.result/1. */
#include "lua/document.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lua/json_tree.h"
#include "lua/lua_heat.h"

static const double kelvin = 273.15;

static json_t *settings_of(const hl_design *design, const double settings[])
{
    json_t *object = json_object();
    for (size_t i = 0; i < hl_design_settings(design); i++) {
        if (isnan(settings[i])) continue;
        const hl_parameter *parameter = hl_design_setting(design, i);
        const char *name = hl_design_setting_name(design, i);
        if (parameter->kind == HL_CHOICE)
            object = tree_put(object, name, json_string(parameter->choices[(size_t)settings[i]]));
        else if (!strcmp(parameter->dimension, "degC")) {
            char key[160];
            snprintf(key, sizeof key, "%s_c", name);
            object = tree_put(object, key, tree_number(settings[i] - kelvin));
        } else
            object = tree_put(object, name, tree_number(settings[i]));
    }
    return object;
}

static json_t *power_of(const hl_workspace *workspace)
{
    const hl_power_figures *f = hl_result_power(workspace);
    return json_pack("{s:o, s:o, s:o, s:o, s:o}", "input_w", tree_number(f->input), "output_w",
                     tree_number(f->output), "loss_w", tree_number(f->loss), "efficiency",
                     tree_number(f->efficiency), "power_factor", tree_number(f->power_factor));
}

static json_t *ledger_of(const hl_design *design, const hl_workspace *workspace)
{
    json_t *ledger = json_array();
    for (size_t i = 0; i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        for (int m = 0; m < HL_MECHANISMS; m++) {
            double watts = hl_result_loss(workspace, i, (hl_mechanism)m);
            if (watts == 0) continue;
            size_t warmed = hl_result_heats(workspace, i, (hl_mechanism)m);
            ledger = tree_append(
                ledger, json_pack("{s:s, s:s, s:s, s:o, s:s}", "stage", item->stage, "part", item->slot,
                                  "mechanism", hl_mechanism_name((hl_mechanism)m), "loss_w",
                                  tree_number(watts), "warms", hl_design_item(design, warmed)->name));
        }
    }
    for (size_t s = 0; s < hl_design_stages(design); s++) {
        const char *name;
        double watts = hl_result_own(workspace, s, &name);
        if (watts != 0)
            ledger = tree_append(ledger,
                                 json_pack("{s:s, s:s, s:s, s:o}", "stage", hl_design_stage_name(design, s),
                                           "part", name, "mechanism", "other", "loss_w", tree_number(watts)));
    }
    return ledger;
}

static json_t *headroom_list(const hl_headroom headroom[], size_t n)
{
    json_t *list = json_array();
    for (size_t k = 0; k < n; k++) {
        double shift = strcmp(headroom[k].limit.unit, "degC") ? 0.0 : kelvin;
        list = tree_append(list, json_pack("{s:s, s:o, s:o, s:s, s:o}", "limit", headroom[k].limit.name,
                                           "value", tree_number(headroom[k].limit.value - shift), "rated",
                                           tree_number(headroom[k].limit.rated - shift), "unit",
                                           headroom[k].limit.unit, "used", tree_number(headroom[k].used)));
    }
    return list;
}

static json_t *headroom_of(const hl_workspace *workspace, size_t holder)
{
    hl_headroom headroom[HL_HOLDER_LIMITS_MAX] = {0};
    return headroom_list(headroom,
                         hl_result_holder_headroom(workspace, holder, headroom, HL_HOLDER_LIMITS_MAX));
}

static json_t *parts_of(const hl_design *design, hl_workspace *workspace, const hl_reliance *reliance)
{
    json_t *list = json_array();
    for (size_t i = 0; i < hl_design_items(design); i++) {
        const hl_item *item = hl_result_item(workspace, i);
        list = tree_append(
            list, json_pack("{s:s, s:s, s:s, s:s, s:i, s:o, s:o, s:o, s:o, s:o, s:o}", "stage", item->stage,
                            "slot", item->slot, "part", hl_part_name(item->part), "model",
                            hl_part_model(item->part)->name, "count", (int)item->count, "temperature_c",
                            tree_number(hl_result_item_temperature(workspace, i) - kelvin), "loss_w",
                            tree_number(hl_result_item_loss(workspace, i)), "headroom",
                            headroom_of(workspace, i), "estimated_share", tree_number(reliance[i].loss_share),
                            "estimated_loss_w", tree_number(reliance[i].loss), "estimated_temperature_k",
                            tree_number(reliance[i].temperature)));
    }
    return list;
}

static json_t *quantities_of(const hl_workspace *workspace, size_t stage)
{
    json_t *object = json_object();
    for (size_t k = 0; k < hl_result_quantities(workspace, stage); k++) {
        const hl_quantity *quantity = hl_result_quantity(workspace, stage, k);
        object =
            tree_put(object, quantity->name,
                     json_pack("{s:o, s:s}", "value", tree_number(quantity->value), "unit", quantity->unit));
    }
    return object;
}

static json_t *stages_of(const hl_design *design, const hl_workspace *workspace)
{
    json_t *list = json_array();
    size_t first = hl_design_items(design) + hl_design_nodes(design);
    for (size_t s = 0; s < hl_design_stages(design); s++)
        list = tree_append(
            list, json_pack("{s:s, s:s, s:o, s:o, s:o, s:o}", "stage", hl_design_stage_name(design, s),
                            "model", hl_design_stage_model(design, s)->name, "input_w",
                            tree_number(hl_result_stage_input(workspace, s)), "output_w",
                            tree_number(hl_result_stage_output(workspace, s)), "quantities",
                            quantities_of(workspace, s), "headroom", headroom_of(workspace, first + s)));
    return list;
}

static json_t *ports_of(const hl_design *design, const hl_workspace *workspace)
{
    json_t *list = json_array();
    for (size_t p = 0; p < hl_design_ports(design); p++) {
        double voltage = hl_result_port_voltage(workspace, p), current = hl_result_port_current(workspace, p);
        list = tree_append(
            list, json_pack("{s:s, s:s, s:o, s:o, s:o}", "port", hl_design_port_name(design, p), "stage",
                            hl_design_stage_name(design, (size_t)hl_design_port_stage(design, p)),
                            "voltage_v", tree_number(voltage), "current_a", tree_number(current), "power_w",
                            tree_number(voltage * current)));
    }
    return list;
}

/* A rms of harmonics 1 to 40 of the mains current, the first one first; empty on dc. */
static json_t *mains_harmonics_of(const hl_workspace *workspace)
{
    enum { ORDERS = 40 }; /* as many as the standards of mains current limit */
    double rms[ORDERS];
    json_t *list = json_array();
    if (hl_result_mains_harmonics(workspace, ORDERS, rms) != HL_OK || !(rms[0] > 0)) return list;
    for (size_t k = 0; k < ORDERS; k++) list = tree_append(list, tree_number(rms[k]));
    return list;
}

static json_t *point_of(const double place[3])
{
    return json_pack("[f, f, f]", place[0], place[1], place[2]);
}

/* Faces and patches of a box whose heat field was solved: heatledger.result/1, "case"; empty otherwise. */
static json_t *case_of(const hl_workspace *workspace)
{
    json_t *list = json_array(), *patches[HL_FACES] = {NULL};
    hl_field_face face;
    for (int f = 0; f < HL_FACES && hl_result_face(workspace, (hl_face)f, &face); f++) {
        patches[f] = json_array();
        list = tree_append(list, json_pack("{s:s, s:o, s:o, s:o, s:o, s:o}", "face", hl_face_name((hl_face)f),
                                           "mean_c", tree_number(face.mean - kelvin), "maximum_c",
                                           tree_number(face.hottest.temperature - kelvin), "at_m",
                                           point_of(face.hottest.place), "heat_w", tree_number(face.heat),
                                           "patches", patches[f]));
    }
    for (size_t i = 0; list && i < hl_result_patches(workspace); i++) {
        hl_field_patch patch;
        hl_result_patch(workspace, i, &patch);
        json_t *of =
            json_pack("{s:o, s:o, s:o, s:o}", "low_m", point_of(patch.low), "high_m", point_of(patch.high),
                      "temperature_c", tree_number(patch.mean - kelvin), "heat_w", tree_number(patch.heat));
        if (json_array_append_new(patches[patch.face], of) == 0) continue;
        json_decref(list); /* the patches of all faces among it */
        return NULL;
    }
    return list;
}

static json_t *nodes_of(const hl_design *design, const hl_workspace *workspace)
{
    json_t *list = json_array();
    for (size_t i = 0; i < hl_design_nodes(design); i++) {
        hl_headroom headroom[HL_LIMITS_MAX];
        size_t n = hl_result_node_headroom(workspace, i, headroom, HL_LIMITS_MAX);
        json_t *node = json_pack("{s:s, s:o, s:o}", "node", hl_design_node_name(design, i), "temperature_c",
                                 tree_number(hl_result_node_temperature(workspace, i) - kelvin), "heat_w",
                                 tree_number(hl_result_node_heat(workspace, i)));
        if (node && n) node = tree_put(node, "headroom", headroom_list(headroom, n));
        list = tree_append(list, node);
    }
    return list;
}

static json_t *warnings_of(const hl_workspace *workspace, const hl_diagnostics *extra)
{
    json_t *list = json_array();
    for (size_t i = 0; extra && i < hl_diagnostics_count(extra); i++)
        list = tree_append(list, tree_text(hl_diagnostics_text(extra, i)));
    hl_diagnostics *own = hl_diagnostics_create();
    if (!own) {
        json_decref(list);
        return NULL;
    }
    hl_result_warnings(workspace, own);
    for (size_t i = 0; i < hl_diagnostics_count(own); i++)
        list = tree_append(list, tree_text(hl_diagnostics_text(own, i)));
    hl_diagnostics_destroy(own);
    return list;
}

/* How much rests on estimates: of each part beside its figures, of the whole in a place of its own. */
static json_t *with_parts(json_t *root, const hl_design *design, hl_workspace *workspace)
{
    hl_reliance total = {0, 0, 0, 0};
    hl_reliance *reliance = calloc(hl_design_items(design) + 1, sizeof *reliance);
    bool known = reliance && hl_result_reliance(workspace, reliance, &total) == HL_OK;
    root = tree_put(root, "parts", known ? parts_of(design, workspace, reliance) : NULL);
    root = tree_put(root, "estimates",
                    json_pack("{s:o, s:o, s:o, s:o}", "loss_w", tree_number(total.loss), "loss_share",
                              tree_number(total.loss_share), "temperature_k", tree_number(total.temperature),
                              "temperature_share", tree_number(total.temperature_share)));
    free(reliance);
    return root;
}

json_t *document_of(const hl_design *design, hl_workspace *workspace, const double settings[], bool ways,
                    const hl_diagnostics *extra)
{
    static const char *const outcomes[] = {"solved", "infeasible", "runaway"};
    hl_outcome outcome = hl_result_outcome(workspace);
    const hl_power_figures *f = hl_result_power(workspace);
    int leader;
    double gain = hl_result_feedback_gain(workspace, &leader);
    bool solved = outcome == HL_SOLVED;
    json_t *root = json_pack("{s:s, s:s, s:o, s:s, s:o}", "schema", "heatledger.result/1", "design",
                             hl_design_name(design), "settings", settings_of(design, settings), "status",
                             outcomes[outcome], "reason", tree_text(hl_result_reason(workspace)));
    if (!root) return NULL;
    /* Without a solution there are no figures, and none are shown. */
    root = tree_put(root, "power", solved ? power_of(workspace) : json_null());
    root = tree_put(root, "ledger", solved ? ledger_of(design, workspace) : json_array());
    if (solved)
        root = with_parts(root, design, workspace);
    else
        root = tree_put(root, "parts", json_array());
    root = tree_put(root, "stages", solved ? stages_of(design, workspace) : json_array());
    root = tree_put(root, "ports", solved ? ports_of(design, workspace) : json_array());
    root = tree_put(root, "mains_harmonics_a", solved ? mains_harmonics_of(workspace) : json_array());
    root = tree_put(root, "case", solved ? case_of(workspace) : json_array());
    root = tree_put(root, "nodes", solved ? nodes_of(design, workspace) : json_array());
    root =
        tree_put(root, "heat_paths", solved && ways ? heat_paths_document(design, workspace) : json_array());
    root = tree_put(root, "books",
                    solved ? json_pack("{s:o, s:o}", "power_imbalance_w", tree_number(f->power_imbalance),
                                       "heat_imbalance_w", tree_number(f->heat_imbalance))
                           : json_null());
    root = tree_put(root, "feedback_gain", solved ? tree_number(gain) : json_null());
    root = tree_put(root, "feedback_leader",
                    leader >= 0 ? json_string(hl_design_node_name(design, (size_t)leader)) : json_null());
    root = tree_put(root, "iterations", json_integer(f->passes));
    root = tree_put(root, "warnings", solved ? warnings_of(workspace, extra) : json_array());
    return root;
}
