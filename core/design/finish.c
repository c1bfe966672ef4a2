/* finish.c - from a draft to an immutable design: the tree, the items, the settings. */
#include "design/alternatives.h"
#include "design/design.h"
#include "design/draft.h"
#include "design/heat_bands.h"
#include "design/heat_paths.h"
#include "design/limits.h"
#include "design/settings.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "diagnostic/joined.h"
#include "heatledger/quantity.h"
#include "plugin/calling.h"
#include "quantity/float_state.h"

typedef struct build {
    hl_draft *draft;
    hl_design *design;
    hl_diagnostics *diagnostics;
    bool bad, starved; /* an error was said; memory ran out */
} build;

#define WRONG(build_, place_, ...)                                                                           \
    do {                                                                                                     \
        hl_diagnostics_add((build_)->diagnostics, HL_ERROR, (place_), __VA_ARGS__);                          \
        (build_)->bad = true;                                                                                \
    } while (0)

static void *take(build *b, size_t count, size_t size)
{
    void *memory = arena_array(b->design->memory, count ? count : 1, size);
    if (!memory) b->starved = true;
    return memory;
}

static const char *keep(build *b, const char *text)
{
    const char *copy = arena_copy(b->design->memory, text);
    if (!copy && text) b->starved = true;
    return copy;
}

static int stage_index(const hl_draft *draft, const char *name)
{
    draft_stage *stage = draft_find_stage(draft, name);
    return stage ? (int)(stage - (draft_stage *)draft->stages.items) : -1;
}

static bool is_source(const char *name)
{
    return !strcmp(name, "mains") || !strcmp(name, "source");
}

/* ------------------------------------------------------------------ tree -- */

static void unknown_feed(build *b, const hl_place *place, const char *what, const char *name,
                         const char *fed_by)
{
    const hl_draft *draft = b->draft;
    const char **words = calloc(draft->stages.n + 3, sizeof *words);
    const char *near = NULL;
    if (words) {
        for (size_t i = 0; i < draft->stages.n; i++) words[i] = LIST_AT(draft->stages, draft_stage, i)->name;
        words[draft->stages.n] = "mains";
        words[draft->stages.n + 1] = "source";
        near = hl_nearest_word(fed_by, words);
    }
    WRONG(b, place, "%s '%s' is fed by '%s', which no stage is named; %s%s%s", what, name, fed_by,
          near ? "did you mean '" : "name a stage, or mains", near ? near : "", near ? "'?" : "");
    free(words);
}

static void link_stages(build *b)
{
    const hl_draft *draft = b->draft;
    for (size_t i = 0; i < draft->stages.n; i++) {
        draft_stage *from = LIST_AT(draft->stages, draft_stage, i);
        design_stage *to = &b->design->stages[i];
        to->name = keep(b, from->name);
        to->model = from->model;
        to->parent = is_source(from->fed_by) ? -1 : stage_index(draft, from->fed_by);
        to->asked_by = -1;
        to->node = -1;
        to->n_nodes = 1;
        for (size_t s = 0; s < HL_SLOTS_MAX; s++) to->item[s] = -1;
        if (to->parent < 0 && !is_source(from->fed_by))
            unknown_feed(b, &from->place, "stage", from->name, from->fed_by);
    }
}

/* A stage that feeds itself through others: follow parents at most n steps. */
static void refuse_cycles(build *b)
{
    const hl_design *design = b->design;
    for (size_t i = 0; i < design->n_stages; i++) {
        int at = (int)i;
        size_t steps = 0;
        while (at >= 0 && steps++ <= design->n_stages) at = design->stages[at].parent;
        if (at < 0) continue;
        draft_stage *stage = LIST_AT(b->draft->stages, draft_stage, i);
        WRONG(b, &stage->place,
              "stage '%s' feeds itself through '%s'; a converter is a tree that starts at the mains",
              stage->name, stage->fed_by);
        return;
    }
}

