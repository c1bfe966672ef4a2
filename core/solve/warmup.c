/* warmup.c - a whole adapter over a profile of load: the network by CVODE or the box's condensed field, the
 * losses by the circuit.
 *
 * The circuit is solved at the temperatures and load of an anchor; between anchors each node's heat is
 *   P(t, T) = P0 + dP/dT (T - T0) + dP/dt (t - t0),
 * dP/dT the parts' own slopes, dP/dt a secant to the load at the end of the stretch where the load tapers.
 * A new anchor is taken when a part has moved by `reach` kelvin or the stretch is over.  How far the losses
 * then are from what the last anchor foretold is the error made; `reach` and the stretches follow it, so that
 * a correction stays below a few 1e-4 of the losses (some hundredths of a kelvin of rise).  The energies are
 * integrated with the state, so the book of energy holds whatever the anchors do. */
#include "solve/warmup.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "quantity/float_state.h"
#include "solve/heat.h"
#include "solve/run_away.h"
#include "solve/warmup_carrier.h"

static const double tolerance = 1e-6;                   /* of the integrator, relative */
static const double jump_good = 5e-5, jump_bad = 3e-4;  /* correction at an anchor, share of all losses */
static const double reach_least = 0.1, reach_most = 10; /* K */
static const double stretches_least = 2, stretches_most = 4096; /* parts that a taper is cut into */

typedef struct warm {
    hl_workspace *work;
    const hl_profile *profile;
    hl_diagnostics *diagnostics;
    hl_course *course;
    carrier *run;
    double *settings;                    /* of the moment */
    double *power, *slope, *base, *rate; /* per node: W, W/K, K, W/s */
    double *before, *spare, *start;
    hl_ladder *ladder;  /* per item; n = 0: none */
    double *high, *low; /* per item: W of one part in the pulse and beside it */
    const hl_profile_step *step;
    double step_began, anchored_at; /* s */
    double reach;                   /* K */
    double stretches, stretch_end;  /* of a taper: parts, and the end of the present one, s */
    double now, next_row, every;
    size_t failed; /* stage that gave up */
} warm;

/* ------------------------------------------------------------------ load -- */

static double load_begin(const hl_profile_step *step)
{
    return step->settings[SETTING_LOAD];
}

static bool tapers(const hl_profile_step *step)
{
    return !isnan(step->load_end) && step->load_end != load_begin(step);
}

static double load_at(const warm *w, double time)
{
    const hl_profile_step *step = w->step;
    double from = load_begin(step), share = (time - w->step_began) / step->duration;
    if (!tapers(step)) return from;
    share = fmin(fmax(share, 0), 1);
    if (step->straight) return from + share * (step->load_end - from);
    return from * pow(step->load_end / from, share);
}

/* --------------------------------------------------------------- anchors -- */

static void anchored_heat(void *context, double time, const double temperature[], double power[],
                          double slope[])
{
    const warm *w = context;
    double passed = time - w->anchored_at;
    for (size_t i = 0; i < w->course->nodes; i++) {
        power[i] = w->power[i] + w->slope[i] * (temperature[i] - w->base[i]) + w->rate[i] * passed;
        slope[i] = w->slope[i];
    }
}

static bool losses_at(warm *w, double load, bool fresh)
{
    w->settings[SETTING_LOAD] = load;
    w->course->figures.solutions++;
    return heat_balance(w->work, fresh, &w->failed) == HL_STAGE_SOLVED;
}

static void keep_items(const warm *w, double to[])
{
    for (size_t i = 0; i < w->course->items; i++) to[i] = loss_watts(&w->work->items[i].loss);
}

/* Losses of the moment into work->power: a pulsed step's are the mean of pulse and pause. */
static bool losses_now(warm *w, double time, bool fresh)
{
    const hl_profile_step *step = w->step;
    hl_workspace *work = w->work;
    bool pulsed = step->pulse_period > 0;
    size_t n = w->course->nodes;
    if (!losses_at(w, load_at(w, time), fresh || pulsed)) return false;
    keep_items(w, w->high);
    if (!pulsed) return true;
    memcpy(w->spare, work->power, n * sizeof *w->spare);
    memcpy(w->spare + n, work->slope, n * sizeof *w->spare);
    if (!losses_at(w, step->pulse_rest, true)) return false;
    keep_items(w, w->low);
    double on = step->pulse_duty;
    for (size_t i = 0; i < n; i++) {
        work->power[i] = on * w->spare[i] + (1 - on) * work->power[i];
        work->slope[i] = on * w->spare[n + i] + (1 - on) * work->slope[i];
    }
    return true;
}

