/* limits.c - touch temperatures, insulation classes and the derating policy of a design. */
#include "design/limits.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/limits.h"
#include "heatledger/quantity.h"

/* ----------------------------------------------------------------- draft -- */

static hl_status starved(const hl_place *place, hl_diagnostics *diagnostics)
{
    hl_diagnostics_add(diagnostics, HL_ERROR, place, "memory ran out; close other programs");
    return HL_NO_MEMORY;
}

static hl_status add_limit(hl_draft *draft, const hl_place *place, const char *node, const char *name,
                           double temperature, hl_diagnostics *diagnostics)
{
    if (!name || !*name || !(temperature >= 250 && temperature <= 800)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "the limit '%s' of %s must be -23 to 527 degC; check the unit", name ? name : "",
                           node ? node : "the case");
        return HL_BAD_INPUT;
    }
    const char *own_name = arena_copy(draft->memory, name);
    const char *own_node = node ? arena_copy(draft->memory, node) : NULL;
    bool good = own_name && (own_node || !node);
    draft_limit *entry = good ? list_add(draft->memory, &draft->limits, sizeof *entry) : NULL;
    if (!entry) return starved(place, diagnostics);
    *entry = (draft_limit){own_node, own_name, temperature, {0}};
    if (place) {
        entry->place = *place;
        entry->place.file = arena_copy(draft->memory, place->file);
    }
    return HL_OK;
}

hl_status hl_draft_limit(hl_draft *draft, const hl_place *place, const char *node, const char *name,
                         double temperature, hl_diagnostics *diagnostics)
{
    return add_limit(draft, place, node ? node : "", name, temperature, diagnostics);
}

hl_status hl_draft_limit_case(hl_draft *draft, const hl_place *place, const char *name, double temperature,
                              hl_diagnostics *diagnostics)
{
    return add_limit(draft, place, NULL, name, temperature, diagnostics);
}

hl_status hl_draft_insulation(hl_draft *draft, const hl_place *place, size_t n,
                              const hl_insulation_class classes[], const char *assumed,
                              hl_diagnostics *diagnostics)
{
    bool known = !assumed;
    draft->insulation = (list){0};
    for (size_t i = 0; i < n; i++) {
        known = known || !strcmp(classes[i].name, assumed);
        hl_insulation_class *entry = list_add(draft->memory, &draft->insulation, sizeof *entry);
        if (!entry || !(entry->name = arena_copy(draft->memory, classes[i].name)))
            return starved(place, diagnostics);
        entry->temperature = classes[i].temperature;
        entry->mean = classes[i].mean;
        if (!(entry->mean > 0 && entry->mean <= entry->temperature)) {
            hl_diagnostics_add(
                diagnostics, HL_ERROR, place,
                "insulation class '%s': a mean of %g K beside a hottest spot of %g K; the mean "
                "is above 0 and no higher than the spot",
                entry->name, entry->mean, entry->temperature);
            return HL_BAD_INPUT;
        }
    }
    draft->assumed_insulation = assumed ? arena_copy(draft->memory, assumed) : NULL;
    if (known) return HL_OK;
    hl_diagnostics_add(diagnostics, HL_ERROR, place,
                       "no insulation class is called '%s'; classes are letters, A to R", assumed);
    return HL_BAD_INPUT;
}

hl_status hl_draft_derating(hl_draft *draft, const hl_place *place, const char *limit, double factor,
                            double margin, hl_diagnostics *diagnostics)
{
    if (!limit || !*limit || !(factor > 0 && factor <= 1) || !(margin >= 0 && margin <= 200)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "derating of '%s': a factor above 0 and up to 1, or a margin of 0 to 200 K",
                           limit ? limit : "");
        return HL_BAD_INPUT;
    }
    draft_derating *entry = list_add(draft->memory, &draft->deratings, sizeof *entry);
    if (!entry || !(entry->limit = arena_copy(draft->memory, limit))) return starved(place, diagnostics);
    entry->factor = factor;
    entry->margin = margin;
    return HL_OK;
}

/* ----------------------------------------------------------------- build -- */

typedef struct limits_builder {
    const hl_draft *draft;
    hl_design *design;
    hl_diagnostics *diagnostics;
    bool bad, starved;
} limits_builder;

static void add(limits_builder *b, int node, const char *name, double temperature)
{
    hl_design *design = b->design;
    const char *own = arena_copy(design->memory, name);
    if (own)
        design->limits[design->n_limits++] = (design_limit){node, own, temperature};
    else
        b->starved = true;
}

/* Outer patches are called "face ..." and their inner sides "face ... inside" by all builders of boxes. Where
 * the field tells a face's hottest spot, that is judged and not its mean. */
static bool is_outer_patch(const hl_design *design, int node)
{
    const char *name = hl_network_node_name(design->network, node);
    bool mean = design->field && node >= design->first_face && node < design->first_face + HL_FACES;
    return !mean && !strncmp(name, "face ", 5) && !strstr(name, " inside");
}

static int find(const hl_network *network, const char *name)
{
    for (size_t i = 0; i < hl_network_nodes(network); i++)
        if (!strcmp(hl_network_node_name(network, (int)i), name)) return (int)i;
    return -1;
}