static void count_children(build *b)
{
    hl_design *design = b->design;
    size_t roots = 0;
    for (size_t i = 0; i < design->n_stages; i++) {
        if (design->stages[i].parent >= 0)
            design->stages[design->stages[i].parent].n_children++;
        else
            roots++;
    }
    for (size_t i = 0; i < design->n_stages; i++) {
        design_stage *stage = &design->stages[i];
        stage->children = take(b, stage->n_children, sizeof(int));
        stage->n_children = 0;
    }
    if (b->starved) return;
    for (size_t i = 0; i < design->n_stages; i++) {
        int parent = design->stages[i].parent;
        if (parent >= 0) design->stages[parent].children[design->stages[parent].n_children++] = (int)i;
    }
    if (design->alternating && roots > 1)
        WRONG(b, NULL, "%zu stages are fed by the mains; put one filter or rectifier first", roots);
}

/* Stages between this one and the farthest leaf beyond it. */
static int height_of(const hl_design *design, int index)
{
    int most = 0;
    for (size_t c = 0; c < design->stages[index].n_children; c++) {
        int height = height_of(design, design->stages[index].children[c]) + 1;
        if (height > most) most = height;
    }
    return most;
}

/* The stages of one height and model, from the first of them on that is not placed yet. */
static size_t place_abreast(hl_design *design, const int height[], size_t first, size_t placed)
{
    size_t n = 0;
    for (size_t i = first; i < design->n_stages; i++)
        if (height[i] == height[first] && design->stages[i].model == design->stages[first].model)
            design->order[placed + n++] = (int)i;
    for (size_t k = 0; k < n; k++) design->abreast[placed + k] = n - k;
    return n;
}

static bool is_placed(const hl_design *design, size_t placed, size_t index)
{
    for (size_t k = 0; k < placed; k++)
        if (design->order[k] == (int)index) return true;
    return false;
}

static void order_stages(build *b)
{
    hl_design *design = b->design;
    size_t n = 0, stages = design->n_stages;
    design->order = take(b, stages, sizeof *design->order);
    design->abreast = take(b, stages, sizeof *design->abreast);
    int *height = take(b, stages, sizeof *height);
    if (b->starved) return;
    for (size_t i = 0; i < stages; i++) height[i] = height_of(design, (int)i);
    for (int h = 0; n < stages; h++)
        for (size_t i = 0; i < stages; i++)
            if (height[i] == h && !is_placed(design, n, i)) n += place_abreast(design, height, i, n);
}

static const char *kind_text(hl_terminal_kind kind)
{
    return kind == HL_AC ? "alternating current" : kind == HL_RECTIFIED ? "rectified mains" : "dc";
}

static void check_kinds(build *b)
{
    const hl_design *design = b->design;
    for (size_t i = 0; i < design->n_stages; i++) {
        const design_stage *stage = &design->stages[i];
        draft_stage *from = LIST_AT(b->draft->stages, draft_stage, i);
        hl_terminal_kind given = design->alternating ? HL_AC : HL_DC;
        if (stage->parent >= 0) {
            const hl_stage *parent = design->stages[stage->parent].model->stage;
            if (parent->terminal) {
                WRONG(b, &from->place,
                      "stage '%s' is fed by '%s', which has no output; name a stage that gives one",
                      stage->name, from->fed_by);
                continue;
            }
            given = parent->output;
        }
        if (stage->model->stage->input != given)
            WRONG(b, &from->place, "stage '%s' (%s) takes %s but '%s' gives %s; %s", stage->name,
                  stage->model->name, kind_text(stage->model->stage->input), from->fed_by, kind_text(given),
                  given == HL_AC ? "put a rectifier between" : "feed it from a stage of that kind");
        if (stage->n_children > 1 && stage->model->stage->output != HL_DC)
            WRONG(b, &from->place, "stage '%s' feeds %zu stages; only a dc bus may be shared", stage->name,
                  stage->n_children);
    }
}

/* ----------------------------------------------------------------- ports -- */

static void attach_ports(build *b)
{
    hl_design *design = b->design;
    const hl_draft *draft = b->draft;
    for (size_t i = 0; i < draft->ports.n; i++) {
        draft_port *from = LIST_AT(draft->ports, draft_port, i);
        design_port *to = &design->ports[i];
        to->name = keep(b, from->name);
        to->stage = stage_index(draft, from->fed_by);
        if (to->stage < 0) {
            unknown_feed(b, &from->place, "port", from->name, from->fed_by);
            continue;
        }
        design_stage *stage = &design->stages[to->stage];
        if (stage->model->stage->terminal || stage->model->stage->output != HL_DC)
            WRONG(b, &from->place, "port '%s' is fed by '%s', which gives no dc; put a rectifier between",
                  from->name, from->fed_by);
        stage->n_ports++;
    }
    if (b->bad) return;
    for (size_t i = 0; i < design->n_stages; i++) {
        design->stages[i].ports = take(b, design->stages[i].n_ports, sizeof(int));
        design->stages[i].n_ports = 0;
    }
    if (b->starved) return;
    for (size_t i = 0; i < design->n_ports; i++) {
        design_stage *stage = &design->stages[design->ports[i].stage];
        stage->ports[stage->n_ports++] = (int)i;
    }
}