/* Share of all losses by which the anchor before foretold these ones wrong. */
static double jump_of(const warm *w, double time)
{
    const hl_workspace *work = w->work;
    double wrong = 0, whole = 0;
    for (size_t i = 0; i < w->course->nodes; i++) {
        double foretold = w->power[i] + w->slope[i] * (work->temperature[i] - w->base[i]) +
                          w->rate[i] * (time - w->anchored_at);
        wrong += fabs(foretold - work->power[i]);
        whole += fabs(work->power[i]);
    }
    return whole > 0 ? wrong / whole : 0;
}

static void follow_jump(warm *w, double jump)
{
    double factor = jump > jump_bad ? 0.5 : jump < jump_good ? 1.5 : 1;
    w->reach = fmin(fmax(w->reach * factor, reach_least), reach_most);
    w->course->figures.worst_jump = fmax(w->course->figures.worst_jump, jump);
}

static void watch_junctions(warm *w)
{
    const hl_design *design = w->work->design;
    const hl_profile_step *step = w->step;
    for (size_t i = 0; i < w->course->items; i++) {
        int node = design->items[i].shown.node;
        double ripple = 0;
        if (node < 0) continue;
        if (step->pulse_period > 0 && w->ladder[i].n)
            ripple = (w->high[i] - w->low[i]) *
                     (hl_foster_train(&w->ladder[i], step->pulse_period, step->pulse_duty) -
                      hl_foster_mean(&w->ladder[i], step->pulse_duty));
        double hottest = w->work->temperature[node] + fmax(ripple, 0);
        w->course->junction[i] = fmax(w->course->junction[i], hottest);
    }
}

/* A secant from the anchor's losses to those at the load the taper will have come to; cut shorter until the
 * losses half-way lie on it. */
static bool lay_secant(warm *w)
{
    const hl_workspace *work = w->work;
    double end_of_step = w->step_began + w->step->duration;
    size_t n = w->course->nodes;
    w->stretch_end = end_of_step;
    if (!tapers(w->step)) return true;
    for (;;) {
        double end = fmin(w->now + w->step->duration / w->stretches, end_of_step), wrong = 0, whole = 0;
        if (!(end > w->now)) return true;
        if (!losses_now(w, end, false)) return false;
        for (size_t i = 0; i < n; i++) w->rate[i] = (work->power[i] - w->power[i]) / (end - w->now);
        w->stretch_end = end;
        if (!losses_now(w, 0.5 * (w->now + end), false)) return false;
        for (size_t i = 0; i < n; i++) {
            wrong += fabs(w->power[i] + 0.5 * w->rate[i] * (end - w->now) - work->power[i]);
            whole += fabs(work->power[i]);
        }
        if (!(wrong > jump_bad * whole) || w->stretches >= stretches_most) {
            double factor = wrong < jump_good * whole ? 1.5 : 1;
            w->stretches = fmax(w->stretches / factor, stretches_least);
            return true;
        }
        w->stretches = fmin(2 * w->stretches, stretches_most);
    }
}

/* Take an anchor at the present state.  `fresh`: a step begins here. */
static bool anchor(warm *w, bool fresh)
{
    hl_workspace *work = w->work;
    size_t n = w->course->nodes;
    memcpy(work->temperature, carrier_state(w->run), n * sizeof *work->temperature);
    if (!losses_now(w, w->now, fresh)) return false;
    if (!fresh) follow_jump(w, jump_of(w, w->now));
    watch_junctions(w);
    memcpy(w->power, work->power, n * sizeof *w->power);
    memcpy(w->slope, work->slope, n * sizeof *w->slope);
    memcpy(w->base, work->temperature, n * sizeof *w->base);
    memset(w->rate, 0, n * sizeof *w->rate);
    w->anchored_at = w->now;
    return lay_secant(w);
}

