/* draft.c - collecting the description of an adapter, one checked statement at a time. */
#include "design/draft.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "design/slot_fit.h"
#include "diagnostic/joined.h"
#include "heatledger/quantity.h"
#include "heatledger/trace.h"
#include "quantity/float_state.h"

void *list_add(arena *memory, list *items, size_t size)
{
    if (items->n == items->room) {
        size_t room = items->room ? 2 * items->room : 8;
        void *grown = arena_array(memory, room, size);
        if (!grown) return NULL;
        if (items->n) memcpy(grown, items->items, items->n * size);
        items->items = grown;
        items->room = room;
    }
    return (char *)items->items + size * items->n++;
}

static hl_status no_memory(const hl_place *place, hl_diagnostics *diagnostics)
{
    hl_diagnostics_add(diagnostics, HL_ERROR, place, "memory ran out; close other programs");
    return HL_NO_MEMORY;
}

hl_draft *hl_draft_create(const hl_host *host, const char *name)
{
    arena *memory = arena_create();
    hl_draft *draft = memory ? arena_take(memory, sizeof *draft) : NULL;
    if (!draft || !(draft->name = arena_copy(memory, name ? name : "adapter"))) {
        arena_destroy(memory);
        return NULL;
    }
    draft->host = host;
    draft->memory = memory;
    draft->ambient = 298.15;
    return draft;
}

void hl_draft_destroy(hl_draft *draft)
{
    if (draft) arena_destroy(draft->memory);
}

/* A place whose file name lives as long as the draft. */
static hl_place keep_place(hl_draft *draft, const hl_place *place)
{
    hl_place kept = {0};
    if (!place) return kept;
    kept = *place;
    kept.file = arena_copy(draft->memory, place->file);
    return kept;
}

/* Names appear in settings and JSON: letters, digits, _ and -, at most 48. */
static bool name_is_plain(const char *name)
{
    size_t n = name ? strlen(name) : 0;
    if (n == 0 || n > 48) return false;
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-";
    return strspn(name, plain) == n;
}

static bool name_is_reserved(const char *name)
{
    return !strcmp(name, "mains") || !strcmp(name, "source") || !strcmp(name, "ambient") ||
           !strcmp(name, "load");
}

draft_stage *draft_find_stage(const hl_draft *draft, const char *name)
{
    for (size_t i = 0; i < draft->stages.n; i++) {
        draft_stage *stage = LIST_AT(draft->stages, draft_stage, i);
        if (!strcmp(stage->name, name)) return stage;
    }
    return NULL;
}

static draft_port *find_port(const hl_draft *draft, const char *name)
{
    for (size_t i = 0; i < draft->ports.n; i++) {
        draft_port *port = LIST_AT(draft->ports, draft_port, i);
        if (!strcmp(port->name, name)) return port;
    }
    return NULL;
}

static hl_status check_name(const hl_draft *draft, const hl_place *place, const char *what, const char *name,
                            hl_diagnostics *diagnostics)
{
    if (!name_is_plain(name)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "%s name '%s' is not usable; use 1 to 48 letters, digits, _ or -", what,
                           name ? name : "");
        return HL_BAD_INPUT;
    }
    if (name_is_reserved(name)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "%s name '%s' has a meaning of its own; choose another", what, name);
        return HL_BAD_INPUT;
    }
    if (draft_find_stage(draft, name) || find_port(draft, name)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "%s name '%s' is taken already; every stage and port needs its own", what, name);
        return HL_BAD_INPUT;
    }
    return HL_OK;
}

/* Say `value` is wrong unless low <= value <= high. */
static bool within(const hl_place *place, const char *what, double value, double low, double high,
                   const char *unit, hl_diagnostics *diagnostics)
{
    if (value >= low && value <= high) return true;
    char read[48], from[48], to[48];
    hl_quantity_print(value, unit, 4, read, sizeof read);
    hl_quantity_print(low, unit, 3, from, sizeof from);
    hl_quantity_print(high, unit, 3, to, sizeof to);
    hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s: %s is outside %s … %s; check the unit", what, read,
                       from, to);
    return false;
}

