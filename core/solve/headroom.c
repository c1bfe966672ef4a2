/* headroom.c - how near each part is to its ratings, what to warn of. */
#include "design/limits.h"
#include "heatledger/limits.h"
#include "solve/workspace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "diagnostic/joined.h"
#include "heatledger/trace.h"
#include "plugin/calling.h"
#include "quantity/float_state.h"
#include "thermal/law.h"

/* A temperature uses up the rise it is allowed above the surroundings, less the margin of the policy. */
static hl_headroom temperature_headroom(const hl_workspace *work, const char *name, double now, double most)
{
    double ambient = work->surroundings.temperature, factor, margin;
    hl_headroom h = {{name, "degC", now, most}, 0};
    limits_policy(work->design, &h.limit, &factor, &margin);
    h.limit.rated -= margin;
    h.used = h.limit.rated > ambient ? (now - ambient) / (h.limit.rated - ambient) : HUGE_VAL;
    return h;
}

/* A rating as far as the policy lets it be used; temperatures that models check themselves have the margin.
 */
static hl_headroom rated_headroom(const hl_workspace *work, const hl_limit *limit)
{
    double factor, margin;
    hl_headroom h = {*limit, 0};
    limits_policy(work->design, limit, &factor, &margin);
    h.limit.rated = strcmp(limit->unit, "degC") ? factor * limit->rated : limit->rated - margin;
    h.used = h.limit.rated > 0 ? fabs(limit->value) / h.limit.rated : HUGE_VAL;
    return h;
}

/* Limits of a node that come from no part: touch temperatures, insulation classes. */
static size_t node_limits(const hl_workspace *work, int node, hl_headroom headroom[], size_t room)
{
    const hl_design *design = work->design;
    size_t n = 0;
    for (size_t k = 0; node >= 0 && k < design->n_limits && n < room; k++)
        if (design->limits[k].node == node)
            headroom[n++] = temperature_headroom(work, design->limits[k].name, work->temperature[node],
                                                 design->limits[k].rated);
    return n;
}

size_t hl_result_node_headroom(const hl_workspace *workspace, size_t node, hl_headroom headroom[],
                               size_t room)
{
    if (workspace->outcome != HL_SOLVED || node >= hl_design_nodes(workspace->design)) return 0;
    size_t n = node_limits(workspace, (int)node, headroom, room);
    for (size_t i = 0; n && i < workspace->design->n_items; i++)
        if (workspace->design->items[i].shown.node == (int)node) return 0; /* told with the part */
    return n;
}

/* What a part in a slot bears when its stage's input bus is at the crest of its ripple: the share of the
 * crest that the stage tells of, on top of the peak it found at the voltage it was solved at. */
static hl_stress at_crest(const hl_workspace *work, size_t item)
{
    hl_stress stress = *work->items[item].stress;
    for (size_t s = 0; s < work->design->n_stages; s++) {
        const design_stage *stage = &work->design->stages[s];
        const hl_stage_output *out = &work->stages[s].out;
        if (stage->parent < 0) continue;
        double crest = work->stages[stage->parent].out.output.voltage_peak - out->input.voltage_peak;
        for (size_t k = 0; k < HL_SLOTS_MAX; k++)
            if (stage->item[k] == (int)item && crest > 0) stress.voltage_peak += out->crest_share[k] * crest;
    }
    return stress;
}

size_t item_limits(const hl_workspace *work, size_t item, const hl_stress *stress, hl_limit limits[])
{
    const design_item *described = &work->design->items[item];
    const hl_device *device = described->set.model->device;
    if (!device->limits) return 0;
    memset(limits, 0, HL_LIMITS_MAX * sizeof *limits);
    calling(described->set.model, "limits", described->shown.name);
    size_t n = device->limits(work->items[item].state, stress, work->items[item].temperature, limits);
    called();
    return n < HL_LIMITS_MAX ? n : HL_LIMITS_MAX;
}

size_t hl_result_headroom(const hl_workspace *workspace, size_t item, hl_headroom headroom[], size_t room)
{
    PLAIN_FLOAT_STATE;
    if (workspace->outcome != HL_SOLVED || item >= workspace->design->n_items) return 0;
    size_t n = 0;
    const design_item *described = &workspace->design->items[item];
    const item_state *state = &workspace->items[item];
    if (described->heat_limit > 0 && n < room)
        headroom[n++] =
            temperature_headroom(workspace, "temperature", state->temperature, described->heat_limit);
    n += node_limits(workspace, described->shown.node, headroom + n, room - n);
    if (!state->stress) return n;
    hl_limit limits[HL_LIMITS_MAX];
    hl_stress stress = at_crest(workspace, item);
    size_t found = item_limits(workspace, item, &stress, limits);
    for (size_t i = 0; i < found && n < room; i++)
        if (limits[i].rated > 0) headroom[n++] = rated_headroom(workspace, &limits[i]);
    return n;
}