static bool anchor_is_far(const warm *w, const double temperature[])
{
    for (size_t i = 0; i < w->course->nodes; i++)
        if (!(fabs(temperature[i] - w->base[i]) <= w->reach)) return true;
    return false;
}

/* ------------------------------------------------------------------ rows -- */

static bool write_row(warm *w, double time, const double temperature[])
{
    size_t n = w->course->nodes;
    anchored_heat(w, time, temperature, w->work->power, w->work->slope);
    double loss = 0;
    for (size_t i = 0; i < n; i++) loss += w->work->power[i];
    return course_add(w->course, time, load_at(w, time), loss, temperature);
}

/* Rows that fell due within the last step of the integrator, but for its end. */
static bool write_due(warm *w)
{
    while (w->next_row < w->now - 1e-9 * w->every) {
        if (!carrier_at(w->run, w->next_row, w->spare) || !write_row(w, w->next_row, w->spare)) return false;
        w->next_row += w->every;
    }
    return true;
}

/* ------------------------------------------------------------------- run -- */

static hl_status stopped(warm *w, hl_outcome outcome, const char *reason)
{
    hl_course *course = w->course;
    course->outcome = outcome;
    snprintf(course->reason, sizeof course->reason, "after %.6g s: %.400s", w->now, reason);
    return HL_OK;
}

static bool heat_is_finite(const warm *w)
{
    for (size_t i = 0; i < w->course->nodes; i++)
        if (!isfinite(w->power[i]) || !isfinite(w->slope[i])) return false;
    return true;
}

static hl_status ran_away(warm *w)
{
    int leader = -1;
    char reason[400];
    double gain = heat_is_finite(w) ? carrier_gain(w->run, w->base, w->slope, &leader) : NAN;
    run_away found = run_away_of(gain, leader);
    w->course->figures.leader = found.leader;
    run_away_text(w->work, found, w->settings[SETTING_LOAD], reason, sizeof reason);
    return stopped(w, HL_RAN_AWAY, reason);
}

static hl_status gave_up(warm *w)
{
    const hl_design *design = w->work->design;
    /* a circuit that fails while the losses outrun the cooling fails of that */
    if (carrier_gain(w->run, w->base, w->slope, NULL) >= 1) return ran_away(w);
    char reason[400];
    snprintf(reason, sizeof reason, "%.48s: %.300s", design->stages[w->failed].name,
             w->work->stages[w->failed].out.reason.text);
    return stopped(w, HL_INFEASIBLE, reason);
}

/* One step of the integrator and what follows from it. */
static hl_status advance(warm *w, double stop)
{
    size_t n = w->course->nodes;
    double last = w->now;
    memcpy(w->before, carrier_state(w->run), n * sizeof *w->before);
    hl_status status = carrier_step(w->run, stop, &w->now);
    w->course->figures.steps++;
    if (status == HL_RUNAWAY) return ran_away(w);
    if (status != HL_OK) return status;
    const double *temperature = carrier_state(w->run);
    course_watch(w->course, w->now, w->now - last, w->before, temperature);
    if (!write_due(w)) return HL_NO_MEMORY;
    bool over = tapers(w->step) && w->now >= stop;
    bool ends = w->now >= w->step_began + w->step->duration;
    if (!ends && !over && !anchor_is_far(w, temperature)) return HL_OK;
    if (!anchor(w, false)) return gave_up(w);
    return heat_is_finite(w) ? HL_OK : ran_away(w);
}

/* The surroundings and figures of a step; true when its parts took them. */
static bool enter(warm *w, const hl_profile_step *step)
{
    hl_workspace *work = w->work;
    w->step = step;
    w->step_began = w->now;
    memcpy(w->settings, step->settings, hl_design_settings(work->design) * sizeof *w->settings);
    work->settings = w->settings;
    work->surroundings =
        (hl_surroundings){w->settings[SETTING_AMBIENT], hl_air_pressure(w->settings[SETTING_ALTITUDE])};
    return values_apply(work, w->settings);
}

