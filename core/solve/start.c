/* start.c - what a solved point hands to another as its beginning. */
#include "solve/workspace.h"

#include <string.h>

/* Of each stage: watts beyond its waveforms, watts its bus draws, its voltage over the first guess. */
typedef struct stage_end {
    double extra, bus_drawn, voltage_ratio;
    void *memory;
} stage_end;

struct hl_start {
    arena *memory;
    const hl_design *design;
    bool taken;
    double power; /* W its ports asked for */
    size_t nodes;
    stage_end *stages;
    double *rise; /* K over the surroundings, per node */
    mixing mix;   /* how rounds answered there */
};

static bool ends_create(hl_start *start)
{
    const hl_design *design = start->design;
    for (size_t i = 0; i < design->n_stages; i++) {
        size_t size = design->stages[i].model->stage->memory_size;
        start->stages[i].memory = size ? arena_take(start->memory, size) : NULL;
        if (size && !start->stages[i].memory) return false;
    }
    return true;
}

hl_start *hl_start_create(const hl_design *design)
{
    arena *memory = arena_create();
    hl_start *start = memory ? arena_take(memory, sizeof *start) : NULL;
    if (!start) {
        arena_destroy(memory);
        return NULL;
    }
    start->memory = memory;
    start->design = design;
    start->nodes = hl_design_nodes(design);
    start->stages = arena_array(memory, design->n_stages + 1, sizeof *start->stages);
    start->rise = arena_array(memory, start->nodes + 1, sizeof(double));
    if (start->stages && start->rise && ends_create(start) &&
        mixing_create(&start->mix, memory, 3 * design->n_stages + start->nodes))
        return start;
    hl_start_destroy(start);
    return NULL;
}

void hl_start_destroy(hl_start *start)
{
    if (start) arena_destroy(start->memory);
}

/* W, as far as settings tell: of ports on a bus of their own voltage the current stands for it. */
static double power_asked(const hl_workspace *work)
{
    const hl_design *design = work->design;
    double power = 0;
    for (size_t p = 0; p < design->n_ports; p++) {
        double volts = work->settings[design->ports[p].voltage_setting];
        power += work->settings[design->ports[p].current_setting] * (volts > 0 ? volts : 1);
    }
    return power * work->settings[SETTING_LOAD];
}

/* What losses are likely to be over those at the start: nearly in proportion to power, with a part that
 * stays. A guess only, and none beyond threefold; observed over the examples. */
static double losses_likely(const hl_start *start, double power)
{
    double ratio = start->power > 0 ? power / start->power : 1;
    return ratio >= 0 && ratio <= 3 ? 0.15 + 0.85 * ratio : 1;
}

bool hl_start_take(hl_start *start, const hl_workspace *workspace)
{
    const hl_design *design = start->design;
    start->taken = false;
    if (!workspace->settings || workspace->outcome != HL_SOLVED ||
        workspace->design->n_stages != design->n_stages || hl_design_nodes(workspace->design) != start->nodes)
        return false;
    for (size_t i = 0; i < design->n_stages; i++) {
        const stage_state *state = &workspace->stages[i];
        stage_end *end = &start->stages[i];
        end->extra = state->extra;
        end->bus_drawn = state->bus_drawn;
        end->voltage_ratio = state->guess > 0 ? state->voltage / state->guess : 1;
        if (end->memory) memcpy(end->memory, state->memory, design->stages[i].model->stage->memory_size);
    }
    for (size_t i = 0; i < start->nodes; i++)
        start->rise[i] = workspace->temperature[i] - workspace->surroundings.temperature;
    start->power = power_asked(workspace);
    mixing_copy(&start->mix, &workspace->mix);
    start->taken = true;
    return true;
}

bool start_seed(hl_workspace *work, const hl_start *start)
{
    if (!start || !start->taken || work->design->n_stages != start->design->n_stages ||
        hl_design_nodes(work->design) != start->nodes)
        return false;
    double likely = losses_likely(start, power_asked(work));
    for (size_t i = 0; i < work->design->n_stages; i++) {
        stage_state *state = &work->stages[i];
        const stage_end *end = &start->stages[i];
        state->extra = likely * end->extra;
        state->bus_drawn = likely * end->bus_drawn;
        state->voltage = state->guess * end->voltage_ratio;
        if (end->memory)
            memcpy(state->memory, end->memory, work->design->stages[i].model->stage->memory_size);
    }
    for (size_t i = 0; i < start->nodes; i++)
        work->temperature[i] = work->surroundings.temperature + likely * start->rise[i];
    mixing_copy(&work->mix, &start->mix);
    return true;
}