hl_status hl_draft_source(hl_draft *draft, const hl_place *place, double voltage, double frequency,
                          hl_diagnostics *diagnostics)
{
    if (draft->has_source) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "a second source; an adapter has one: keep one");
        return HL_BAD_INPUT;
    }
    if (!within(place, "source voltage", voltage, 1.0, 1500.0, "V", diagnostics)) return HL_BAD_INPUT;
    if (frequency != 0 && !within(place, "mains frequency", frequency, 15.0, 1000.0, "Hz", diagnostics))
        return HL_BAD_INPUT;
    draft->has_source = true;
    draft->source_voltage = voltage;
    draft->source_frequency = frequency;
    return HL_OK;
}

hl_status hl_draft_ambient(hl_draft *draft, const hl_place *place, double temperature, double altitude,
                           hl_diagnostics *diagnostics)
{
    if (!within(place, "ambient temperature", temperature, 213.15, 398.15, "degC", diagnostics) ||
        !within(place, "altitude", altitude, -500.0, 9000.0, "m", diagnostics))
        return HL_BAD_INPUT;
    draft->ambient = temperature;
    draft->altitude = altitude;
    return HL_OK;
}

static const hl_model *find_stage_model(const hl_draft *draft, const hl_place *place, const char *model,
                                        hl_diagnostics *diagnostics)
{
    const hl_model *found = model ? hl_host_find(draft->host, model) : NULL;
    if (found && found->stage) return found;
    const char *near = model ? hl_host_nearest(draft->host, model) : NULL;
    if (found)
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "model '%s' is a device, not a stage; `heatledger models` lists the stages",
                           model);
    else if (near)
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "no stage model '%s'; did you mean '%s'?", model,
                           near);
    else
        hl_diagnostics_add(
            diagnostics, HL_ERROR, place,
            "no stage model '%s'; `heatledger models` lists the stages; one of a plugin of your own "
            "comes with --plugins",
            model ? model : "");
    return NULL;
}

hl_status hl_draft_stage(hl_draft *draft, const hl_place *place, const char *name, const char *model,
                         const char *fed_by, hl_diagnostics *diagnostics)
{
    hl_status status = check_name(draft, place, "stage", name, diagnostics);
    const hl_model *found = find_stage_model(draft, place, model, diagnostics);
    if (!found || status != HL_OK) return HL_BAD_INPUT;
    if (!fed_by || !*fed_by) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "stage '%s' does not say what feeds it; name a stage, or mains", name);
        return HL_BAD_INPUT;
    }
    if (draft->stages.n == HL_STAGES_MAX) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "more than %d stages; join some, such as switches in series", HL_STAGES_MAX);
        return HL_BAD_INPUT;
    }
    hl_value *values = arena_array(draft->memory, found->n_parameters + 1, sizeof *values);
    hl_band *bands = arena_array(draft->memory, found->n_parameters + 1, sizeof *bands);
    const char *own_name = arena_copy(draft->memory, name), *own_feed = arena_copy(draft->memory, fed_by);
    if (!values || !bands || !own_name || !own_feed) return no_memory(place, diagnostics);
    draft_stage *stage = list_add(draft->memory, &draft->stages, sizeof *stage);
    if (!stage) return no_memory(place, diagnostics);
    stage->name = own_name;
    stage->fed_by = own_feed;
    stage->model = found;
    stage->values = values;
    stage->bands = bands;
    stage->place = keep_place(draft, place);
    return HL_OK;
}

static draft_stage *need_stage(const hl_draft *draft, const hl_place *place, const char *name,
                               hl_diagnostics *diagnostics)
{
    draft_stage *stage = name ? draft_find_stage(draft, name) : NULL;
    if (!stage) hl_diagnostics_add(diagnostics, HL_ERROR, place, "no stage is named '%s'", name ? name : "");
    return stage;
}

/* Index of a parameter by name; says the nearest one when there is none. */
static size_t need_parameter(const hl_model *model, const hl_place *place, const char *owner,
                             const char *name, hl_diagnostics *diagnostics)
{
    const char *words[128];
    size_t n = model->n_parameters < 127 ? model->n_parameters : 127;
    for (size_t i = 0; i < n; i++) {
        words[i] = hl_model_parameter(model, i)->name;
        if (!strcmp(words[i], name)) return i;
    }
    words[n] = NULL;
    const char *near = hl_nearest_word(name, words);
    if (near)
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s: no parameter '%s'; did you mean '%s'?", owner,
                           name, near);
    else
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "%s: no parameter '%s'; `heatledger models %s` lists them", owner, name,
                           model->name);
    return SIZE_MAX;
}