size_t hl_result_stage_headroom(const hl_workspace *workspace, size_t stage, hl_headroom headroom[],
                                size_t room)
{
    if (workspace->outcome != HL_SOLVED || stage >= workspace->design->n_stages || room == 0) return 0;
    const hl_stage_output *out = &workspace->stages[stage].out;
    if (!out->headroom_name || !out->headroom_unit || !(out->headroom_limit > 0)) return 0;
    headroom[0] = (hl_headroom){
        {out->headroom_name, out->headroom_unit, out->headroom_value, out->headroom_limit},
        fabs(out->headroom_value) / out->headroom_limit,
    };
    return 1;
}

size_t hl_design_holders(const hl_design *design)
{
    return hl_design_items(design) + hl_design_nodes(design) + hl_design_stages(design);
}

const char *hl_design_holder_name(const hl_design *design, size_t holder)
{
    size_t items = hl_design_items(design), parts_and_nodes = items + hl_design_nodes(design);
    if (holder < items) return hl_design_item(design, holder)->name;
    return holder < parts_and_nodes ? hl_design_node_name(design, holder - items)
                                    : hl_design_stage_name(design, holder - parts_and_nodes);
}

size_t hl_result_holder_headroom(const hl_workspace *workspace, size_t holder, hl_headroom headroom[],
                                 size_t room)
{
    const hl_design *design = workspace->design;
    size_t items = hl_design_items(design), parts_and_nodes = items + hl_design_nodes(design);
    if (holder < items) return hl_result_headroom(workspace, holder, headroom, room);
    return holder < parts_and_nodes
               ? hl_result_node_headroom(workspace, holder - items, headroom, room)
               : hl_result_stage_headroom(workspace, holder - parts_and_nodes, headroom, room);
}

static const struct {
    uint32_t flag;
    const char *text;
} flag_texts[] = {
    {HL_OUTSIDE_CURVE, "a table was read beyond its ends and held there; extend it"},
    {HL_OUTSIDE_FIT, "the core fit is used outside its range; take a fit for this frequency and flux"},
    {HL_BIASED_CORE, "the core carries a dc bias the fit was not measured with; true loss is likely higher"},
    {HL_FALLBACK, "a rougher law stands in for data these parts do not state; `heatledger models MODEL` "
                  "tells what a part may state"},
    {HL_AC_LEFT_OUT, "the ac loss of a winding is left out, since its wire is not known; state "
                     "conductor_diameter (or strands and strand_diameter, or foil_thickness and "
                     "conductor_width)"},
};

/* Names of parts for a sentence, those of one stage together: "llc (switch, rectifier), bridge.rectifier". */
typedef struct name_list {
    char text[1200];
    size_t used, left_out;
    bool open; /* a bracket is */
} name_list;

static void name_put(name_list *to, const char *before, const char *name, size_t length, const char *after)
{
    to->used += (size_t)snprintf(to->text + to->used, sizeof to->text - to->used, "%s%.*s%s", before,
                                 (int)length, name, after);
}

/* `more`: the next name is of the same stage. */
static void name_add(name_list *to, const char *name, bool more)
{
    const char *dot = strchr(name, '.');
    if (to->left_out || to->used + strlen(name) + 8 > sizeof to->text) {
        to->left_out++;
        return;
    }
    const char *comma = to->used ? ", " : "";
    if (to->open) {
        name_put(to, ", ", dot + 1, strlen(dot + 1), more ? "" : ")");
    } else if (more) {
        name_put(to, comma, name, (size_t)(dot - name), " (");
        name_put(to, "", dot + 1, strlen(dot + 1), "");
    } else {
        name_put(to, comma, name, strlen(name), "");
    }
    to->open = more;
}

static bool same_stage(const char *a, const char *b)
{
    const char *dot = strchr(a, '.');
    return dot && !strncmp(a, b, (size_t)(dot - a) + 1);
}

/* One warning for all parts that raise the same flag. */
static void warn_of(const hl_design *design, const hl_workspace *work, size_t flag,
                    hl_diagnostics *diagnostics)
{
    name_list names = {.used = 0};
    const char *held = NULL;
    for (size_t i = 0; i < design->n_items; i++) {
        if (!(work->items[i].loss.flags & flag_texts[flag].flag)) continue;
        const char *name = design->items[i].shown.name;
        if (held) name_add(&names, held, same_stage(held, name));
        held = name;
    }
    if (!held) return;
    name_add(&names, held, false);
    char more[40] = "";
    if (names.left_out) snprintf(more, sizeof more, "%s and %zu more", names.open ? ")" : "", names.left_out);
    hl_diagnostics_add(diagnostics, HL_WARNING, NULL, "%s: %s%s", flag_texts[flag].text, names.text, more);
}

