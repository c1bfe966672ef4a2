/* start.c - what a solved point hands to another as its beginning. */
#include "solve/feedback.h"

#include <math.h>
#include <string.h>

#include "quantity/float_state.h"
#include "solve/look_back.h"
#include "solve/round.h"
#include "solve/vectors.h"
#include "thermal/repeat.h"
#include "wave/lanes.h"

/* Step of a difference as a share of a setting. */
static const double small_share = 1e-4;

/* A setting with which the point moves. */
typedef struct knob {
    size_t setting;
    double at; /* its value there */
    double
        *slope; /* per unknown, d/d(setting): voltages over their guess, temperatures over the surroundings */
} knob;

struct hl_start {
    arena *memory;
    const hl_design *design;
    bool taken;
    double power; /* W its ports asked for */
    size_t nodes, unknowns;
    /* [unknowns] of each stage watts beyond its waveforms, watts its bus draws, its voltage over the first
     * guess; then K over the surroundings, per node */
    double *end;
    double *off; /* [unknowns] the same less what the anchors foretold */
    bool has_off;
    double *scale;      /* [unknowns] the inverse of what counts as one of them */
    void **memory_of;   /* [stages] NULL: the stage has none */
    double *mode;       /* [nodes] in which temperatures would run away; nought: not known */
    mixing mix;         /* how rounds answered there */
    response answers;   /* the same in full; unknown unless learnt */
    response_mean near; /* that, or what others around this one have learnt */
    knob *knobs;
    size_t n_knobs; /* 0 unless learnt */
    size_t room;    /* for knobs */
    double *settings, *moved;
    double *bend,
        *twist;      /* [unknowns] second and third powers along one setting; NULL: no room, nought there */
    foresight sight; /* of points beside it */
    told own;        /* chosen when it learns by itself, not as one of several */
};