hl_status hl_draft_set(hl_draft *draft, const hl_place *place, const char *stage, const char *parameter,
                       const char *text, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    draft_stage *found = need_stage(draft, place, stage, diagnostics);
    if (!found) return HL_BAD_INPUT;
    size_t index = need_parameter(found->model, place, stage, parameter, diagnostics);
    if (index == SIZE_MAX) return HL_BAD_INPUT;
    char group[64] = "";
    hl_band band;
    hl_status status = hl_value_read_band(hl_model_parameter(found->model, index), text, place,
                                          &found->values[index], &band, group, sizeof group, diagnostics);
    if (status != HL_OK) return status;
    if (band.group && !(band.group = arena_copy(draft->memory, group))) return no_memory(place, diagnostics);
    found->bands[index] = band;
    return HL_OK;
}

hl_status hl_draft_set_number(hl_draft *draft, const hl_place *place, const char *stage,
                              const char *parameter, double number, hl_diagnostics *diagnostics)
{
    draft_stage *found = need_stage(draft, place, stage, diagnostics);
    if (!found) return HL_BAD_INPUT;
    size_t index = need_parameter(found->model, place, stage, parameter, diagnostics);
    if (index == SIZE_MAX) return HL_BAD_INPUT;
    found->bands[index] = (hl_band){.kind = HL_BAND_NONE};
    return hl_value_from_number(hl_model_parameter(found->model, index), number, place, &found->values[index],
                                diagnostics);
}

static bool count_is_sane(const hl_place *place, const char *what, unsigned count,
                          hl_diagnostics *diagnostics)
{
    if (count >= 1 && count <= 64) return true;
    hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s: %u parts in parallel; use 1 to 64", what, count);
    return false;
}

static size_t need_slot(const draft_stage *stage, const hl_place *place, const char *name,
                        hl_diagnostics *diagnostics)
{
    const hl_stage *model = stage->model->stage;
    const char *words[HL_SLOTS_MAX + 1] = {0};
    for (size_t i = 0; i < model->n_slots; i++) {
        words[i] = hl_stage_slot(model, i)->name;
        if (!strcmp(words[i], name)) return i;
    }
    const char *near = hl_nearest_word(name, words);
    char list_text[400] = "";
    for (size_t i = 0; i < model->n_slots; i++) join_word(list_text, sizeof list_text, ", ", words[i]);
    if (near)
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s: no slot '%s'; did you mean '%s'?", stage->name,
                           name, near);
    else
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s: no slot '%s'; a %s has: %s", stage->name, name,
                           stage->model->name, list_text);
    return SIZE_MAX;
}

hl_status hl_draft_fill(hl_draft *draft, const hl_place *place, const char *stage, const char *slot,
                        const hl_part *part, unsigned count, hl_diagnostics *diagnostics)
{
    draft_stage *found = need_stage(draft, place, stage, diagnostics);
    if (!found) return HL_BAD_INPUT;
    size_t index = need_slot(found, place, slot, diagnostics);
    if (index == SIZE_MAX || !count_is_sane(place, slot, count, diagnostics)) return HL_BAD_INPUT;
    if (!slot_need_fit(draft, found, index, part, place, diagnostics)) return HL_BAD_INPUT;
    if (found->slots[index].part) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s.%s is filled twice; keep one", stage, slot);
        return HL_BAD_INPUT;
    }
    found->slots[index] = (draft_slot){part, count, keep_place(draft, place), {0}};
    return HL_OK;
}

