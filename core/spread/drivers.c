/* drivers.c - which unknowns drive a figure, and what is left once one of them is known. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "spread/spread.h"

enum { UNKNOWNS_USUAL = 8 };

/* Those with less first-order share are noise, and are not listed on their own: by chance alone the share
 * scatters by sqrt(2 (layers - 1)) / samples, and about sqrt(samples) / 3 layers are used; three times that,
 * and never less than what would matter to nobody. */
static double least_share(size_t samples)
{
    double n = (double)samples;
    return fmax(0.002, 3 * sqrt(2 * fmax(1, fmin(40, sqrt(n) / 3) - 1)) / n);
}

/* The leading unknowns by their greatest first-order share in any figure, for which total indices are worked
 * out. */
typedef struct leaders {
    size_t n;
    size_t *unknown; /* [n] */
    size_t *group;   /* [unknowns]: place among the leaders, or n for all the others */
    bool rest;       /* there are others */
} leaders;

typedef struct asking {
    const crew *workers;
    const size_t *about;
    size_t n_about;
} asking;

static double standing(const hl_spread *spread, const double first[], size_t unknown)
{
    double most = 0;
    for (size_t a = 0; a < spread->n_about; a++) most = fmax(most, first[a * spread->unknowns.n + unknown]);
    return most;
}

static bool choose(hl_spread *spread, const double first[], size_t wanted, leaders *found)
{
    size_t n = spread->unknowns.n;
    found->n = wanted < n ? wanted : n;
    found->rest = n > found->n;
    found->unknown = arena_array(spread->memory, found->n + 1, sizeof *found->unknown);
    found->group = arena_array(spread->memory, n + 1, sizeof *found->group);
    if (!found->unknown || !found->group) return false;
    for (size_t u = 0; u < n; u++) found->group[u] = found->n;
    for (size_t k = 0; k < found->n; k++) {
        size_t best = SIZE_MAX;
        for (size_t u = 0; u < n; u++)
            if (found->group[u] == found->n &&
                (best == SIZE_MAX || standing(spread, first, u) > standing(spread, first, best)))
                best = u;
        found->group[best] = k;
        found->unknown[k] = best;
    }
    return true;
}

static bool answer(void *context, size_t worker, const double p[], double y[])
{
    const asking *a = context;
    const hl_spread *spread = a->workers->spread;
    if (!crew_solve(a->workers, worker, p)) return false;
    double *values = &a->workers->figures[worker * hl_figures_count(spread->figures)];
    hl_figures_read(spread->figures, a->workers->workspace[worker], values);
    for (size_t i = 0; i < a->n_about; i++) y[i] = values[a->about[i]];
    return true;
}

static int by_share(const void *a, const void *b)
{
    const hl_driver *x = a, *y = b;
    double share_x = isnan(x->total) ? x->first : fmax(x->first, x->total);
    double share_y = isnan(y->total) ? y->first : fmax(y->first, y->total);
    if (share_x != share_y) return share_x > share_y ? -1 : 1;
    return x->unknown < y->unknown ? -1 : x->unknown > y->unknown;
}

/* total, noise: [leaders + rest], or NULL. */
static bool list(hl_spread *spread, const hl_spread_options *options, size_t about, const double first[],
                 const leaders *found, const double total[], const double noise[])
{
    size_t n = spread->unknowns.n, figure = options->about[about];
    double deviation = 0;
    size_t good = 0;
    double *column = malloc(spread->samples * sizeof *column);
    hl_driver *drivers = arena_array(spread->memory, n + 2, sizeof *drivers);
    if (!column || !drivers) {
        free(column);
        return false;
    }
    for (size_t i = 0; i < spread->samples; i++)
        if (isfinite(spread->y[figure * spread->samples + i]))
            column[good++] = spread->y[figure * spread->samples + i];
    deviation = hl_deviation(good, column);
    free(column);
    size_t k = 0;
    double least = least_share(good);
    for (size_t u = 0; u < n; u++) {
        bool led = total && noise && found->group[u] < found->n;
        double t = led ? total[found->group[u]] : NAN;
        double error = led ? noise[found->group[u]] : NAN;
        if (first[u] < least && !(t > fmax(0.01, 3 * error))) continue;
        drivers[k++] = (hl_driver){u, first[u], t, error, deviation * sqrt(fmax(0, 1 - first[u]))};
    }
    if (k) qsort(drivers, k, sizeof *drivers, by_share);
    if (total && found->rest) {
        double others = 0;
        for (size_t u = 0; u < n; u++)
            if (found->group[u] == found->n) others += first[u];
        drivers[k++] = (hl_driver){SIZE_MAX, others, total[found->n], noise[found->n],
                                   deviation * sqrt(fmax(0, 1 - fmin(1, others)))};
    }
    spread->drivers[about] = drivers;
    spread->n_drivers[about] = k;
    return true;
}

static hl_status totals(hl_spread *spread, const hl_spread_options *options, const crew *workers,
                        const leaders *found, double total[], double noise[])
{
    size_t groups = found->n + found->rest;
    double *first = calloc(options->n_about * groups + 1, sizeof *first);
    if (!first) return HL_NO_MEMORY;
    asking context = {workers, options->about, options->n_about};
    hl_indices_job job = {.base = options->total_base,
                          .unknowns = spread->unknowns.n,
                          .outputs = options->n_about,
                          .groups = groups,
                          .group = found->group,
                          .seed = options->seed + 1, /* another sample than that of the quantiles */
                          .workers = workers->workers,
                          .model = answer,
                          .context = &context};
    hl_status status = hl_indices(&job, first, total, noise);
    free(first);
    return status;
}

hl_status drivers_find(hl_spread *spread, const hl_spread_options *options, const crew *workers)
{
    size_t n = spread->unknowns.n, about = options->n_about;
    spread->n_about = about;
    spread->drivers = arena_array(spread->memory, about + 1, sizeof(hl_driver *));
    spread->n_drivers = arena_array(spread->memory, about + 1, sizeof *spread->n_drivers);
    if (!spread->drivers || !spread->n_drivers) return HL_NO_MEMORY;
    if (!about || !n) return HL_OK;
    size_t wanted = options->total_unknowns ? options->total_unknowns : UNKNOWNS_USUAL;
    double *first = calloc(about * n, sizeof *first), *total = NULL;
    leaders found = {0};
    hl_status status = first ? HL_OK : HL_NO_MEMORY;
    for (size_t a = 0; first && a < about; a++)
        for (size_t u = 0; u < n; u++)
            first[a * n + u] = hl_first_order(spread->samples, spread->p + u, n,
                                              &spread->y[options->about[a] * spread->samples]);
    if (first && !choose(spread, first, wanted, &found)) status = HL_NO_MEMORY;
    size_t groups = found.n + found.rest;
    if (status == HL_OK && options->total_base) {
        total = calloc(2 * about * groups, sizeof *total);
        status =
            total ? totals(spread, options, workers, &found, total, total + about * groups) : HL_NO_MEMORY;
    }
    for (size_t a = 0; status == HL_OK && a < about; a++) {
        const double *own = total ? &total[a * groups] : NULL, *noise = total ? own + about * groups : NULL;
        if (!list(spread, options, a, &first[a * n], &found, own, noise)) status = HL_NO_MEMORY;
    }
    free(first);
    free(total);
    return status;
}