static hl_status run_step(warm *w, const hl_profile_step *step)
{
    if (!enter(w, step)) return HL_BAD_INPUT;
    if (carrier_restart(w->run, w->now, &w->work->surroundings) != HL_OK) return HL_INTERNAL;
    if (!anchor(w, true)) return gave_up(w);
    double end = w->step_began + step->duration;
    const double *temperature = carrier_state(w->run);
    if (!write_row(w, w->now, temperature)) return HL_NO_MEMORY;
    w->next_row = (floor(w->now / w->every) + 1) * w->every;
    while (w->now < end && w->course->outcome == HL_SOLVED) {
        double stop = w->stretch_end;
        if (end - stop < 1e-9 * step->duration) stop = end;
        hl_status status = advance(w, stop);
        if (status != HL_OK) return status;
    }
    if (w->course->outcome == HL_SOLVED && !write_row(w, w->now, temperature)) return HL_NO_MEMORY;
    return HL_OK;
}

static hl_status run_profile(warm *w)
{
    const hl_profile *profile = w->profile;
    for (size_t c = 0; c < profile->cycles; c++)
        for (size_t k = 0; k < profile->n_steps && w->course->outcome == HL_SOLVED; k++) {
            hl_status status = run_step(w, &profile->step[k]);
            if (status != HL_OK) return status;
        }
    double energy[3];
    carrier_energy(w->run, w->start, energy);
    w->course->figures.put_in = energy[0];
    w->course->figures.handed_out = energy[1];
    w->course->figures.stored = energy[2];
    return HL_OK;
}

/* ----------------------------------------------------------------- begin -- */

/* Temperatures to begin from: the steady point asked for, or the first ambient everywhere. */
static hl_status set_start(warm *w)
{
    hl_workspace *work = w->work;
    size_t n = w->course->nodes;
    if (w->profile->start) {
        hl_status status = hl_solve(work, w->profile->start);
        if (status != HL_OK) return status;
        if (work->outcome != HL_SOLVED) return stopped(w, work->outcome, work->reason);
        memcpy(w->start, work->temperature, n * sizeof *w->start);
        return HL_OK;
    }
    for (size_t i = 0; i < n; i++) w->start[i] = w->profile->step[0].settings[SETTING_AMBIENT];
    return HL_OK;
}

static bool take_memory(warm *w)
{
    const hl_design *design = w->work->design;
    size_t n = w->course->nodes, items = design->n_items;
    double **vectors[] = {&w->power, &w->slope, &w->base, &w->rate, &w->before, &w->start};
    bool good = true;
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++)
        good = (*vectors[i] = calloc(n + 3, sizeof(double))) && good;
    w->spare = calloc(2 * n + 3, sizeof *w->spare);
    w->settings = calloc(hl_design_settings(design) + 1, sizeof *w->settings);
    w->ladder = calloc(items + 1, sizeof *w->ladder);
    w->high = calloc(items + 1, sizeof *w->high);
    w->low = calloc(items + 1, sizeof *w->low);
    return good && w->spare && w->settings && w->ladder && w->high && w->low;
}

static void free_memory(warm *w)
{
    double *vectors[] = {w->power, w->slope, w->base,     w->rate, w->before,
                         w->start, w->spare, w->settings, w->high, w->low};
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++) free(vectors[i]);
    free(w->ladder);
    carrier_destroy(w->run);
}

static hl_status begin(warm *w)
{
    const hl_profile_step *first = &w->profile->step[0];
    if (!take_memory(w)) return HL_NO_MEMORY;
    for (size_t i = 0; i < w->course->items; i++) item_ladder(&w->work->design->items[i], &w->ladder[i]);
    hl_status status = set_start(w);
    if (status != HL_OK || w->course->outcome != HL_SOLVED) return status;
    hl_surroundings steady = w->work->surroundings;
    if (!enter(w, first)) return HL_BAD_INPUT;
    for (size_t i = 0; i < w->course->nodes; i++)
        w->course->peak[i].temperature = w->start[i], w->base[i] = w->start[i];
    w->run = carrier_create(w->work, anchored_heat, w, w->start, w->profile->start ? &steady : NULL,
                            tolerance, w->diagnostics);
    return w->run ? HL_OK : HL_NO_MEMORY;
}

