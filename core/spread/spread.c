/* spread.c - solve a design over the bands of its values. */
#include "spread/spread.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "quantity/float_state.h"
#include "sweep/pool.h"

enum { SAMPLES_USUAL = 1000, SAMPLES_MOST = 10000000 };

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* ------------------------------------------------------------------- crew -- */

/* Differences of a twentieth of the samples either side of the middle. */
static double step_of(const hl_band *band)
{
    return fabs(hl_band_quantile(band, 0.55) - hl_band_quantile(band, 0.5));
}

/* How the central point moves with all that has a band.  Where that cannot be learnt points begin as usual.
 */
static bool learn_centre(crew *made)
{
    const hl_spread *spread = made->spread;
    const unknowns *open = &spread->unknowns;
    size_t n = 0, most = hl_design_settings(spread->design);
    size_t *settings = calloc(most + 1, sizeof *settings);
    double *step = calloc(most + 1, sizeof *step);
    made->start = hl_start_create(spread->design);
    bool memory = settings && step && made->start;
    for (size_t k = 0; memory && k < open->n; k++)
        for (size_t i = 0; i < open->list[k].n; i++) {
            settings[n] = open->list[k].settings[i];
            step[n++] = step_of(&open->bands[open->list[k].settings[i]]);
        }
    hl_workspace *work = made->workspace[0];
    if (memory && hl_solve(work, spread->base) == HL_OK && hl_start_take(made->start, work))
        hl_start_learn(made->start, work, settings, step, n);
    free(settings);
    free(step);
    return memory;
}

bool crew_gather(crew *made, const hl_spread *spread, size_t workers)
{
    memset(made, 0, sizeof *made);
    made->spread = spread;
    made->workspace = calloc(workers, sizeof(hl_workspace *));
    made->settings = calloc(workers * hl_design_settings(spread->design) + 1, sizeof *made->settings);
    made->figures = calloc(workers * hl_figures_count(spread->figures) + 1, sizeof *made->figures);
    if (!made->workspace || !made->settings || !made->figures) return false;
    for (; made->workers < workers; made->workers++) {
        hl_workspace *first = made->workspace[0];
        made->workspace[made->workers] =
            first ? hl_workspace_beside(first) : hl_workspace_create(spread->design);
        if (!made->workspace[made->workers]) return false;
    }
    return learn_centre(made);
}

void crew_dismiss(crew *made)
{
    for (size_t i = 0; i < made->workers; i++) hl_workspace_destroy(made->workspace[i]);
    hl_start_destroy(made->start);
    free(made->workspace);
    free(made->settings);
    free(made->figures);
    memset(made, 0, sizeof *made);
}

bool crew_solve(const crew *workers, size_t worker, const double p[])
{
    const hl_spread *spread = workers->spread;
    size_t n = hl_design_settings(spread->design);
    double *settings = &workers->settings[worker * n];
    unknowns_apply(&spread->unknowns, spread->base, n, p, settings);
    hl_workspace *workspace = workers->workspace[worker];
    return hl_solve_from(workspace, settings, workers->start) == HL_OK &&
           hl_result_outcome(workspace) == HL_SOLVED;
}

/* ---------------------------------------------------------------- samples -- */

typedef struct run {
    hl_spread *spread;
    crew *workers;
    const hl_spread_options *options;
    bool stopped;
} run;

static bool sample(void *context, size_t worker, size_t index)
{
    run *r = context;
    hl_spread *spread = r->spread;
    size_t n = hl_figures_count(spread->figures);
    double *values = &r->workers->figures[worker * n];
    const hl_workspace *workspace = r->workers->workspace[worker];
    if (crew_solve(r->workers, worker, &spread->p[index * spread->unknowns.n])) {
        hl_figures_read(spread->figures, workspace, values);
    } else {
        for (size_t f = 0; f < n; f++) values[f] = NAN;
        const char *reason = hl_result_reason(workspace);
        spread->said[index] = strdup(*reason ? reason : "no reason was given");
        spread->outcome[index] = (unsigned char)hl_result_outcome(workspace);
        if (!spread->said[index]) return false;
    }
    for (size_t f = 0; f < n; f++) spread->y[f * spread->samples + index] = values[f];
    return true;
}

static bool tell(void *context, size_t done)
{
    run *r = context;
    if (!r->options->progress) return true;
    if (r->options->progress(r->options->context, done, r->spread->samples)) return true;
    r->stopped = true;
    return false;
}

static hl_status solve_all(hl_spread *spread, const hl_spread_options *options, crew *workers)
{
    run r = {spread, workers, options, false};
    pool_job job = {
        .n = spread->samples, .workers = workers->workers, .run = sample, .progress = tell, .context = &r};
    size_t done = 0;
    hl_status status = hl_pool_run(&job, &done);
    if (status != HL_OK || done == spread->samples) return status;
    return r.stopped ? HL_BAD_INPUT : HL_NO_MEMORY;
}

/* ---------------------------------------------------------------- reasons -- */