hl_status hl_draft_bus_capacitor(hl_draft *draft, const hl_place *place, const char *stage, const char *label,
                                 const hl_part *part, unsigned count, hl_diagnostics *diagnostics)
{
    draft_stage *found = need_stage(draft, place, stage, diagnostics);
    if (!found || !count_is_sane(place, label, count, diagnostics)) return HL_BAD_INPUT;
    const hl_model *model = hl_part_model(part);
    if (!model->device || model->device->family != HL_FAMILY_CAPACITOR) {
        hl_diagnostics_add(
            diagnostics, HL_ERROR, place,
            "%s: part '%s' on the output bus is not a capacitor; put it into a slot of a stage", stage,
            hl_part_name(part));
        return HL_BAD_INPUT;
    }
    if (!name_is_plain(label)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "%s: capacitor name '%s' is not usable; use 1 to 48 letters, digits, _ or -",
                           stage, label ? label : "");
        return HL_BAD_INPUT;
    }
    const hl_stage *stage_model = found->model->stage;
    for (size_t i = 0; i < stage_model->n_slots; i++)
        if (!strcmp(hl_stage_slot(stage_model, i)->name, label)) {
            hl_diagnostics_add(diagnostics, HL_ERROR, place,
                               "%s: '%s' is a slot of this stage; give the bus capacitor another name", stage,
                               label);
            return HL_BAD_INPUT;
        }
    for (size_t i = 0; i < found->capacitors.n; i++)
        if (!strcmp(LIST_AT(found->capacitors, draft_capacitor, i)->label, label)) {
            hl_diagnostics_add(diagnostics, HL_ERROR, place,
                               "%s: two bus capacitors are named '%s'; use a count or two names", stage,
                               label);
            return HL_BAD_INPUT;
        }
    if (found->capacitors.n == HL_BUS_CAPACITORS_MAX) {
        hl_diagnostics_add(
            diagnostics, HL_ERROR, place,
            "%s: more than %d kinds of capacitor on one bus; state alike ones once, with a count", stage,
            HL_BUS_CAPACITORS_MAX);
        return HL_BAD_INPUT;
    }
    const char *own_label = arena_copy(draft->memory, label);
    draft_capacitor *entry = own_label ? list_add(draft->memory, &found->capacitors, sizeof *entry) : NULL;
    if (!entry) return no_memory(place, diagnostics);
    *entry = (draft_capacitor){own_label, part, count, keep_place(draft, place), {0}};
    return HL_OK;
}

hl_status hl_draft_port(hl_draft *draft, const hl_place *place, const char *name, const char *fed_by,
                        double voltage, double current, hl_diagnostics *diagnostics)
{
    if (check_name(draft, place, "port", name, diagnostics) != HL_OK) return HL_BAD_INPUT;
    if (!within(place, "port voltage", voltage, 0.5, 1000.0, "V", diagnostics) ||
        !within(place, "port current", current, 0.0, 1000.0, "A", diagnostics))
        return HL_BAD_INPUT;
    if (!fed_by || !*fed_by) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "port '%s' does not say what feeds it; name a stage",
                           name);
        return HL_BAD_INPUT;
    }
    const char *own_name = arena_copy(draft->memory, name), *own_feed = arena_copy(draft->memory, fed_by);
    if (!own_name || !own_feed) return no_memory(place, diagnostics);
    draft_port *port = list_add(draft->memory, &draft->ports, sizeof *port);
    if (!port) return no_memory(place, diagnostics);
    *port = (draft_port){own_name, own_feed, voltage, current, keep_place(draft, place)};
    return HL_OK;
}

hl_status hl_draft_box(hl_draft *draft, const hl_place *place, const hl_box *box, hl_diagnostics *diagnostics)
{
    if (draft->has_box) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "a second enclosure; an adapter has one: keep one");
        return HL_BAD_INPUT;
    }
    draft->has_box = true;
    draft->box = *box;
    draft->box_place = keep_place(draft, place);
    return HL_OK;
}

hl_status hl_draft_board(hl_draft *draft, const hl_place *place, const hl_board *board,
                         hl_diagnostics *diagnostics)
{
    if (!name_is_plain(board->name)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "board name '%s' is not usable; use 1 to 48 letters, digits, _ or -",
                           board->name ? board->name : "");
        return HL_BAD_INPUT;
    }
    for (size_t i = 0; i < draft->boards.n; i++)
        if (!strcmp(LIST_AT(draft->boards, draft_board, i)->board.name, board->name)) {
            hl_diagnostics_add(diagnostics, HL_ERROR, place, "two boards are named '%s'; rename one",
                               board->name);
            return HL_BAD_INPUT;
        }
    const char *own_name = arena_copy(draft->memory, board->name);
    draft_board *entry = own_name ? list_add(draft->memory, &draft->boards, sizeof *entry) : NULL;
    if (!entry) return no_memory(place, diagnostics);
    entry->board = *board;
    entry->board.name = own_name;
    entry->place = keep_place(draft, place);
    return HL_OK;
}