static void unknown(limits_builder *b, const draft_limit *limit)
{
    const hl_network *network = b->design->network;
    size_t n = hl_network_nodes(network);
    const char **words = calloc(n + 1, sizeof *words);
    for (size_t i = 0; words && i < n; i++) words[i] = hl_network_node_name(network, (int)i);
    const char *near = words ? hl_nearest_word(limit->node, words) : NULL;
    hl_diagnostics_add(b->diagnostics, HL_ERROR, &limit->place,
                       "limit '%s': no thermal node is called '%s'%s%s%s", limit->name, limit->node,
                       near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    free(words);
    b->bad = true;
}

static void add_stated(limits_builder *b)
{
    const hl_network *network = b->design->network;
    for (size_t k = 0; k < b->draft->limits.n; k++) {
        const draft_limit *limit = LIST_AT(b->draft->limits, draft_limit, k);
        if (limit->node) {
            int node = find(network, limit->node);
            if (node >= 0)
                add(b, node, limit->name, limit->temperature);
            else
                unknown(b, limit);
            continue;
        }
        for (size_t i = 0; i < hl_network_nodes(network); i++)
            if (is_outer_patch(b->design, (int)i)) add(b, (int)i, limit->name, limit->temperature);
    }
}

/* A field tells no hottest spot of a winding either: its block is of one stuff. */
static void add_insulation(limits_builder *b, const design_item *item)
{
    bool spot = item->outer >= 0;
    const hl_value *stated = &item->commons[HL_COMMON_INSULATION_CLASS];
    const char *name = b->draft->assumed_insulation;
    if (stated->given)
        name = hl_common_parameter(HL_COMMON_INSULATION_CLASS)->choices[(size_t)stated->number];
    if (!name || item->shown.node < 0 || item->set.model->device->family != HL_FAMILY_MAGNETIC) return;
    for (size_t k = 0; k < b->draft->insulation.n; k++) {
        const hl_insulation_class *one = LIST_AT(b->draft->insulation, hl_insulation_class, k);
        char text[64];
        if (strcmp(one->name, name)) continue;
        snprintf(text, sizeof text, "insulation class %.20s%s%s", name, spot ? "" : " mean",
                 stated->given ? "" : " (assumed)");
        add(b, item->shown.node, text, spot ? one->temperature : one->mean);
    }
}

hl_status limits_build(const hl_draft *draft, hl_design *design, hl_diagnostics *diagnostics)
{
    limits_builder b = {draft, design, diagnostics, false, false};
    size_t room = draft->limits.n * (hl_network_nodes(design->network) + 1) + design->n_items + 1;
    design->n_deratings = draft->deratings.n;
    design->deratings = arena_array(design->memory, draft->deratings.n + 1, sizeof *design->deratings);
    design->limits = arena_array(design->memory, room, sizeof *design->limits);
    if (!design->deratings || !design->limits) return HL_NO_MEMORY;
    for (size_t k = 0; k < draft->deratings.n; k++) {
        design->deratings[k] = *LIST_AT(draft->deratings, draft_derating, k);
        design->deratings[k].limit = arena_copy(design->memory, design->deratings[k].limit);
        if (!design->deratings[k].limit) return HL_NO_MEMORY;
    }
    if (!design->network) return HL_OK; /* nothing has a temperature of its own */
    add_stated(&b);
    for (size_t i = 0; i < design->n_items; i++) add_insulation(&b, &design->items[i]);
    if (b.starved) return HL_NO_MEMORY;
    return b.bad ? HL_BAD_INPUT : HL_OK;
}

/* ---------------------------------------------------------------- policy -- */

static bool is_kind(const char *word, const char *unit)
{
    static const char *const kinds[][2] = {
        {"voltage", "V"}, {"current", "A"}, {"power", "W"}, {"temperature", "degC"}};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (!strcmp(word, kinds[i][0])) return !strcmp(unit, kinds[i][1]);
    return false;
}

void limits_policy(const hl_design *design, const hl_limit *limit, double *factor, double *margin)
{
    *factor = 1;
    *margin = 0;
    bool named = false;
    for (size_t k = 0; k < design->n_deratings; k++) {
        const draft_derating *d = &design->deratings[k];
        bool by_name = !strcmp(d->limit, limit->name);
        if (!by_name && (named || !is_kind(d->limit, limit->unit))) continue;
        named = by_name;
        *factor = d->factor;
        *margin = d->margin;
    }
}

static double below_margin(const hl_design *design, const char *name, double rated)
{
    double factor, margin;
    const hl_limit limit = {name, "degC", 0, rated};
    limits_policy(design, &limit, &factor, &margin);
    return rated - margin;
}

double hl_design_node_limit(const hl_design *design, size_t node)
{
    double least = NAN;
    for (size_t i = 0; i < design->n_items; i++) {
        const design_item *item = &design->items[i];
        if (item->shown.node == (int)node && item->heat_limit > 0)
            least = fmin(least, below_margin(design, "temperature", item->heat_limit));
    }
    for (size_t k = 0; k < design->n_limits; k++)
        if (design->limits[k].node == (int)node)
            least = fmin(least, below_margin(design, design->limits[k].name, design->limits[k].rated));
    return least;
}