static void check_leaves(build *b)
{
    const hl_design *design = b->design;
    bool drawn = design->n_ports > 0;
    for (size_t i = 0; i < design->n_stages; i++) {
        const design_stage *stage = &design->stages[i];
        if (stage->model->stage->terminal) drawn = true;
        if (stage->model->stage->terminal || stage->n_children || stage->n_ports) continue;
        draft_stage *from = LIST_AT(b->draft->stages, draft_stage, i);
        WRONG(b, &from->place, "stage '%s' feeds nothing; give it a port or take it out", stage->name);
    }
    if (!drawn) WRONG(b, NULL, "the adapter has no port, so nothing draws power; add a port");
}

/* The first port below a stage that does not regulate decides the voltage it is asked for. */
static int port_below(const hl_design *design, int index)
{
    const design_stage *stage = &design->stages[index];
    if (stage->n_ports) return stage->ports[0];
    for (size_t c = 0; c < stage->n_children; c++) {
        const design_stage *child = &design->stages[stage->children[c]];
        if (child->model->stage->regulates || child->model->stage->terminal) continue;
        int port = port_below(design, stage->children[c]);
        if (port >= 0) return port;
    }
    return -1;
}

static void follow_ports(hl_design *design)
{
    for (size_t i = 0; i < design->n_stages; i++)
        if (!design->stages[i].model->stage->terminal && design->stages[i].model->stage->output == HL_DC)
            design->stages[i].asked_by = port_below(design, (int)i);
}

/* ----------------------------------------------------------------- items -- */

static void check_stage_values(build *b, size_t index)
{
    draft_stage *from = LIST_AT(b->draft->stages, draft_stage, index);
    design_stage *to = &b->design->stages[index];
    char missing[400] = "";
    for (size_t i = 0; i < from->model->n_parameters; i++) {
        const hl_parameter *parameter = hl_model_parameter(from->model, i);
        hl_value *value = &from->values[i];
        if (!value->given && (parameter->flags & HL_DEFAULT)) {
            value->number = value->minimum = value->maximum = parameter->fallback;
            value->given = true;
            value->origin = HL_ORIGIN_ESTIMATE;
        } else if (!value->given && (parameter->flags & HL_REQUIRED)) {
            join_word(missing, sizeof missing, ", ", parameter->name);
        }
    }
    if (*missing) {
        WRONG(b, &from->place, "stage '%s' (%s) needs: %s", from->name, from->model->name, missing);
        return;
    }
    hl_reason reason = {""};
    calling(from->model, "prepare", from->name);
    bool fits = !from->model->stage->prepare || from->model->stage->prepare(from->values, &reason);
    called();
    if (!fits) WRONG(b, &from->place, "stage '%s': %s", from->name, reason.text);
    hl_value *values = take(b, from->model->n_parameters, sizeof *values);
    if (!values) return;
    if (from->model->n_parameters) memcpy(values, from->values, from->model->n_parameters * sizeof *values);
    for (size_t i = 0; i < from->model->n_parameters; i++) { /* curves live as long as the design */
        hl_curve *curve = &values[i].curve;
        if (!curve->n) continue;
        double *y = take(b, curve->n, sizeof *y), *x = curve->x ? take(b, curve->n, sizeof *x) : NULL;
        if (b->starved) return;
        memcpy(y, curve->y, curve->n * sizeof *y);
        if (x) memcpy(x, curve->x, curve->n * sizeof *x);
        curve->y = y;
        curve->x = x;
    }
    hl_band *bands = take(b, from->model->n_parameters, sizeof *bands);
    if (!bands) return;
    if (from->model->n_parameters) memcpy(bands, from->bands, from->model->n_parameters * sizeof *bands);
    to->set = (value_set){from->model, values, bands, from->model->n_parameters, NULL};
}