/* Two reasons are one when they differ in numbers only. */
static bool same_reason(const char *a, const char *b)
{
    static const char digits[] = "0123456789.+-";
    while (*a && *b) {
        size_t m = strspn(a, digits), n = strspn(b, digits);
        if (m || n) {
            a += m;
            b += n;
            if (!m != !n && !(*a == 'e' || *b == 'e')) return false;
            continue;
        }
        if (*a++ != *b++) return false;
    }
    return *a == *b;
}

static int by_count(const void *a, const void *b)
{
    const spread_reason *x = a, *y = b;
    if (x->count != y->count) return x->count > y->count ? -1 : 1;
    return strcmp(x->text, y->text);
}

static bool count_reasons(hl_spread *spread)
{
    for (size_t i = 0; i < spread->samples; i++) {
        if (!spread->said[i]) {
            spread->solved++;
            continue;
        }
        size_t k = 0;
        while (k < spread->n_reasons && !(spread->reasons[k].outcome == (hl_outcome)spread->outcome[i] &&
                                          same_reason(spread->reasons[k].text, spread->said[i])))
            k++;
        if (k == spread->n_reasons) {
            spread_reason *more = realloc(spread->reasons, (k + 1) * sizeof *more);
            if (!more) return false;
            spread->reasons = more;
            more[k] = (spread_reason){arena_copy(spread->memory, spread->said[i]), 0,
                                      (hl_outcome)spread->outcome[i]};
            if (!more[k].text) return false;
            spread->n_reasons++;
        }
        spread->reasons[k].count++;
    }
    if (spread->n_reasons) qsort(spread->reasons, spread->n_reasons, sizeof *spread->reasons, by_count);
    return true;
}

static bool sort_figure(void *context, size_t worker, size_t index)
{
    hl_spread *spread = context;
    (void)worker;
    spread->good[index] = hl_sort(spread->samples, &spread->y[index * spread->samples]);
    return true;
}

static hl_status sort_all(hl_spread *spread, size_t workers)
{
    pool_job job = {
        .n = hl_figures_count(spread->figures), .workers = workers, .run = sort_figure, .context = spread};
    return hl_pool_run(&job, NULL);
}

/* ------------------------------------------------------------------ whole -- */

static hl_status no_memory(hl_diagnostics *diagnostics)
{
    hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; ask for fewer samples");
    return HL_NO_MEMORY;
}

/* The central point tells which figures there are. */
static hl_status solve_central(hl_spread *spread, hl_diagnostics *diagnostics)
{
    hl_workspace *workspace = hl_workspace_create(spread->design);
    if (!workspace) return no_memory(diagnostics);
    hl_status status = hl_solve(workspace, spread->base);
    if (status == HL_OK && hl_result_outcome(workspace) != HL_SOLVED) status = HL_NO_SOLUTION;
    if (status != HL_OK) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "the central point has no solution: %s",
                           hl_result_reason(workspace));
    } else {
        spread->figures = hl_figures_create(spread->design, workspace);
        size_t n = spread->figures ? hl_figures_count(spread->figures) : 0;
        spread->central = arena_array(spread->memory, n + 1, sizeof *spread->central);
        if (spread->figures && spread->central)
            hl_figures_read(spread->figures, workspace, spread->central);
        else
            status = no_memory(diagnostics);
    }
    hl_workspace_destroy(workspace);
    return status;
}

static bool make_room(hl_spread *spread)
{
    size_t figures = hl_figures_count(spread->figures);
    spread->p = calloc(spread->samples * spread->unknowns.n + 1, sizeof *spread->p);
    spread->y = calloc(spread->samples * figures + 1, sizeof *spread->y);
    spread->said = calloc(spread->samples, sizeof(char *));
    spread->outcome = calloc(spread->samples, 1);
    spread->good = arena_array(spread->memory, figures + 1, sizeof *spread->good);
    return spread->p && spread->y && spread->said && spread->outcome && spread->good;
}

static bool begin(hl_spread *spread, const hl_design *design, const hl_spread_options *options)
{
    size_t n = hl_design_settings(design);
    spread->design = design;
    spread->samples = options->samples ? options->samples : SAMPLES_USUAL;
    spread->memory = arena_create();
    if (!spread->memory) return false;
    spread->base = arena_array(spread->memory, n + 1, sizeof *spread->base);
    if (!spread->base) return false;
    hl_design_defaults(design, spread->base);
    if (options->base) memcpy(spread->base, options->base, n * sizeof *spread->base);
    return unknowns_find(spread->memory, design, spread->base, options, &spread->unknowns);
}