hl_status hl_draft_spreader(hl_draft *draft, const hl_place *place, const hl_spreader *spreader,
                            hl_diagnostics *diagnostics)
{
    if (!name_is_plain(spreader->name)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "spreader name '%s' is not usable; use 1 to 48 letters, digits, _ or -",
                           spreader->name ? spreader->name : "");
        return HL_BAD_INPUT;
    }
    for (int k = 0; k < 3; k++)
        if (!(spreader->low[k] < spreader->high[k])) {
            hl_diagnostics_add(
                diagnostics, HL_ERROR, place,
                "spreader '%s' has no extent along %c: low is not below high; swap its corners",
                spreader->name, "xyz"[k]);
            return HL_BAD_INPUT;
        }
    if (!(spreader->conductivity > 0)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "spreader '%s' needs a conductivity above 0",
                           spreader->name);
        return HL_BAD_INPUT;
    }
    const char *own_name = arena_copy(draft->memory, spreader->name);
    draft_spreader *entry = own_name ? list_add(draft->memory, &draft->spreaders, sizeof *entry) : NULL;
    if (!entry) return no_memory(place, diagnostics);
    entry->spreader = *spreader;
    entry->spreader.name = own_name;
    entry->place = keep_place(draft, place);
    return HL_OK;
}

hl_status hl_draft_position(hl_draft *draft, const hl_place *place, const char *item,
                            const hl_position *position, hl_diagnostics *diagnostics)
{
    for (size_t i = 0; i < draft->positions.n; i++)
        if (!strcmp(LIST_AT(draft->positions, draft_position, i)->item, item)) {
            hl_diagnostics_add(diagnostics, HL_ERROR, place, "'%s' is placed twice; keep one", item);
            return HL_BAD_INPUT;
        }
    const char *own_item = arena_copy(draft->memory, item);
    const char *own_board = arena_copy(draft->memory, position->board);
    draft_position *entry = own_item ? list_add(draft->memory, &draft->positions, sizeof *entry) : NULL;
    if (!entry || (position->board && !own_board)) return no_memory(place, diagnostics);
    entry->item = own_item;
    entry->position = *position;
    entry->position.board = own_board;
    entry->place = keep_place(draft, place);
    return HL_OK;
}

hl_status hl_draft_node(hl_draft *draft, const hl_place *place, const char *name, double capacity,
                        hl_diagnostics *diagnostics)
{
    if (!name_is_plain(name) || !(capacity >= 0) || !isfinite(capacity)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "node '%s': the name must be plain and the capacity zero or more",
                           name ? name : "");
        return HL_BAD_INPUT;
    }
    const char *own_name = arena_copy(draft->memory, name);
    draft_node *entry = own_name ? list_add(draft->memory, &draft->nodes, sizeof *entry) : NULL;
    if (!entry) return no_memory(place, diagnostics);
    *entry = (draft_node){own_name, capacity, keep_place(draft, place)};
    return HL_OK;
}

static hl_status add_link(hl_draft *draft, const hl_place *place, const char *a, const char *b,
                          const hl_link *link, bool replaces, hl_diagnostics *diagnostics)
{
    const char *own_a = arena_copy(draft->memory, a), *own_b = arena_copy(draft->memory, b);
    draft_link *entry = own_a && own_b ? list_add(draft->memory, &draft->links, sizeof *entry) : NULL;
    if (!entry) return no_memory(place, diagnostics);
    *entry = (draft_link){.a = own_a, .b = own_b, .law = link->law, .kind = link->kind};
    memcpy(entry->p, link->p, sizeof entry->p);
    entry->replaces = replaces;
    entry->place = keep_place(draft, place);
    return HL_OK;
}

hl_status hl_draft_link(hl_draft *draft, const hl_place *place, const char *a, const char *b, hl_law law,
                        int kind, const double p[4], hl_diagnostics *diagnostics)
{
    const hl_link link = {0, 0, law, kind, {p[0], p[1], p[2], p[3]}};
    return add_link(draft, place, a, b, &link, false, diagnostics);
}

hl_status hl_draft_override(hl_draft *draft, const hl_place *place, const char *a, const char *b, hl_law law,
                            int kind, const double p[4], hl_diagnostics *diagnostics)
{
    const hl_link link = {0, 0, law, kind, {p[0], p[1], p[2], p[3]}};
    return add_link(draft, place, a, b, &link, true, diagnostics);
}
