/* alternatives.c - parts that may stand in the place of another: naming them, and their own heat paths.
 *
 * A part's thermal resistances and surface become figures of links.  So the network is built once more for
 * each alternative, alone among the first parts, and the links that came out otherwise are kept. */
#include "design/alternatives.h"

#include <stdlib.h>
#include <string.h>

#include "design/heat_paths.h"
#include "design/slot_fit.h"

/* ----------------------------------------------------------------- draft -- */

/* The slot or bus capacitor that is meant: its part and its list. */
typedef struct holder {
    const hl_part *part;
    list *alternatives;
    const draft_stage *stage;
    size_t slot; /* SIZE_MAX: on the bus */
} holder;

static holder find_holder(draft_stage *stage, const char *name)
{
    const hl_stage *model = stage->model->stage;
    for (size_t s = 0; s < model->n_slots; s++) {
        const hl_slot *slot = hl_stage_slot(model, s);
        if (!strcmp(slot->name, name))
            return (holder){stage->slots[s].part, &stage->slots[s].alternatives, stage, s};
    }
    for (size_t c = 0; c < stage->capacitors.n; c++) {
        draft_capacitor *capacitor = LIST_AT(stage->capacitors, draft_capacitor, c);
        if (!strcmp(capacitor->label, name))
            return (holder){capacitor->part, &capacitor->alternatives, stage, SIZE_MAX};
    }
    return (holder){0};
}

/* The part of this name that already stands for the holder, or NULL. */
static const hl_part *named(const holder *in, const char *name)
{
    if (!strcmp(hl_part_name(in->part), name)) return in->part;
    for (size_t i = 0; i < in->alternatives->n; i++) {
        const hl_part *part = *LIST_AT(*in->alternatives, const hl_part *, i);
        if (!strcmp(hl_part_name(part), name)) return part;
    }
    return NULL;
}

/* Read twice from one file it is still the same. */
static bool same_part(const hl_part *a, const hl_part *b)
{
    if (!a || a == b) return a == b;
    hl_place x = hl_part_place(a), y = hl_part_place(b);
    return x.file && y.file && !strcmp(x.file, y.file) && x.line == y.line;
}

/* Does the part fit there: into the slot, or as a capacitor on the bus? */
static bool fits(const holder *in, const hl_part *part)
{
    if (in->slot != SIZE_MAX) return slot_fits(in->stage, in->slot, part);
    return hl_part_model(part)->device->family == HL_FAMILY_CAPACITOR;
}

static bool may_stand(const hl_draft *draft, const holder *in, const hl_place *place, const char *stage,
                      const char *slot, const hl_part *part, hl_diagnostics *diagnostics)
{
    if (!fits(in, part) && in->slot != SIZE_MAX)
        return slot_need_fit(draft, in->stage, in->slot, part, place, diagnostics);
    if (!fits(in, part)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "%s.%s: part '%s' is a %s, which does not fit there; the bus takes capacitors",
                           stage, slot, hl_part_name(part),
                           hl_family_name(hl_part_model(part)->device->family));
        return false;
    }
    if (named(in, hl_part_name(part))) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "%s.%s: two different parts are named '%s'; rename one in its part file", stage,
                           slot, hl_part_name(part));
        return false;
    }
    if (in->alternatives->n + 1 >= HL_ALTERNATIVES_MAX) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s.%s: more than %d parts to choose from", stage,
                           slot, HL_ALTERNATIVES_MAX);
        return false;
    }
    return true;
}

hl_status hl_draft_alternative(hl_draft *draft, const hl_place *place, const char *stage, const char *slot,
                               const hl_part *part, hl_diagnostics *diagnostics)
{
    draft_stage *found = draft_find_stage(draft, stage);
    holder in = {0};
    if (found) in = find_holder(found, slot);
    if (!in.part) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place,
                           "'%s.%s' holds no part, so there is nothing to put '%s' in the place of", stage,
                           slot, hl_part_name(part));
        return HL_BAD_INPUT;
    }
    if (same_part(named(&in, hl_part_name(part)), part)) return HL_OK;
    if (!may_stand(draft, &in, place, stage, slot, part, diagnostics)) return HL_BAD_INPUT;
    const hl_part **entry = list_add(draft->memory, in.alternatives, sizeof *entry);
    if (!entry) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "memory ran out; close other programs");
        return HL_NO_MEMORY;
    }
    *entry = part;
    return HL_OK;
}

