/* run.c - workers solve points into a ring of rows; the calling thread writes them to the store in order. */
#include "quantity/float_state.h"
#include "sweep/lead.h"
#include "sweep/pool.h"
#include "sweep/store.h"

#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* Rows between those written and the last in work: for each worker some groups of points, and no fewer. */
enum { WINDOW_LEAST = 8192, GROUPS_A_WORKER = 4, REASON_SIZE = 320 };

typedef struct row {
    row_status status;
    bool lost; /* its derived figures could not be had: neither it nor what follows is written */
    char reason[REASON_SIZE];
} row;

typedef struct worker {
    hl_workspace *workspace;
    double *settings;
    lead lead; /* where points of a grid begin */
} worker;

typedef struct run {
    const hl_sweep *sweep;
    hl_store *store;
    const hl_sweep_run_options *options;
    hl_diagnostics *diagnostics;
    worker *workers;
    size_t n_workers;
    span *span;      /* the range in work */
    size_t window;   /* rows in a ring */
    row *rows;       /* [window] */
    double *figures; /* [window * columns] */
    size_t first;    /* point that index 0 of the job stands for, the first of a group */
    size_t skipped;  /* indices before those that are wanted */
    size_t written;  /* indices of the job that are in the store */
    hl_status status;
    atomic_flag derive_failed;
    char why[1000];
    /* progress */
    size_t points, before; /* of all spans; done before the span in work */
    double last_time, rate;
    size_t last_done;
} run;

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* ----------------------------------------------------------------- point -- */

static row_status outcome_of(const hl_workspace *workspace, hl_status status)
{
    if (status != HL_OK) return ROW_REFUSED;
    hl_outcome outcome = hl_result_outcome(workspace);
    return outcome == HL_SOLVED ? ROW_SOLVED : outcome == HL_RAN_AWAY ? ROW_RAN_AWAY : ROW_INFEASIBLE;
}

/* The derived columns stand behind the others. */
static bool derive(run *r, size_t number, const worker *w, double figures[])
{
    const hl_sweep_run_options *o = r->options;
    double *derived = figures + (r->sweep->n_columns - r->sweep->n_derived);
    char why[sizeof r->why];
    if (!r->sweep->n_derived || !o->derive) return true;
    if (o->derive(o->derive_context, number, w->workspace, w->settings, derived, why, sizeof why))
        return true;
    if (!atomic_flag_test_and_set(&r->derive_failed))
        memcpy(r->why, why, sizeof why); /* read after the join */
    return false;
}

/* Neighbours in a sample are as far apart as any two points: there each begins on its own. */
static hl_status solve_in(const hl_sweep *sweep, worker *w, size_t point)
{
    hl_sweep_settings(sweep, point, w->settings);
    return sweep->sampled ? hl_solve(w->workspace, w->settings)
                          : lead_solve(&w->lead, w->workspace, point, w->settings);
}

static bool solve_point(void *context, size_t number, size_t index)
{
    run *r = context;
    const hl_sweep *sweep = r->sweep;
    worker *w = &r->workers[number];
    if (index < r->skipped) return true;
    row *out = &r->rows[index % r->window];
    double *figures = r->figures + (index % r->window) * sweep->n_columns;
    hl_status status = solve_in(sweep, w, r->first + index);
    out->status = outcome_of(w->workspace, status);
    for (size_t i = 0; i < sweep->n_columns; i++)
        figures[i] = out->status == ROW_SOLVED && !sweep->columns[i].derived
                         ? hl_probe_read(&sweep->columns[i].figure, w->workspace, w->settings)
                         : NAN;
    out->lost = false;
    if (out->status == ROW_SOLVED) {
        out->lost = !derive(r, number, w, figures);
        return !out->lost;
    }
    snprintf(out->reason, sizeof out->reason, "%s", hl_result_reason(w->workspace));
    return true;
}

/* ----------------------------------------------------------------- write -- */

static bool write_rows(run *r, size_t done)
{
    span moved = *r->span;
    for (size_t i = r->written; i < done; i++)
        if (r->rows[i % r->window].lost) done = i;
    if (done <= r->written) return true;
    bool good = store_begin(r->store);
    for (size_t i = r->written; good && i < done; i++)
        good =
            store_offer(r->store, r->first + i, r->rows[i % r->window].status, r->rows[i % r->window].reason,
                        r->figures + (i % r->window) * r->sweep->n_columns, &moved);
    moved.next = r->first + done;
    good = good && store_commit(r->store, &moved);
    if (!good) {
        r->status = store_failed(r->store, r->diagnostics);
        store_roll_back(r->store);
        return false;
    }
    *r->span = moved;
    r->written = done;
    return true;
}