static bool memories_create(hl_start *start)
{
    const hl_design *design = start->design;
    for (size_t i = 0; i < design->n_stages; i++) {
        size_t size = design->stages[i].model->stage->memory_size;
        start->memory_of[i] = size ? arena_take(start->memory, size) : NULL;
        if (size && !start->memory_of[i]) return false;
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
    start->unknowns = round_unknowns(design);
    start->end = arena_array(memory, start->unknowns + LANES, sizeof(double));
    start->off = arena_array(memory, start->unknowns + LANES, sizeof(double));
    start->scale = arena_array(memory, start->unknowns + LANES, sizeof(double));
    start->memory_of = arena_array(memory, design->n_stages + 1, sizeof *start->memory_of);
    start->mode = arena_array(memory, start->nodes + 1, sizeof(double));
    if (start->end && start->off && start->scale && start->memory_of && start->mode &&
        memories_create(start) && foresight_create(&start->sight, NULL, memory, design) &&
        mixing_create(&start->mix, memory, start->unknowns))
        return start;
    hl_start_destroy(start);
    return NULL;
}

void hl_start_destroy(hl_start *start)
{
    if (start) arena_destroy(start->memory);
}

/* W, as far as settings tell: of ports on a bus of their own voltage the current stands for it. */
double start_power(const hl_design *design, const double settings[])
{
    double power = 0;
    for (size_t p = 0; p < design->n_ports; p++) {
        double volts = settings[design->ports[p].voltage_setting];
        power += settings[design->ports[p].current_setting] * (volts > 0 ? volts : 1);
    }
    return power * settings[SETTING_LOAD];
}

/* What losses are likely to be over those at the start: nearly in proportion to power, with a part that
 * stays. A guess only, and none beyond threefold; observed over the examples. */
static double losses_likely(const hl_start *start, double power)
{
    double ratio = start->power > 0 ? power / start->power : 1;
    return ratio >= 0 && ratio <= 3 ? 0.15 + 0.85 * ratio : 1;
}

/* How far the answer is off from what the anchors said it would be; NULL: they said nothing. */
static void take_off(hl_start *start, const hl_start *said)
{
    start->has_off = said && said->taken;
    if (!start->has_off) return;
    memcpy(start->off, start->end, start->unknowns * sizeof *start->off);
    vector_add(start->off, -1, said->end, start->unknowns);
}

static void take_scale(hl_start *start, const mixing *mix)
{
    memcpy(start->scale, mix->scale, start->unknowns * sizeof *start->scale);
    for (size_t i = 0; i < start->design->n_stages; i++) start->scale[3 * i + 2] = 1; /* ratios already */
}

static void take_memories(hl_start *to, const hl_start *from)
{
    for (size_t i = 0; i < to->design->n_stages; i++)
        if (to->memory_of[i])
            memcpy(to->memory_of[i], from->memory_of[i], to->design->stages[i].model->stage->memory_size);
}

bool hl_start_take(hl_start *start, const hl_workspace *workspace)
{
    const hl_design *design = start->design;
    start->taken = start->answers.known = false;
    start->near.n = 0;
    start->n_knobs = 0;
    if (!workspace->settings || workspace->outcome != HL_SOLVED ||
        workspace->design->n_stages != design->n_stages || hl_design_nodes(workspace->design) != start->nodes)
        return false;
    double *end = start->end;
    for (size_t i = 0; i < design->n_stages; i++, end += 3) {
        const stage_state *state = &workspace->stages[i];
        end[0] = state->extra;
        end[1] = state->bus_drawn;
        end[2] = state->guess > 0 ? state->voltage / state->guess : 1;
        if (start->memory_of[i])
            memcpy(start->memory_of[i], state->memory, design->stages[i].model->stage->memory_size);
    }
    for (size_t i = 0; i < start->nodes; i++)
        end[i] = workspace->temperature[i] - workspace->surroundings.temperature;
    take_off(start, workspace->foretold);
    take_scale(start, &workspace->mix);
    start->power = start_power(design, workspace->settings);
    mixing_copy(&start->mix, &workspace->mix);
    foresight_copy(&start->sight, &workspace->sight);
    start->taken = true;
    return true;
}

void start_take_mode(hl_start *start, const hl_workspace *work)
{
    if (!work->network) return;
    (void)feedback_gain(work);
    memcpy(start->mode, network_mode(work->network), start->nodes * sizeof *start->mode);
}

/* ----------------------------------------------------------------- knobs -- */

/* A port's current means what the port draws. */
static bool is_current(const hl_design *design, size_t index)
{
    for (size_t p = 0; p < design->n_ports; p++)
        if (design->ports[p].current_setting == index) return true;
    return false;
}

static double knob_value(const hl_design *design, const knob *k, const double settings[])
{
    return settings[k->setting] * (is_current(design, k->setting) ? settings[SETTING_LOAD] : 1);
}

/* To first order from where the start was taken to the settings at hand. */
static void follow_knobs(hl_workspace *work, const hl_start *start)
{
    for (size_t k = 0; k < start->n_knobs; k++) {
        const double *slope = start->knobs[k].slope;
        double off = knob_value(work->design, &start->knobs[k], work->settings) - start->knobs[k].at;
        if (!isfinite(off) || off == 0) continue;
        for (size_t i = 0; i < work->design->n_stages; i++, slope += 3) {
            stage_state *state = &work->stages[i];
            state->extra += off * slope[0];
            state->bus_drawn += off * slope[1];
            state->voltage += off * slope[2] * state->guess;
        }
        vector_add(work->temperature, off, slope, start->nodes);
    }
}

/* d(voltage / guess) and d(temperature - ambient) for what response_moved has told at `settings`. */
static void take_slope(const hl_start *start, const hl_workspace *work, double step, double ambient_step,
                       double slope[])
{
    const double *moved = start->moved;
    for (size_t i = 0; i < work->design->n_stages; i++, moved += 3, slope += 3) {
        const stage_state *state = &work->stages[i];
        double voltage = work->bench.start[3 * i + 2] + moved[2];
        slope[0] = moved[0] / step;
        slope[1] = moved[1] / step;
        slope[2] = state->guess > 0 ? (voltage / state->guess - start->end[3 * i + 2]) / step : 0;
    }
    for (size_t i = 0; i < start->nodes; i++) slope[i] = (moved[i] - ambient_step) / step;
}

static bool learn_knob(hl_start *start, hl_workspace *work, const double settings[], knob *k, double step)
{
    size_t n = work->design->n_settings;
    memcpy(start->settings, settings, n * sizeof *settings);
    double now = settings[k->setting], load = settings[SETTING_LOAD];
    if (!(step > 0)) step = small_share * (k->setting == SETTING_AMBIENT ? 300 : fmax(fabs(now), 1e-2));
    start->settings[k->setting] = now + step;
    step = start->settings[k->setting] - now;
    k->at = knob_value(work->design, k, settings);
    double wide = is_current(work->design, k->setting) ? step * load : step;
    if (!isfinite(now) || !(wide > 0) || !place_settings(work, start->settings)) return false;
    if (!response_moved(&start->answers, work, start->moved)) return false;
    take_slope(start, work, wide, k->setting == SETTING_AMBIENT ? step : 0, k->slope);
    return true;
}

/* The unknowns as the start leads to them.  What it is off from the anchors changes slowly, so it is added to
 * what they foretell here; without them losses go by the power that is asked for. */
static void foretell(const hl_start *start, const hl_workspace *work, double seed[])
{
    bool follow = start->has_off && work->foretold && !start->n_knobs;
    memcpy(seed, follow ? start->off : start->end, start->unknowns * sizeof *seed);
    if (follow) vector_add(seed, 1, work->foretold->end, start->unknowns);
    if (follow || start->n_knobs) return;
    double likely = losses_likely(start, start_power(work->design, work->settings));
    for (size_t i = 0; i < start->unknowns; i++)
        if (i >= 3 * work->design->n_stages || i % 3 != 2) seed[i] *= likely;
}

bool start_seed(hl_workspace *work, const hl_start *start)
{
    if (!start || !start->taken || work->design->n_stages != start->design->n_stages ||
        hl_design_nodes(work->design) != start->nodes)
        return false;
    double *seed = work->handed; /* as the first round is asked */
    foretell(start, work, seed);
    for (size_t i = 0; i < work->design->n_stages; i++, seed += 3) {
        stage_state *state = &work->stages[i];
        state->extra = seed[0];
        state->bus_drawn = seed[1];
        state->voltage = state->guess * seed[2];
        if (start->memory_of[i])
            memcpy(state->memory, start->memory_of[i], work->design->stages[i].model->stage->memory_size);
    }
    for (size_t i = 0; i < start->nodes; i++) work->temperature[i] = work->surroundings.temperature + seed[i];
    follow_knobs(work, start);
    (work->response ? mixing_copy_scale : mixing_copy)(&work->mix, &start->mix);
    foresight_copy(&work->sight, &start->sight);
    return true;
}

bool start_make_room(hl_start *start, const told *list, float *gain, const size_t settings[], size_t n)
{
    size_t unknowns = start->unknowns;
    start->knobs = arena_array(start->memory, n + 1, sizeof *start->knobs);
    start->settings = arena_array(start->memory, start->design->n_settings + 1, sizeof *start->settings);
    start->moved = arena_array(start->memory, unknowns + 1, sizeof *start->moved);
    double *slopes = arena_array(start->memory, n * unknowns + 1, sizeof *slopes);
    start->bend = arena_array(start->memory, unknowns + 1, sizeof *start->bend);
    start->twist = arena_array(start->memory, unknowns + 1, sizeof *start->twist);
    if (!start->knobs || !start->settings || !start->moved || !slopes || !start->bend || !start->twist)
        return false;
    for (size_t k = 0; k < n; k++)
        start->knobs[k] = (knob){.setting = settings[k], .slope = slopes + k * unknowns};
    start->room = n;
    return response_create(&start->answers, start->memory, start->design, list, gain);
}

bool start_learn(hl_start *start, hl_workspace *work, const double step[])
{
    const double *settings = work->settings;
    if (!start->taken || !response_learn(&start->answers, work)) return false;
    start->near = (response_mean){.from = {&start->answers}, .weight = {1}, .n = 1};
    size_t known = 0;
    for (size_t k = 0; k < start->room; k++) {
        bool good = learn_knob(start, work, settings, &start->knobs[k], step ? step[k] : 0);
        if (!good) memset(start->knobs[k].slope, 0, start->unknowns * sizeof(double));
        known += good;
    }
    start->n_knobs = known ? start->room : 0;
    return place_settings(work, settings);
}

/* e(x) = e0 + s x + b x^2 + t x^3 through e(-h) and e(h), with s = e'(0). */
void start_bend(hl_start *start, size_t along, const hl_start *below, const hl_start *above, double step)
{
    const double *slope = start->knobs[along].slope;
    if (!start->n_knobs || !below->taken || !above->taken) return;
    for (size_t i = 0; i < start->unknowns; i++) {
        double low = below->end[i] - start->end[i], high = above->end[i] - start->end[i];
        start->bend[i] = 0.5 * (high + low) / (step * step);
        start->twist[i] = (0.5 * (high - low) / step - slope[i]) / (step * step);
    }
}

bool hl_start_learn(hl_start *start, hl_workspace *workspace, const size_t settings[], const double step[],
                    size_t n)
{
    PLAIN_FLOAT_STATE;
    bool fits = start->taken && !start->knobs && workspace->network && workspace->outcome == HL_SOLVED;
    if (!fits || !told_create(&start->own, start->memory, start->design)) return false;
    told_choose(&start->own, workspace);
    return start_make_room(start, &start->own, NULL, settings, n) && start_learn(start, workspace, step);
}

/* ----------------------------------------------------------------- blend -- */

static bool all_off(const hl_start *const start[], size_t n)
{
    for (size_t k = 0; k < n; k++)
        if (!start[k]->has_off) return false;
    return true;
}

/* off: how far ends are off from what the anchors foretold is blended beside them, to be followed. */
static bool blend(hl_start *to, const hl_start *const from[], const double weight[], size_t n, bool off)
{
    to->taken = to->answers.known = false;
    to->near.n = 0;
    to->n_knobs = 0;
    if (!n) return false;
    for (size_t k = 0; k < n; k++)
        if (!from[k]->taken || from[k]->design != to->design || from[k]->nodes != to->nodes) return false;
    to->power = 0;
    memset(to->end, 0, to->unknowns * sizeof *to->end);
    if (off) memset(to->off, 0, to->unknowns * sizeof *to->off);
    to->has_off = off;
    take_memories(to, from[0]);
    for (size_t k = 0; k < n; k++) {
        to->power += weight[k] * from[k]->power;
        vector_add(to->end, weight[k], from[k]->end, to->unknowns);
        if (off) vector_add(to->off, weight[k], from[k]->off, to->unknowns);
    }
    mixing_copy(&to->mix, &from[0]->mix);
    foresight_copy(&to->sight, &from[0]->sight);
    return to->taken = true;
}

bool hl_start_blend(hl_start *to, const hl_start *const from[], const double weight[], size_t n)
{
    PLAIN_FLOAT_STATE;
    return blend(to, from, weight, n, all_off(from, n));
}

/* ---------------------------------------------------------------- onward -- */

/* Polynomials through the last n points on even steps, one step on. */
static const double one_on[LEADING_MOST][LEADING_MOST] = {
    {1}, {2, -1}, {3, -3, 1}, {4, -6, 4, -1}, {5, -10, 10, -5, 1}};

/* One of the ways a line of points may lead on: by where they ended, by how far that is off from what the
 * anchors foretold, or by how far it is off from a line beside it. */
typedef struct way_on {
    bool off, beside;
    look_back back;
} way_on;

static bool usable(const hl_start *start, const hl_start *to)
{
    return start->taken && start->design == to->design && start->nodes == to->nodes;
}

/* off: in what the points are off from the anchors, which change their ways from cell to cell. */
static way_on looked_back(const hl_start *const past[], const hl_start *const beside[], size_t n, bool off)
{
    const double *value[LOOKED_BACK_MOST], *less[LOOKED_BACK_MOST];
    way_on way = {.off = off, .beside = beside};
    for (size_t k = 0; k < n; k++) value[k] = off ? past[k]->off : past[k]->end;
    for (size_t k = 0; beside && k < n; k++) less[k] = off ? beside[k]->off : beside[k]->end;
    look_back_over(&way.back, value, beside ? less : NULL, n, past[0]->scale, past[0]->unknowns);
    return way;
}

static double miss_of(const way_on *way)
{
    return way->back.miss[way->back.best];
}

/* The next point by `way`, from as many of the points as it says is best; to->end of `n` of them. */
static bool go_on(hl_start *to, const hl_start *const past[], const hl_start *const beside[],
                  const way_on *way, size_t n)
{
    const hl_start *from[2 * LEADING_MOST + 1];
    double weight[2 * LEADING_MOST + 1];
    size_t all = n;
    for (size_t k = 0; k < n; k++) from[k] = past[k], weight[k] = one_on[n - 1][k];
    if (way->beside) {
        from[all] = beside[0], weight[all++] = 1;
        for (size_t k = 0; k < n; k++) from[all] = beside[k + 1], weight[all++] = -one_on[n - 1][k];
    }
    return blend(to, from, weight, all, way->off);
}

/* beside[0] stands beside the point that comes, the others beside those of `past`; m of them. */
static bool onward(hl_start *to, const hl_start *const past[], size_t n, const hl_start *const beside[],
                   size_t m)
{
    for (size_t k = 0; k < n; k++)
        if (!usable(past[k], to)) n = k;
    for (size_t k = 0; k < m; k++)
        if (!usable(beside[k], to)) m = k;
    if (n > LOOKED_BACK_MOST) n = LOOKED_BACK_MOST;
    size_t both = m ? (m - 1 < n ? m - 1 : n) : 0;
    bool off = all_off(past, n), off_beside = off && both && all_off(beside, both + 1);
    way_on best = {.off = off, .beside = both == 1};
    if (!n) return false;
    if (n > 1) {
        best = looked_back(past, NULL, n, false);
        way_on other = off ? looked_back(past, NULL, n, true) : best;
        if (miss_of(&other) <= miss_of(&best)) best = other;
        other = both > 1 ? looked_back(past, beside + 1, both, off_beside) : best;
        if (miss_of(&other) < miss_of(&best)) best = other;
    }
    if (best.beside) best.off = off_beside;
    return go_on(to, past, beside, &best, n > 1 ? look_back_reach(&best.back) : 1);
}

bool hl_start_onward(hl_start *to, const hl_start *const past[], size_t n)
{
    PLAIN_FLOAT_STATE;
    return onward(to, past, n, NULL, 0);
}

bool hl_start_beside(hl_start *to, const hl_start *const past[], size_t n, const hl_start *const beside[],
                     size_t m)
{
    PLAIN_FLOAT_STATE;
    return onward(to, past, n, beside, m);
}

/* Values and slopes of one start, weighted, into the sums. */
static void add_learnt(hl_start *to, const start_share *share)
{
    const hl_start *from = share->start;
    vector_add(to->end, share->weight, from->end, to->unknowns);
    vector_add(to->mode, share->linear, from->mode, to->nodes);
    for (size_t k = 0; k < from->n_knobs; k++)
        if (share->off[k] != 0) vector_add(to->end, share->off[k], from->knobs[k].slope, to->unknowns);
    if (share->square == 0) return;
    vector_add(to->end, share->square, from->bend, to->unknowns);
    vector_add(to->end, share->cube, from->twist, to->unknowns);
}

bool start_between(hl_start *to, const start_share share[], size_t n, bool inside, const double settings[])
{
    to->taken = to->answers.known = false;
    to->near.n = 0;
    to->n_knobs = 0;
    memset(to->end, 0, to->unknowns * sizeof *to->end);
    memset(to->mode, 0, to->nodes * sizeof *to->mode);
    size_t most = 0;
    for (size_t k = 0; k < n; k++)
        if (share[k].linear > share[most].linear) most = k;
    take_memories(to, share[most].start);
    to->near.n = n;
    to->near.surrounded = inside;
    for (size_t k = 0; k < n; k++) {
        add_learnt(to, &share[k]);
        to->near.from[k] = &share[k].start->answers;
        to->near.weight[k] = share[k].linear;
    }
    to->power = start_power(to->design, settings);
    foresight_forget(&to->sight);
    mixing_copy_scale(&to->mix, &share[most].start->mix);
    return to->taken = true;
}

const double *start_mode(const hl_start *start)
{
    return start->mode;
}

double start_knob(const hl_start *start, size_t index)
{
    return start->knobs[index].at;
}

const response_mean *start_response(const hl_start *start)
{
    return start && start->taken && start->near.n ? &start->near : NULL;
}

bool start_is_taken(const hl_start *start)
{
    return start->taken;
}