bool hl_draft_takes(const hl_draft *draft, const char *stage, const char *slot, const hl_part *part,
                    bool *there)
{
    draft_stage *found = draft_find_stage(draft, stage);
    holder in = {0};
    if (there) *there = false;
    if (found) in = find_holder(found, slot);
    if (!in.part) return false;
    const hl_part *own = named(&in, hl_part_name(part));
    if (there) *there = own != NULL;
    if (own) return same_part(own, part);
    return in.alternatives->n + 1 < HL_ALTERNATIVES_MAX && fits(&in, part);
}

bool hl_draft_filled(const hl_draft *draft, size_t index, const char **stage, const char **slot,
                     const hl_part **part)
{
    for (size_t i = 0; i < draft->stages.n; i++) {
        draft_stage *in = LIST_AT(draft->stages, draft_stage, i);
        *stage = in->name;
        for (size_t s = 0; s < in->model->stage->n_slots; s++) {
            if (!in->slots[s].part || index-- > 0) continue;
            *slot = hl_stage_slot(in->model->stage, s)->name;
            *part = in->slots[s].part;
            return true;
        }
        for (size_t c = 0; c < in->capacitors.n; c++) {
            if (index-- > 0) continue;
            const draft_capacitor *capacitor = LIST_AT(in->capacitors, draft_capacitor, c);
            *slot = capacitor->label;
            *part = capacitor->part;
            return true;
        }
    }
    return false;
}

/* --------------------------------------------------------------- changes -- */

/* Figures that are the part's own; size and place stay those of the first, whose room it takes. */
static void mix_commons(hl_value mixed[HL_COMMONS], const hl_value first[], const hl_value other[])
{
    static const enum hl_common own[] = {HL_COMMON_RESISTANCE_CASE, HL_COMMON_RESISTANCE_BOARD,
                                         HL_COMMON_EMISSIVITY, HL_COMMON_CONDUCTIVITY};
    memcpy(mixed, first, HL_COMMONS * sizeof *mixed);
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
        if (other[own[i]].given) mixed[own[i]] = other[own[i]];
}

static bool same_shape(const hl_network *a, const hl_network *b)
{
    if (hl_network_nodes(a) != hl_network_nodes(b) || hl_network_links(a) != hl_network_links(b))
        return false;
    for (size_t k = 0; k < hl_network_links(a); k++) {
        const hl_link *x = hl_network_link(a, (int)k), *y = hl_network_link(b, (int)k);
        if (x->a != y->a || x->b != y->b || x->law != y->law || x->kind != y->kind) return false;
    }
    return true;
}

static bool keep_changes(hl_design *design, const hl_network *other, alternative *to)
{
    size_t links = hl_network_links(other);
    to->changes = arena_array(design->memory, links + 1, sizeof *to->changes);
    if (!to->changes) return false;
    for (size_t k = 0; k < links; k++) {
        const hl_link *link = hl_network_link(other, (int)k);
        if (memcmp(link->p, hl_network_link(design->network, (int)k)->p, sizeof link->p) != 0)
            to->changes[to->n_changes++] = (link_change){(int)k, *link};
    }
    return true;
}

/* The network with this alternative in place of the item's first part. */
static bool try_alternative(const hl_draft *draft, hl_design *design, size_t index, alternative *to,
                            design_item *items, hl_diagnostics *diagnostics)
{
    hl_value mixed[HL_COMMONS];
    hl_design trial = *design;
    trial.items = items;
    trial.network = NULL;
    trial.field = NULL;
    memcpy(items, design->items, design->n_items * sizeof *items);
    mix_commons(mixed, design->items[index].commons, to->commons);
    items[index].commons = mixed;
    bool built = heat_paths_build(draft, &trial, NULL) == HL_OK && trial.network, good = true;
    if (built && same_shape(design->network, trial.network))
        good = keep_changes(design, trial.network, to);
    else
        hl_diagnostics_add(diagnostics, HL_WARNING, NULL,
                           "%s: part '%s' states other heat paths than '%s'; it is taken to stand on the "
                           "latter's",
                           design->items[index].shown.name, hl_part_name(to->part),
                           hl_part_name(design->items[index].shown.part));
    hl_network_destroy(trial.network);
    return good;
}

bool alternatives_find_changes(const hl_draft *draft, hl_design *design, hl_diagnostics *diagnostics)
{
    if (!design->network || design->field) return true; /* a field keeps the bodies it was made with */
    design_item *items = calloc(design->n_items + 1, sizeof *items);
    bool good = items != NULL;
    for (size_t i = 0; good && i < design->n_items; i++)
        for (size_t k = 1; good && k < design->items[i].n_alternatives; k++)
            good = try_alternative(draft, design, i, &design->items[i].alternatives[k], items, diagnostics);
    free(items);
    return good;
}
