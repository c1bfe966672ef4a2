/* start.c - what a solved point hands to another as its beginning. */
#include "solve/feedback.h"

#include <math.h>
#include <string.h>

#include "quantity/float_state.h"
#include "solve/round.h"
#include "solve/vectors.h"
#include "thermal/repeat.h"

/* Points of a line that lead on to the next, at most. */
enum { START_LINE_MOST = 5 };

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
    double *foretold; /* [unknowns] the same as the anchors foretold it */
    bool has_foretold;
    void **memory_of;   /* [stages] NULL: the stage has none */
    double *mode;       /* [nodes] in which temperatures would run away; nought: not known */
    mixing mix;         /* how rounds answered there */
    response answers;   /* the same in full; unknown unless learnt */
    response_mean near; /* that, or what others around this one have learnt */
    knob *knobs;
    size_t n_knobs; /* 0 unless learnt */
    size_t room;    /* for knobs */
    double *settings, *moved;
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
    start->end = arena_array(memory, start->unknowns + 1, sizeof(double));
    start->foretold = arena_array(memory, start->unknowns + 1, sizeof(double));
    start->memory_of = arena_array(memory, design->n_stages + 1, sizeof *start->memory_of);
    start->mode = arena_array(memory, start->nodes + 1, sizeof(double));
    if (start->end && start->foretold && start->memory_of && start->mode && memories_create(start) &&
        foresight_create(&start->sight, NULL, memory, design) &&
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

/* Beside the answer, what the anchors said it would be; NULL: nothing. */
static void take_foretold(hl_start *start, const hl_start *said)
{
    start->has_foretold = said && said->taken;
    if (start->has_foretold) memcpy(start->foretold, said->end, start->unknowns * sizeof *start->foretold);
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
    take_foretold(start, workspace->foretold);
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

/* What the anchors foretell here over what they foretold there: what they are off by changes slowly. */
static void follow_anchors(hl_workspace *work, const hl_start *start)
{
    const double *now = work->foretold->end, *then = start->foretold;
    for (size_t i = 0; i < work->design->n_stages; i++, now += 3, then += 3) {
        stage_state *state = &work->stages[i];
        state->extra += now[0] - then[0];
        state->bus_drawn += now[1] - then[1];
        state->voltage += state->guess * (now[2] - then[2]);
    }
    for (size_t i = 0; i < start->nodes; i++) work->temperature[i] += now[i] - then[i];
}

bool start_seed(hl_workspace *work, const hl_start *start)
{
    if (!start || !start->taken || work->design->n_stages != start->design->n_stages ||
        hl_design_nodes(work->design) != start->nodes)
        return false;
    bool follow = start->has_foretold && work->foretold && !start->n_knobs;
    double likely =
        start->n_knobs || follow ? 1 : losses_likely(start, start_power(work->design, work->settings));
    const double *end = start->end;
    for (size_t i = 0; i < work->design->n_stages; i++, end += 3) {
        stage_state *state = &work->stages[i];
        state->extra = likely * end[0];
        state->bus_drawn = likely * end[1];
        state->voltage = state->guess * end[2];
        if (start->memory_of[i])
            memcpy(state->memory, start->memory_of[i], work->design->stages[i].model->stage->memory_size);
    }
    for (size_t i = 0; i < start->nodes; i++)
        work->temperature[i] = work->surroundings.temperature + likely * end[i];
    follow_knobs(work, start);
    if (follow) follow_anchors(work, start);
    mixing_copy(&work->mix, &start->mix);
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
    if (!start->knobs || !start->settings || !start->moved || !slopes) return false;
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

static bool all_foretold(const hl_start *const start[], size_t n)
{
    for (size_t k = 0; k < n; k++)
        if (!start[k]->has_foretold) return false;
    return true;
}

/* off: what the anchors foretold is blended beside the ends, to be followed. */
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
    if (off) memset(to->foretold, 0, to->unknowns * sizeof *to->foretold);
    to->has_foretold = off;
    take_memories(to, from[0]);
    for (size_t k = 0; k < n; k++) {
        to->power += weight[k] * from[k]->power;
        vector_add(to->end, weight[k], from[k]->end, to->unknowns);
        if (off) vector_add(to->foretold, weight[k], from[k]->foretold, to->unknowns);
    }
    mixing_copy(&to->mix, &from[0]->mix);
    foresight_copy(&to->sight, &from[0]->sight);
    return to->taken = true;
}

bool hl_start_blend(hl_start *to, const hl_start *const from[], const double weight[], size_t n)
{
    PLAIN_FLOAT_STATE;
    return blend(to, from, weight, n, all_foretold(from, n));
}

/* ---------------------------------------------------------------- onward -- */

/* Polynomials through the last n points on even steps, one step on. */
static const double one_on[START_LINE_MOST][START_LINE_MOST] = {
    {1}, {2, -1}, {3, -3, 1}, {4, -6, 4, -1}, {5, -10, 10, -5, 1}};
/* An order that foretold the newest point no worse than this against the best, and is lower, is taken. */
static const double as_good = 2;
/* One more point is asked when each of the last two brought this much. */
static const double still_better = 0.5;

/* What is led on of an unknown: itself, or how far it is off from what the anchors foretell. */
static double led_on(const hl_start *start, size_t unknown, bool off)
{
    return off ? start->end[unknown] - start->foretold[unknown] : start->end[unknown];
}

/* How well polynomials through the 1 .. most points before the newest foretold it. */
typedef struct look_back {
    double miss[START_LINE_MOST]; /* of each */
    size_t best;
} look_back;

/* off: in what the points are off from the anchors, which change their ways from cell to cell. */
static look_back looked_back(const hl_start *const past[], size_t most, bool off)
{
    const hl_start *newest = past[0];
    look_back back = {.best = 0};
    for (size_t i = 0; i < newest->unknowns; i++) {
        double value[START_LINE_MOST + 1], scale = newest->mix.scale[i];
        if (i < 3 * newest->design->n_stages && i % 3 == 2) scale = 1; /* ratios already */
        for (size_t k = 0; k <= most; k++) value[k] = led_on(past[k], i, off);
        for (size_t m = 0; m < most; m++) {
            double said = 0;
            for (size_t k = 0; k <= m; k++) said += one_on[m][k] * value[k + 1];
            back.miss[m] = fmax(back.miss[m], scale * fabs(value[0] - said));
        }
    }
    for (size_t m = 1; m < most; m++)
        if (back.miss[m] < back.miss[back.best]) back.best = m;
    return back;
}

/* How many of the points lead on best: as many as would have foretold the newest one best, and one more where
 * each of them brought something.  A bend in the answer ends what is led on beyond it. */
static size_t reach(const look_back *back)
{
    const double *miss = back->miss;
    size_t taken = 0;
    while (taken < back->best && !(miss[taken] <= as_good * miss[back->best])) taken++;
    bool better = taken == 0 || miss[taken] <= still_better * miss[taken - 1];
    return better ? taken + 2 : taken + 1;
}

bool hl_start_onward(hl_start *to, const hl_start *const past[], size_t n)
{
    PLAIN_FLOAT_STATE;
    for (size_t k = 0; k < n; k++)
        if (!past[k]->taken || past[k]->design != to->design || past[k]->nodes != to->nodes) n = k;
    if (n > START_LINE_MOST + 1) n = START_LINE_MOST + 1;
    bool off = all_foretold(past, n);
    if (n > 1) {
        look_back back = looked_back(past, n - 1, false), other = back;
        if (off) other = looked_back(past, n - 1, true);
        off = off && other.miss[other.best] <= back.miss[back.best];
        n = reach(off ? &other : &back);
    }
    if (n > START_LINE_MOST) n = START_LINE_MOST;
    return n && blend(to, past, one_on[n - 1], n, off);
}

/* Values and slopes of one start, weighted, into the sums. */
static void add_learnt(hl_start *to, const start_share *share)
{
    const hl_start *from = share->start;
    vector_add(to->end, share->weight, from->end, to->unknowns);
    vector_add(to->mode, share->linear, from->mode, to->nodes);
    for (size_t k = 0; k < from->n_knobs; k++)
        if (share->off[k] != 0) vector_add(to->end, share->off[k], from->knobs[k].slope, to->unknowns);
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
    mixing_copy(&to->mix, &share[most].start->mix);
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
