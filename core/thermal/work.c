/* work.c - assembly, and the factorisation kept from call to call. */
#include "thermal/work.h"
#include "thermal/repeat.h"

#include "thermal/links.h"
#include "thermal/network.h"
#include "thermal/pattern.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- create -- */

void network_take_links(hl_network_work *work)
{
    work->step_factored = work->point_factored = false;
    work->links.least = -1; /* what was kept is of other figures */
    links_sort(work);
}

static bool allocate(hl_network_work *work)
{
    size_t n = (size_t)work->n + 1, links = work->network->n_links + 1, entries = (size_t)work->entries + 1;
    double **vectors[] = {
        &work->temperature, &work->residual,       &work->heat,     &work->slope,
        &work->step,        &work->trial,          &work->kept,     &work->mode,
        &work->image,       &work->watts_rise,     &work->factored, &work->links.temperature,
        &work->factored_at, &work->links.residual, &work->end,      &work->carried};
    bool good = true;
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++) {
        *vectors[i] = calloc(n, sizeof(double));
        good = good && *vectors[i];
    }
    work->value = calloc(entries, sizeof *work->value);
    work->saved = calloc(entries, sizeof *work->saved);
    work->links.value = calloc(entries, sizeof *work->links.value);
    work->links.least = -1; /* nothing is kept yet */
    work->power = malloc(links * sizeof *work->power);
    work->same = malloc(links * sizeof *work->same);
    work->source = calloc(entries, sizeof *work->source);
    work->figure = calloc(entries, sizeof *work->figure);
    good = air_rows_create(&work->air, links) && good;
    return good && work->value && work->saved && work->links.value && work->power && work->same &&
           work->source && work->figure;
}

/* A first factorisation of a matrix whose diagonal outweighs the rest, so that the order of
 * elimination is settled on the diagonal for good: later only numbers change. */
static bool analyse(hl_network_work *work)
{
    klu_defaults(&work->common);
    work->common.scale = -1;           /* equal units in all rows: scaling would only cost time */
    work->common.tol = 1e-12;          /* keep to the diagonal */
    work->common.halt_if_singular = 0; /* pivots are looked at here */
    if (work->n == 0) return true;
    bool fits;
    work->small = elimination_create(work->n, work->column, work->row, &fits);
    if (work->small || fits) return work->small != NULL;
    for (int j = 0; j < work->n; j++)
        for (int p = work->column[j]; p < work->column[j + 1]; p++)
            work->value[p] = work->row[p] == j ? work->column[j + 1] - work->column[j] : -1.0;
    work->symbolic = klu_analyze(work->n, work->column, work->row, &work->common);
    if (!work->symbolic) return false;
    work->numeric = klu_factor(work->column, work->row, work->value, work->symbolic, &work->common);
    return work->numeric != NULL;
}

hl_network_work *hl_network_work_create(const hl_network *network)
{
    if (!network) return NULL;
    hl_network_work *work = calloc(1, sizeof *work);
    if (!work) return NULL;
    work->network = network;
    work->n = (int)network->n_nodes;
    if (!pattern_build(work) || !allocate(work) || !analyse(work)) {
        hl_network_work_destroy(work);
        return NULL;
    }
    links_sort(work);
    return work;
}

void hl_network_work_destroy(hl_network_work *work)
{
    if (!work) return;
    elimination_destroy(work->small);
    air_rows_destroy(&work->air);
    if (work->numeric) klu_free_numeric(&work->numeric, &work->common);
    if (work->symbolic) klu_free_symbolic(&work->symbolic, &work->common);
    void *blocks[] = {work->power,       work->same,        work->source,
                      work->column,      work->row,         work->diagonal,
                      work->value,       work->temperature, work->residual,
                      work->heat,        work->slope,       work->step,
                      work->trial,       work->kept,        work->mode,
                      work->image,       work->saved,       work->links.temperature,
                      work->factored,    work->factored_at, work->links.residual,
                      work->links.value, work->end,         work->carried,
                      work->figure,      work->watts_rise};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(work);
}

/* -------------------------------------------------------------- assembly -- */

void work_multiply(const hl_network_work *work, const double matrix[], const double x[], double image[])
{
    const int *column = work->column, *row = work->row;
    for (int j = 0, n = work->n; j < n; j++) {
        double factor = x[j];
#pragma GCC unroll 4
        for (int p = column[j], end = column[j + 1]; p < end; p++) image[row[p]] += matrix[p] * factor;
    }
}

void network_forget(hl_network_work *work)
{
    work->links.least = -1;
    work->step_factored = work->point_factored = false;
}

/* Were the links last assembled in these surroundings? */
static bool links_are_of(const hl_network_work *work, double least)
{
    const links_kept *kept = &work->links;
    return kept->least == least && kept->pressure == work->pressure &&
           kept->temperature[work->n] == work->ambient;
}

bool work_end_stands(const hl_network_work *work, double least)
{
    return work->step_factored && work->end_known && links_are_of(work, least);
}