static hl_status work(hl_spread *spread, const hl_spread_options *options, hl_diagnostics *diagnostics)
{
    hl_status status = solve_central(spread, diagnostics);
    if (status != HL_OK) return status;
    for (size_t i = 0; i < options->n_about; i++)
        if (!(options->about[i] < hl_figures_count(spread->figures))) {
            hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "a figure asked about does not exist");
            return HL_BAD_INPUT;
        }
    size_t workers = options->workers ? options->workers : hl_pool_processors();
    crew gathered;
    memset(&gathered, 0, sizeof gathered);
    status = HL_NO_MEMORY;
    if (make_room(spread) && crew_gather(&gathered, spread, workers))
        status = hl_latin_hypercube(options->seed, spread->samples, spread->unknowns.n, spread->p);
    double began = now();
    if (status == HL_OK) status = solve_all(spread, options, &gathered);
    if (status == HL_BAD_INPUT) hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "stopped before the end");
    spread->solving = now() - began;
    if (status == HL_OK && !(count_reasons(spread) && separators_find(spread))) status = HL_NO_MEMORY;
    began = now();
    if (status == HL_OK) status = drivers_find(spread, options, &gathered);
    spread->solving += options->total_base ? now() - began : 0;
    crew_dismiss(&gathered);
    if (status == HL_OK) status = sort_all(spread, workers);
    return status == HL_NO_MEMORY ? no_memory(diagnostics) : status;
}

hl_status hl_spread_design(const hl_design *design, const hl_spread_options *options, hl_spread **spread,
                           hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    double began = now();
    *spread = NULL;
    if (options->samples > SAMPLES_MOST) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "%zu samples are more than %d", options->samples,
                           SAMPLES_MOST);
        return HL_BAD_INPUT;
    }
    hl_spread *made = calloc(1, sizeof *made);
    hl_status status =
        made && begin(made, design, options) ? work(made, options, diagnostics) : no_memory(diagnostics);
    if (status != HL_OK) {
        hl_spread_destroy(made);
        return status;
    }
    made->seconds = now() - began;
    *spread = made;
    return HL_OK;
}

void hl_spread_destroy(hl_spread *spread)
{
    if (!spread) return;
    for (size_t i = 0; spread->said && i < spread->samples; i++) free(spread->said[i]);
    free(spread->said);
    free(spread->outcome);
    free(spread->p);
    free(spread->y);
    free(spread->reasons);
    hl_figures_destroy(spread->figures);
    arena_destroy(spread->memory);
    free(spread);
}

const hl_figures *hl_spread_figures(const hl_spread *spread)
{
    return spread->figures;
}

size_t hl_spread_samples(const hl_spread *spread)
{
    return spread->samples;
}

size_t hl_spread_solved(const hl_spread *spread)
{
    return spread->solved;
}

double hl_spread_seconds(const hl_spread *spread, double *solving)
{
    if (solving) *solving = spread->solving;
    return spread->seconds;
}

size_t hl_spread_reasons(const hl_spread *spread)
{
    return spread->n_reasons;
}

const char *hl_spread_reason(const hl_spread *spread, size_t index, size_t *count, hl_outcome *outcome)
{
    if (index >= spread->n_reasons) return NULL;
    if (count) *count = spread->reasons[index].count;
    if (outcome) *outcome = spread->reasons[index].outcome;
    return spread->reasons[index].text;
}

size_t hl_spread_unknowns(const hl_spread *spread)
{
    return spread->unknowns.n;
}

const hl_unknown *hl_spread_unknown(const hl_spread *spread, size_t index)
{
    return index < spread->unknowns.n ? &spread->unknowns.list[index] : NULL;
}

double hl_spread_central(const hl_spread *spread, size_t figure)
{
    return figure < hl_figures_count(spread->figures) ? spread->central[figure] : NAN;
}

const double *hl_spread_sorted(const hl_spread *spread, size_t figure, size_t *n)
{
    *n = 0;
    if (figure >= hl_figures_count(spread->figures)) return NULL;
    *n = spread->good[figure];
    return &spread->y[figure * spread->samples];
}

double hl_spread_quantile(const hl_spread *spread, size_t figure, double probability, size_t *of)
{
    size_t n, missing = spread->samples - spread->solved;
    const double *sorted = hl_spread_sorted(spread, figure, &n);
    const hl_figure *about = hl_figures_get(spread->figures, figure);
    bool all = about && about->hot && n;
    if (of) *of = all ? n + missing : n;
    if (!all || !missing) return hl_quantile(n, sorted, probability);
    /* value r of all stands at (r - 1/2) / (n + missing), as in hl_quantile: up to the hottest that solves */
    double place = probability * (double)(n + missing) - 0.5;
    if (!(place <= (double)(n - 1))) return isnan(probability) ? NAN : HUGE_VAL;
    return hl_quantile(n, sorted, (place + 0.5) / (double)n);
}

size_t hl_spread_separators(const hl_spread *spread)
{
    return spread->n_separators;
}

const hl_separator *hl_spread_separator(const hl_spread *spread, size_t index)
{
    return index < spread->n_separators ? &spread->separators[index] : NULL;
}

size_t hl_spread_drivers(const hl_spread *spread, size_t about)
{
    return about < spread->n_about ? spread->n_drivers[about] : 0;
}

const hl_driver *hl_spread_driver(const hl_spread *spread, size_t about, size_t index)
{
    return index < hl_spread_drivers(spread, about) ? &spread->drivers[about][index] : NULL;
}