static void report(run *r)
{
    size_t done = r->before + (r->span->next - r->span->first);
    double time = now(), passed = time - r->last_time;
    if (passed > 0 && done >= r->last_done) {
        double lately = (double)(done - r->last_done) / passed;
        r->rate =
            r->rate > 0 ? r->rate + 0.1 * (lately - r->rate) : lately; /* smoothed over about ten reports */
    }
    r->last_time = time;
    r->last_done = done;
    hl_sweep_progress progress = {r->points, done, r->rate,
                                  r->rate > 0 ? (double)(r->points - done) / r->rate : INFINITY};
    if (r->options->report) r->options->report(r->options->report_context, &progress);
}

static bool is_told_to_stop(const run *r)
{
    return r->options->stop && *r->options->stop;
}

static bool collect(void *context, size_t done)
{
    run *r = context;
    if (r->status != HL_OK || !write_rows(r, done)) return false;
    report(r);
    return !is_told_to_stop(r);
}

/* ------------------------------------------------------------------- run -- */

static bool prepare(run *r)
{
    r->workers = calloc(r->n_workers, sizeof *r->workers);
    size_t wanted = GROUPS_A_WORKER * lead_group(r->sweep) * r->n_workers;
    r->window = wanted > WINDOW_LEAST ? wanted : WINDOW_LEAST;
    r->rows = calloc(r->window, sizeof *r->rows);
    r->figures = calloc(r->window * (r->sweep->n_columns + 1), sizeof *r->figures);
    if (!r->workers || !r->rows || !r->figures) return false;
    for (size_t i = 0; i < r->n_workers; i++) {
        worker *w = &r->workers[i];
        w->workspace = i ? hl_workspace_beside(r->workers->workspace) : hl_workspace_create(r->sweep->design);
        w->settings = malloc((r->sweep->n_settings + 1) * sizeof *w->settings);
        if (!w->workspace || !w->settings || !lead_create(&w->lead, r->sweep, r->sweep->base)) return false;
        memcpy(w->settings, r->sweep->base, r->sweep->n_settings * sizeof *w->settings);
    }
    return true;
}

static void clear(run *r)
{
    for (size_t i = 0; r->workers && i < r->n_workers; i++) {
        hl_workspace_destroy(r->workers[i].workspace);
        lead_clear(&r->workers[i].lead);
        free(r->workers[i].settings);
    }
    free(r->workers);
    free(r->rows);
    free(r->figures);
}

static void run_span(run *r, span *in_work)
{
    r->span = in_work;
    size_t group = lead_group(r->sweep);
    r->skipped = r->written = in_work->next % group;
    r->first = in_work->next - r->skipped;
    r->last_done = r->before + (in_work->next - in_work->first);
    r->last_time = now();
    /* chunks of one group: little in hand when told to stop */
    pool_job job = {.n = in_work->last - r->first,
                    .workers = r->n_workers,
                    .chunk = group,
                    .window = r->window,
                    .run = solve_point,
                    .progress = collect,
                    .context = r};
    hl_status status = hl_pool_run(&job, NULL);
    if (r->status == HL_OK) r->status = status;
}

size_t hl_sweep_workers(size_t wanted)
{
    return wanted ? wanted : hl_pool_processors();
}

hl_status hl_sweep_run(const hl_sweep *sweep, hl_store *store, const hl_sweep_run_options *options,
                       hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    run r = {.sweep = sweep,
             .store = store,
             .options = options,
             .diagnostics = diagnostics,
             .n_workers = hl_sweep_workers(options->workers),
             .derive_failed = ATOMIC_FLAG_INIT};
    if (!prepare(&r)) r.status = HL_NO_MEMORY;
    for (size_t i = 0; i < store->n_spans; i++) r.points += store->spans[i].last - store->spans[i].first;
    for (size_t i = 0; i < store->n_spans && r.status == HL_OK && !*r.why && !is_told_to_stop(&r); i++) {
        span *s = &store->spans[i];
        if (s->next < s->last) run_span(&r, s);
        r.before += s->next - s->first;
    }
    if (*r.why && r.status == HL_OK) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "%s", r.why);
        r.status = HL_BAD_INPUT;
    }
    if (r.status == HL_NO_MEMORY)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; use fewer workers");
    clear(&r);
    return r.status;
}