static size_t count_items(const hl_draft *draft)
{
    size_t n = 0;
    for (size_t i = 0; i < draft->stages.n; i++) {
        draft_stage *stage = LIST_AT(draft->stages, draft_stage, i);
        for (size_t s = 0; s < HL_SLOTS_MAX; s++) n += stage->slots[s].part != NULL;
        n += stage->capacitors.n;
    }
    return n;
}

static double heat_limit(const hl_value commons[])
{
    const hl_value *most = &commons[HL_COMMON_MAXIMUM_TEMPERATURE];
    return most->given ? most->number : 0;
}

static alternative alternative_of(const hl_part *part)
{
    const hl_model *model = hl_part_model(part);
    const hl_value *commons = hl_part_commons(part);
    return (alternative){.part = part,
                         .set = {model, hl_part_values(part), hl_part_bands(part), model->n_parameters, NULL},
                         .commons = commons,
                         .heat_limit = heat_limit(commons)};
}

static void add_alternatives(build *b, design_item *item, const list *others)
{
    item->n_alternatives = 1 + others->n;
    item->alternatives = take(b, item->n_alternatives, sizeof *item->alternatives);
    if (b->starved) return;
    item->alternatives[0] = alternative_of(item->shown.part);
    for (size_t i = 0; i < others->n; i++)
        item->alternatives[i + 1] = alternative_of(*LIST_AT(*others, const hl_part *, i));
}

static design_item *add_item(build *b, size_t stage, const char *slot, const hl_part *part, unsigned parallel,
                             unsigned positions, const list *others)
{
    hl_design *design = b->design;
    const char *owner = design->stages[stage].name;
    size_t length = strlen(owner) + strlen(slot) + 2;
    char *name = take(b, length, 1);
    if (!name) return NULL;
    snprintf(name, length, "%s.%s", owner, slot);
    design_item *item = &design->items[design->n_items++];
    alternative first = alternative_of(part);
    item->set = first.set;
    item->commons = first.commons;
    item->heat_limit = first.heat_limit;
    item->part_setting = SIZE_MAX;
    item->slot = -1;
    item->parallel = parallel;
    item->positions = positions;
    item->shown = (hl_item){name, owner, keep(b, slot), part, parallel * positions, (int)stage, -1};
    add_alternatives(b, item, others);
    return item;
}

static void add_stage_items(build *b, size_t index)
{
    draft_stage *from = LIST_AT(b->draft->stages, draft_stage, index);
    design_stage *to = &b->design->stages[index];
    const hl_stage *model = from->model->stage;
    for (size_t s = 0; s < model->n_slots; s++) {
        const hl_slot *slot = hl_stage_slot(model, s);
        if (!from->slots[s].part) {
            if (slot->flags & HL_REQUIRED)
                WRONG(b, &from->place, "stage '%s' has no part in slot '%s' (%s); put one there", from->name,
                      slot->name, slot->meaning);
            continue;
        }
        unsigned positions = slot->positions ? slot->positions : 1;
        if (model->positions) positions = model->positions(from->values, s);
        to->item[s] = (int)b->design->n_items;
        design_item *item = add_item(b, index, slot->name, from->slots[s].part, from->slots[s].count,
                                     positions, &from->slots[s].alternatives);
        if (item) item->slot = (int)s;
    }
    to->n_capacitors = from->capacitors.n;
    to->capacitors = take(b, from->capacitors.n, sizeof(int));
    if (b->starved) return;
    if (to->n_capacitors && (model->terminal || model->output == HL_AC))
        WRONG(b, &from->place,
              "stage '%s' has bus capacitors but no dc output; name them at the stage that feeds the dc bus",
              from->name);
    for (size_t c = 0; c < from->capacitors.n; c++) {
        draft_capacitor *capacitor = LIST_AT(from->capacitors, draft_capacitor, c);
        to->capacitors[c] = (int)b->design->n_items;
        add_item(b, index, capacitor->label, capacitor->part, capacitor->count, 1, &capacitor->alternatives);
    }
}

/* -------------------------------------------------------------- settings -- */