/* Were the links last assembled at just these temperatures?  The end of one balance is the start of the next
 * with other heat, and of the gain. */
static bool links_stand(const hl_network_work *work, double least)
{
    return links_are_of(work, least) &&
           !memcmp(work->links.temperature, work->temperature, (size_t)work->n * sizeof(double));
}

/* So little away that a tangent will do: what it leaves out goes with the square. */
static bool links_are_near(const hl_network_work *work, double least)
{
    if (!links_are_of(work, least)) return false;
    for (int i = 0; i < work->n; i++)
        if (!(fabs(work->temperature[i] - work->links.temperature[i]) <= work->near)) return false;
    return true;
}

static void follow_tangent(hl_network_work *work)
{
    const links_kept *kept = &work->links;
    double *moved = work->step;
    for (int i = 0; i < work->n; i++) moved[i] = work->temperature[i] - kept->temperature[i];
    work_multiply(work, kept->value, moved, work->residual);
}

void work_assemble_links(hl_network_work *work, double least)
{
    links_kept *kept = &work->links;
    size_t vector = ((size_t)work->n + 1) * sizeof(double),
           matrix = ((size_t)work->entries + 1) * sizeof(double);
    work->temperature[work->n] = work->ambient;
    bool near = work->near > 0 && links_are_near(work, least);
    if (near || links_stand(work, least)) {
        memcpy(work->residual, kept->residual, vector);
        memcpy(work->value, kept->value, matrix);
        if (near) follow_tangent(work);
        return;
    }
    work->step_factored = false;
    links_add(work, least);
    memcpy(kept->temperature, work->temperature, vector);
    memcpy(kept->residual, work->residual, vector);
    memcpy(kept->value, work->value, matrix);
    kept->least = least;
    kept->pressure = work->pressure;
}

/* Heat off what leaves along links.  False: some of that, heat or slopes is not finite. */
FOUR_LANES static bool put_heat_in(hl_network_work *work)
{
    const double *heat = work->heat, *slope = work->slope;
    double *residual = work->residual;
    lanes sizes = {0, 0, 0, 0}, checks = {0, 0, 0, 0};
    int i = 0, n = work->n;
    for (; i + LANES <= n; i += LANES) {
        lanes some = lanes_load(heat + i), left = lanes_load(residual + i) - some, size;
        lanes_size(&some, &size);
        lanes_store(residual + i, left);
        sizes += size;
        checks += left + lanes_load(slope + i);
    }
    double total = lanes_total(sizes), check = lanes_total(checks);
    for (; i < n; i++) {
        residual[i] -= heat[i];
        total += fabs(heat[i]);
        check += residual[i] + slope[i];
    }
    work->total_heat = total;
    return isfinite(check) && isfinite(total);
}

bool work_assemble(hl_network_work *work, hl_heat heat, void *context, double time, double least)
{
    work_assemble_links(work, least);
    heat(context, time, work->temperature, work->heat, work->slope);
    for (int i = 0; i < work->n; i++) work->value[work->diagonal[i]] -= work->slope[i];
    return put_heat_in(work);
}

double work_imbalance(const hl_network_work *work)
{
    double sum = 0;
    for (int i = 0; i < work->n; i++) sum += fabs(work->residual[i]);
    return sum;
}

double work_tolerance(const hl_network_work *work)
{
    double rounding = 0;
    for (int i = 0; i < work->n; i++) rounding += fabs(work->value[work->diagonal[i]] * work->temperature[i]);
    return fmax(1e-11 * work->total_heat, 1e-12) + 4 * DBL_EPSILON * rounding;
}

/* ---------------------------------------------------------------- factor -- */

bool work_factor(hl_network_work *work)
{
    work->step_factored = work->point_factored = false;
    if (work->n == 0) return true;
    if (work->small) return elimination_factor(work->small, work->value);
    if (!klu_refactor(work->column, work->row, work->value, work->symbolic, work->numeric, &work->common))
        return false;
    const double *pivot = work->numeric->Udiag;
    for (int i = 0; i < work->n; i++)
        if (!(pivot[i] > 0)) return false;
    return true;
}

bool work_factor_any(hl_network_work *work)
{
    bool positive = work_factor(work);
    if (work->small) return positive || elimination_is_regular(work->small);
    const double *pivot = work->n > 0 ? work->numeric->Udiag : NULL;
    for (int i = 0; i < work->n; i++)
        if (!isfinite(pivot[i]) || pivot[i] == 0) return false;
    return true;
}

void work_solve(hl_network_work *work, double vector[])
{
    if (work->small)
        elimination_solve(work->small, vector);
    else if (work->n > 0)
        klu_solve(work->symbolic, work->numeric, work->n, 1, vector, &work->common);
}

void work_solve_two(hl_network_work *work, double vector[], double other[])
{
    if (work->small) {
        elimination_solve_two(work->small, vector, other);
        return;
    }
    work_solve(work, vector);
    work_solve(work, other);
}
