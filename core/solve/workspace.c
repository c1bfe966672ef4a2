/* workspace.c - making and freeing a workspace.  All memory a point needs is taken here. */
#include "solve/feedback.h"

#include <string.h>

#include "plugin/calling.h"
#include "solve/field_step.h"
#include "solve/ripple.h"

/* Values of all curves and lists that a setting may scale. */
static size_t scaled_rows(const value_set *set)
{
    size_t n = 0;
    for (size_t i = 0; i < set->n; i++)
        if (set->setting[i] != SIZE_MAX) n += set->values[i].curve.n;
    return n;
}

static bool applied_create(arena *memory, const value_set *set, size_t rows, applied *made)
{
    made->values = arena_array(memory, set->n + 1, sizeof *made->values);
    made->number = arena_array(memory, set->n + 1, sizeof *made->number);
    made->rows = arena_array(memory, rows + 1, sizeof *made->rows);
    if (!made->values || !made->number || !made->rows) return false;
    if (set->n) memcpy(made->values, set->values, set->n * sizeof *made->values);
    return true;
}

static bool stage_create(hl_workspace *work, size_t index)
{
    const design_stage *stage = &work->design->stages[index];
    stage_state *state = &work->stages[index];
    const hl_stage *model = stage->model->stage;
    if (!applied_create(work->memory, &stage->set, scaled_rows(&stage->set), &state->set)) return false;
    state->own_voltage = electrical_own_voltage(stage);
    state->scratch.size = model->scratch_size + 4096;
    state->scratch.base = arena_take(work->memory, state->scratch.size);
    state->memory = model->memory_size ? arena_take(work->memory, model->memory_size) : NULL;
    return state->scratch.base && (state->memory || !model->memory_size);
}

/* Room for the greediest of the item's alternatives. */
static bool item_create(hl_workspace *work, size_t index)
{
    const design_item *item = &work->design->items[index];
    item_state *state = &work->items[index];
    value_set widest = item->set;
    size_t rows = scaled_rows(&item->set);
    for (size_t i = 0; i < item->n_alternatives; i++) {
        const value_set *set = &item->alternatives[i].set;
        calling(set->model, "state_size", item->shown.name);
        size_t size = set->model->device->state_size(set->values);
        called();
        if (size > state->state_size) state->state_size = size;
        if (set->n > widest.n) widest = *set;
        if (scaled_rows(set) > rows) rows = scaled_rows(set);
    }
    if (!applied_create(work->memory, &widest, rows, &state->set)) return false;
    if (item->set.n) memcpy(state->set.values, item->set.values, item->set.n * sizeof *state->set.values);
    state->state = arena_take(work->memory, state->state_size);
    state->spare = arena_take(work->memory, state->state_size);
    if (item->slot < 0) {
        state->line_frequency = arena_array(work->memory, work->lines_room, sizeof(double));
        state->line_rms_squared = arena_array(work->memory, work->lines_room, sizeof(double));
        if (!state->line_frequency || !state->line_rms_squared) return false;
    }
    return state->state && state->spare;
}

static bool network_create(hl_workspace *work)
{
    const hl_network *network = work->design->network;
    size_t n = network ? hl_network_nodes(network) : 0;
    work->temperature = arena_array(work->memory, n + 1, sizeof(double));
    work->base = arena_array(work->memory, n + 1, sizeof(double));
    work->power = arena_array(work->memory, n + 1, sizeof(double));
    work->slope = arena_array(work->memory, n + 1, sizeof(double));
    work->sent = arena_array(work->memory, n + 1, sizeof(double));
    work->steep = arena_array(work->memory, n + 1, sizeof(double));
    size_t unknowns = 3 * work->design->n_stages + n;
    work->handed = arena_array(work->memory, unknowns + 1, sizeof(double));
    work->made = arena_array(work->memory, unknowns + 1, sizeof(double));
    if (!work->temperature || !work->base || !work->power || !work->slope || !work->sent || !work->steep)
        return false;
    if (!work->handed || !work->made || !mixing_create(&work->mix, work->memory, unknowns)) return false;
    if (!network) return true;
    if (!response_bench_create(&work->bench, work->memory, work->design)) return false;
    if (!foresight_create(&work->sight, &work->first, work->memory, work->design)) return false;
    if (work->design->field) return field_step_create(work);
    work->network = hl_network_work_create(network);
    return work->network != NULL;
}

static hl_workspace *create(const hl_design *design, const hl_workspace *beside)
{
    arena *memory = arena_create_paged();
    hl_workspace *work = memory ? arena_take(memory, sizeof *work) : NULL;
    if (!work) {
        arena_destroy(memory);
        return NULL;
    }
    work->memory = memory;
    work->feedback = arena_take(memory, sizeof *work->feedback);
    if (work->feedback) feedback_begin(work);
    if (!work->feedback || !parts_create(work, design)) {
        hl_workspace_destroy(work);
        return NULL;
    }
    work->stages = arena_array(memory, design->n_stages + 1, sizeof *work->stages);
    work->items = arena_array(memory, design->n_items + 1, sizeof *work->items);
    size_t widest = 0;
    for (size_t i = 0; i < design->n_stages; i++)
        if (design->stages[i].n_children > widest) widest = design->stages[i].n_children;
    work->lines_room = (widest + 1) * RIPPLE_LINES_MAX;
    work->line_frequency = arena_array(memory, work->lines_room, sizeof(double));
    work->line_rms_squared = arena_array(memory, work->lines_room, sizeof(double));
    work->line_real = arena_array(memory, work->lines_room, sizeof(double));
    work->line_imaginary = arena_array(memory, work->lines_room, sizeof(double));
    work->line_resistance = arena_array(memory, work->lines_room, sizeof(double));
    work->line_reactance = arena_array(memory, work->lines_room, sizeof(double));
    bool good = work->stages && work->items && work->line_frequency && work->line_rms_squared &&
                work->line_real && work->line_imaginary && work->line_resistance && work->line_reactance &&
                network_create(work);
    for (size_t i = 0; good && i < design->n_stages; i++) good = stage_create(work, i);
    for (size_t i = 0; good && i < design->n_items; i++) good = item_create(work, i);
    if (good && values_create(work) && anchors_create(work, beside)) return work;
    hl_workspace_destroy(work);
    return NULL;
}

hl_workspace *hl_workspace_create(const hl_design *design)
{
    return create(design, NULL);
}

hl_workspace *hl_workspace_beside(const hl_workspace *other)
{
    return create(other->described, other);
}

void hl_workspace_destroy(hl_workspace *workspace)
{
    if (!workspace) return;
    anchors_destroy(workspace);
    hl_network_work_destroy(workspace->network);
    field_step_destroy(workspace);
    hl_network_destroy(workspace->chosen_network);
    arena_destroy(workspace->memory);
}