static void collect_settings(build *b)
{
    hl_design *design = b->design;
    const hl_draft *draft = b->draft;
    size_t room = SETTINGS_COMMON + 2 * design->n_ports;
    for (size_t i = 0; i < design->n_stages; i++) room += design->stages[i].set.n;
    room += 2 * design->n_items;
    for (size_t i = 0; i < design->n_items; i++) room += design->items[i].set.n + 1;
    design->settings = take(b, room, sizeof *design->settings);
    if (b->starved) return;
    settings_add(design, setting_ambient.name, &setting_ambient, draft->ambient);
    settings_add(design, setting_altitude.name, &setting_altitude, draft->altitude);
    settings_add(design, setting_voltage.name, &setting_voltage, draft->source_voltage);
    settings_add(design, setting_frequency.name, &setting_frequency, draft->source_frequency);
    settings_add(design, setting_load.name, &setting_load, 1.0);
    for (size_t i = 0; i < design->n_ports; i++) {
        draft_port *from = LIST_AT(draft->ports, draft_port, i);
        size_t length = strlen(from->name) + 10;
        char *voltage = take(b, length, 1), *current = take(b, length, 1);
        if (b->starved) return;
        snprintf(voltage, length, "%s.voltage", from->name);
        snprintf(current, length, "%s.current", from->name);
        design->ports[i].voltage_setting =
            settings_add(design, voltage, &setting_port_voltage, from->voltage);
        design->ports[i].current_setting =
            settings_add(design, current, &setting_port_current, from->current);
    }
    for (size_t i = 0; i < design->n_stages; i++)
        if (!settings_add_set(design, design->stages[i].name, NULL, &design->stages[i].set))
            b->starved = true;
    for (size_t i = 0; i < design->n_items; i++)
        if (!settings_add_item(design, &design->items[i])) b->starved = true;
}

/* ---------------------------------------------------------------- finish -- */

static void build_tree(build *b)
{
    const hl_draft *draft = b->draft;
    if (!draft->has_source)
        WRONG(b, NULL, "the adapter has no source; state the mains voltage and frequency");
    if (!draft->stages.n) WRONG(b, NULL, "the adapter has no stage; describe at least one");
    link_stages(b);
    if (!b->bad) refuse_cycles(b);
    if (b->bad || b->starved) return;
    count_children(b);
    if (!b->starved) attach_ports(b);
    if (b->bad || b->starved) return;
    order_stages(b);
    check_kinds(b);
    check_leaves(b);
    follow_ports(b->design);
}

static void build_parts(build *b)
{
    for (size_t i = 0; i < b->design->n_stages && !b->starved; i++) {
        check_stage_values(b, i);
        if (!b->starved) add_stage_items(b, i);
    }
}

hl_design *hl_draft_finish(hl_draft *draft, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    arena *memory = arena_create();
    hl_design *design = memory ? arena_take(memory, sizeof *design) : NULL;
    build b = {draft, design, diagnostics, false, design == NULL};
    if (design) {
        design->memory = memory;
        design->name = keep(&b, draft->name);
        design->alternating = draft->source_frequency > 0;
        design->n_stages = draft->stages.n;
        design->n_ports = draft->ports.n;
        design->stages = take(&b, design->n_stages, sizeof *design->stages);
        design->ports = take(&b, design->n_ports, sizeof *design->ports);
        design->items = take(&b, count_items(draft), sizeof *design->items);
        if (!b.starved) build_tree(&b);
        if (!b.starved) build_parts(&b); /* what is wrong with the tree hides nothing of its parts */
        if (!b.starved && !b.bad) collect_settings(&b);
        design->box = draft->box;
        design->boxed = draft->has_box;
        if (!b.starved && !b.bad && heat_paths_build(draft, design, diagnostics) != HL_OK) b.bad = true;
        if (!b.starved && !b.bad && !heat_bands_add(design)) b.starved = true;
        if (!b.starved && !b.bad) {
            hl_status limits = limits_build(draft, design, diagnostics);
            b.starved = limits == HL_NO_MEMORY;
            b.bad = limits == HL_BAD_INPUT;
        }
        if (!b.starved && !b.bad && !alternatives_find_changes(draft, design, diagnostics)) b.starved = true;
    }
    draft->starved = b.starved;
    if (b.starved) hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
    if (!b.starved && !b.bad) return design;
    if (design) {
        hl_network_destroy(design->network);
        hl_field_destroy(design->field);
    }
    arena_destroy(memory);
    return NULL;
}

void hl_design_destroy(hl_design *design)
{
    if (!design) return;
    hl_network_destroy(design->network);
    hl_field_destroy(design->field);
    arena_destroy(design->memory);
}