/* A link that carries a hundredth of the heat or more by a correlation out of its range. */
static bool is_stretched(const hl_workspace *work, const hl_link *link, double whole)
{
    const double *t = work->temperature, room = work->surroundings.temperature;
    double a = link->a < 0 ? room : t[link->a], b = link->b < 0 ? room : t[link->b];
    if (!law_is_stretched(link, a, b, work->surroundings.pressure)) return false;
    return fabs(law_of(link, a, b, work->surroundings.pressure, 0).heat) >= 0.01 * whole;
}

static void warn_of_air(const hl_workspace *work, hl_diagnostics *diagnostics)
{
    const hl_network *network = work->design->network;
    size_t found = 0;
    char names[400] = "";
    double whole = 0;
    if (work->outcome != HL_SOLVED) return;
    for (size_t i = 0; i < hl_network_nodes(network); i++) whole += fabs(work->power[i]);
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        if (!is_stretched(work, link, whole)) continue;
        found++;
        const char *a = hl_link_end(network, link->a), *b = hl_link_end(network, link->b);
        if (strlen(names) + strlen(a) + strlen(b) + 8 >= sizeof names) continue; /* counted, not named */
        join_word(names, sizeof names, ", ", a);
        join_word(names, sizeof names, " to ", b);
    }
    if (found)
        hl_diagnostics_add(
            diagnostics, HL_WARNING, NULL,
            "a convection formula stands outside its range (docs/theory/heat.md) in %zu of the links: %s",
            found, names);
}

/* What a stage itself is cautious of. */
static void warn_of_stages(const hl_workspace *work, hl_diagnostics *diagnostics)
{
    for (size_t s = 0; work->outcome == HL_SOLVED && s < work->design->n_stages; s++) {
        const hl_reason *note = &work->stages[s].out.note;
        if (note->text[0])
            hl_diagnostics_add(diagnostics, HL_WARNING, NULL, "%s: %.*s", work->design->stages[s].name,
                               (int)sizeof note->text - 1, note->text);
    }
}

/* Rounds that went to and fro to the end. */
static void warn_of_a_step(const hl_workspace *work, hl_diagnostics *diagnostics)
{
    if (work->outcome != HL_SOLVED || (work->step.power == 0 && work->step.kelvin == 0)) return;
    hl_diagnostics_add(diagnostics, HL_WARNING, NULL,
                       "the loss of some part or stage jumps just here, and rounds go to and fro over it: "
                       "powers of stages are known to %.1g of themselves, temperatures to %.1g K; a point "
                       "beside this one is exact",
                       work->step.power, work->step.kelvin);
}

/* A port that does not get what it asks. USB Power Delivery lets a fixed supply stand 5 % off its voltage
 * (Universal Serial Bus Power Delivery Specification, revision 3.1, vSrcNew; from memory). */
static const double port_tolerance = 0.05;

static void warn_of_ports(const hl_workspace *work, hl_diagnostics *diagnostics)
{
    for (size_t p = 0; work->outcome == HL_SOLVED && p < work->design->n_ports; p++) {
        const design_port *port = &work->design->ports[p];
        double asked = work->settings[port->voltage_setting], got = work->stages[port->stage].voltage;
        if (!(asked > 0) || fabs(got - asked) <= port_tolerance * asked) continue;
        hl_diagnostics_add(diagnostics, HL_WARNING, NULL,
                           "%s asks %.4g V and gets %.4g V: state the port's voltage as it is, or the "
                           "output_voltage of what feeds it",
                           port->name, asked, got);
    }
}

void hl_result_warnings(const hl_workspace *workspace, hl_diagnostics *diagnostics)
{
    if (!workspace->design->network)
        hl_diagnostics_add(diagnostics, HL_WARNING, NULL,
                           "no enclosure or thermal links are described; every part is taken at ambient "
                           "temperature");
    else
        warn_of_air(workspace, diagnostics);
    for (size_t f = 0; f < sizeof flag_texts / sizeof flag_texts[0]; f++)
        warn_of(workspace->design, workspace, f, diagnostics);
    warn_of_stages(workspace, diagnostics);
    warn_of_a_step(workspace, diagnostics);
    warn_of_ports(workspace, diagnostics);
}