/* ---------------------------------------------------------------- checks -- */

static bool wrong(hl_diagnostics *diagnostics, size_t step, const char *what)
{
    hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "profile step %zu: %s", step + 1, what);
    return false;
}

static bool step_is_sane(const hl_profile_step *s, size_t k, hl_diagnostics *d)
{
    double ambient = s->settings[SETTING_AMBIENT], load = load_begin(s);
    if (!(s->duration > 0 && s->duration <= 1e9)) return wrong(d, k, "its duration must be above 0");
    if (!(ambient >= 173.15 && ambient <= 473.15))
        return wrong(d, k, "the ambient is outside -100 to 200 degC");
    if (!(load >= 0 && load <= 1e3)) return wrong(d, k, "the load factor must be 0 or more");
    if (!isnan(s->load_end) && !(s->load_end >= 0 && s->load_end <= 1e3))
        return wrong(d, k, "the load at its end must be 0 or more");
    if (tapers(s) && !s->straight && !(load > 0 && s->load_end > 0))
        return wrong(d, k, "an exponential taper needs loads above 0 at both ends; make it straight");
    if (s->pulse_period == 0) return true;
    if (!(s->pulse_period > 0 && s->pulse_period <= s->duration))
        return wrong(d, k, "the period of its pulses must be above 0 and no longer than the step");
    if (!(s->pulse_duty >= 0 && s->pulse_duty <= 1))
        return wrong(d, k, "the duty of its pulses must be 0 to 1");
    if (!(s->pulse_rest >= 0 && s->pulse_rest <= 1e3))
        return wrong(d, k, "the load between its pulses must be 0 or more");
    return true;
}

static bool profile_is_sane(const hl_workspace *work, const hl_profile *p, hl_diagnostics *d)
{
    if (!work->network && !work->field) {
        hl_diagnostics_add(
            d, HL_ERROR, NULL,
            "no enclosure or thermal links are described, so nothing warms up; describe the box");
        return false;
    }
    if (!p->n_steps || !p->cycles || p->n_steps > HL_PROFILE_STEPS_MAX ||
        p->cycles > HL_PROFILE_STEPS_MAX / p->n_steps) {
        hl_diagnostics_add(d, HL_ERROR, NULL,
                           "a profile needs at least one step and one cycle, and at most %d in all",
                           HL_PROFILE_STEPS_MAX);
        return false;
    }
    for (size_t k = 0; k < p->n_steps; k++)
        if (!step_is_sane(&p->step[k], k, d)) return false;
    return true;
}

static double usual_interval(const hl_profile *p)
{
    double whole = 0;
    for (size_t k = 0; k < p->n_steps; k++) whole += p->step[k].duration;
    double least = 2 * whole * (double)p->cycles / HL_PROFILE_ROWS_MAX;
    return fmax(p->every > 0 ? p->every : whole * (double)p->cycles / 240, least);
}

hl_status hl_warm_up(hl_workspace *workspace, const hl_profile *profile, hl_course **made,
                     hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    *made = NULL;
    if (!profile_is_sane(workspace, profile, diagnostics)) return HL_BAD_INPUT;
    warm w = {.work = workspace, .profile = profile, .diagnostics = diagnostics, .reach = 1, .stretches = 32};
    w.every = usual_interval(profile);
    w.course = course_create(workspace->design, profile->limit);
    hl_status status = w.course ? begin(&w) : HL_NO_MEMORY;
    if (status == HL_OK && w.course->outcome == HL_SOLVED) status = run_profile(&w);
    if (status != HL_OK)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "the warm-up stopped: %s%s%s", hl_status_text(status),
                           *workspace->reason ? ": " : "", workspace->reason);
    workspace->outcome = HL_INFEASIBLE; /* no point is held now */
    workspace->settings = NULL;
    free_memory(&w);
    if (status == HL_OK)
        *made = w.course;
    else
        hl_course_destroy(w.course);
    return status;
}
