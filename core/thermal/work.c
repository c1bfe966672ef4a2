/* work.c - sorting links by law, assembly, and the factorisation kept from call to call. */
#include "thermal/work.h"
#include "thermal/repeat.h"

#include "thermal/law.h"
#include "thermal/network.h"
#include "thermal/pattern.h"
#include "wave/lanes.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- create -- */

static link_place place_of(const hl_network_work *work, const hl_link *link)
{
    int a = link->a < 0 ? work->n : link->a, b = link->b < 0 ? work->n : link->b;
    return (link_place){a,
                        b,
                        pattern_place(work, a, a),
                        pattern_place(work, a, b),
                        pattern_place(work, b, a),
                        pattern_place(work, b, b)};
}

static inline void scatter(double *value, const link_place *at, double by_a, double by_b)
{
    value[at->aa] += by_a;
    value[at->ab] -= by_b;
    value[at->ba] -= by_a;
    value[at->bb] += by_b;
}

/* Fixed links melt into one matrix, and one conductance outward per node. */
static void add_fixed(hl_network_work *work, link_place at, double conductance)
{
    scatter(work->base, &at, conductance, conductance);
    if (at.a == work->n) work->outward[at.b] += conductance;
    if (at.b == work->n) work->outward[at.a] += conductance;
}

/* So does radiation, which is linear in fourth powers. */
static void add_radiation(hl_network_work *work, link_place at, double coefficient)
{
    work->radiation[work->n_radiation++] = (radiation_link){at.a, at.b, coefficient};
    scatter(work->shine, &at, coefficient, coefficient);
}

static void list_fixed(hl_network_work *work)
{
    work->n_fixed = 0;
    for (int j = 0; j < work->n; j++)
        for (int p = work->column[j]; p < work->column[j + 1]; p++)
            if (work->base[p] != 0)
                work->fixed[work->n_fixed++] = (fixed_entry){work->row[p], j, work->base[p]};
}

static void sort_links(hl_network_work *work)
{
    for (size_t k = 0; k < work->network->n_links; k++) {
        const hl_link *link = &work->network->links[k];
        const double *p = link->p;
        link_place at = place_of(work, link);
        switch (link->law) {
        case HL_LAW_FIXED:
            add_fixed(work, at, p[0]);
            break;
        case HL_LAW_POWER:
            work->power[work->n_power++] = (power_link){at, p[0] * p[1], p[2]};
            break;
        case HL_LAW_RADIATION:
            add_radiation(work, at, stefan_boltzmann * p[0] * p[1]);
            break;
        case HL_LAW_NATURAL:
        case HL_LAW_GAP:
        case HL_LAW_FORCED:
            break;
        }
    }
    list_fixed(work);
    for (int kind = 0; kind < AIR_KINDS; kind++)
        for (size_t k = 0; k < work->network->n_links; k++) {
            const hl_link *link = &work->network->links[k];
            if (air_rows_kind(link) == kind) air_rows_add(&work->air, place_of(work, link), link);
        }
}

void network_take_links(hl_network_work *work)
{
    memset(work->base, 0, ((size_t)work->entries + 1) * sizeof *work->base);
    memset(work->shine, 0, ((size_t)work->entries + 1) * sizeof *work->shine);
    memset(work->outward, 0, ((size_t)work->n + 1) * sizeof *work->outward);
    work->step_factored = work->point_factored = false;
    work->n_power = work->n_radiation = 0;
    air_rows_clear(&work->air);
    work->links.least = -1; /* what was kept is of other figures */
    sort_links(work);
}

static bool allocate(hl_network_work *work)
{
    size_t n = (size_t)work->n + 1, links = work->network->n_links + 1,
           entries = (size_t)work->entries + LANES;
    double **vectors[] = {&work->temperature, &work->residual,       &work->heat,
                          &work->slope,       &work->step,           &work->trial,
                          &work->kept,        &work->mode,           &work->image,
                          &work->outward,     &work->factored,       &work->links.temperature,
                          &work->factored_at, &work->links.residual, &work->spare,
                          &work->end,         &work->carried};
    bool good = true;
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++) {
        *vectors[i] = calloc(n, sizeof(double));
        good = good && *vectors[i];
    }
    work->base = calloc(entries, sizeof *work->base);
    work->shine = calloc(entries, sizeof *work->shine);
    work->value = calloc(entries, sizeof *work->value);
    work->saved = calloc(entries, sizeof *work->saved);
    work->links.value = calloc(entries, sizeof *work->links.value);
    work->links.least = -1; /* nothing is kept yet */
    work->power = malloc(links * sizeof *work->power);
    work->fixed = malloc(entries * sizeof *work->fixed);
    work->radiation = malloc(links * sizeof *work->radiation);
    good = air_rows_create(&work->air, links) && good;
    return good && work->base && work->shine && work->value && work->saved && work->links.value &&
           work->power && work->fixed && work->radiation;
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
    sort_links(work);
    return work;
}

void hl_network_work_destroy(hl_network_work *work)
{
    if (!work) return;
    elimination_destroy(work->small);
    air_rows_destroy(&work->air);
    if (work->numeric) klu_free_numeric(&work->numeric, &work->common);
    if (work->symbolic) klu_free_symbolic(&work->symbolic, &work->common);
    void *blocks[] = {work->power,       work->fixed,       work->radiation,
                      work->column,      work->row,         work->diagonal,
                      work->base,        work->value,       work->temperature,
                      work->residual,    work->heat,        work->slope,
                      work->step,        work->trial,       work->kept,
                      work->mode,        work->image,       work->saved,
                      work->shine,       work->spare,       work->links.temperature,
                      work->factored,    work->factored_at, work->links.residual,
                      work->links.value, work->outward,     work->end,
                      work->carried};
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

/* The fixed links all at once: their matrix times the rise over the surroundings. */
static void fixed_heat(hl_network_work *work)
{
    const double *t = work->temperature, *outward = work->outward;
    const fixed_entry *fixed = work->fixed;
    double *r = work->residual, *rise = work->spare, to_ambient = 0;
    for (int j = 0; j < work->n; j++) {
        rise[j] = t[j] - work->ambient;
        to_ambient += outward[j] * rise[j];
    }
#pragma GCC unroll 4
    for (size_t k = 0, n = work->n_fixed; k < n; k++)
        r[fixed[k].row] += fixed[k].conductance * rise[fixed[k].column];
    r[work->n] -= to_ambient;
}

static void radiation_heat(hl_network_work *work)
{
    const double *t = work->temperature;
    const radiation_link *link = work->radiation;
    double *r = work->residual, *fourth = work->spare;
    for (int i = 0; i <= work->n; i++) fourth[i] = (t[i] * t[i]) * (t[i] * t[i]);
#pragma GCC unroll 4
    for (size_t k = 0, n = work->n_radiation; k < n; k++) {
        double heat = link[k].coefficient * (fourth[link[k].a] - fourth[link[k].b]);
        r[link[k].a] += heat;
        r[link[k].b] -= heat;
    }
}

/* Derivatives of both, column by column; what four at a time write beyond the end of one is of the next, or
 * spare. */
FOUR_LANES static void fill_derivatives(const hl_network_work *work)
{
    const double *base = work->base, *shine = work->shine, *t = work->temperature;
    const int *column = work->column;
    double *value = work->value;
    for (int j = 0, n = work->n; j < n; j++) {
        double cube = 4 * t[j] * t[j] * t[j];
        for (int p = column[j], end = column[j + 1]; p < end; p += LANES)
            lanes_store(value + p, lanes_load(base + p) + cube * lanes_load(shine + p));
    }
}

static void add_air(hl_network_work *work, double least)
{
    const air_rows *air = &work->air;
    air_rows_flow(&work->air, work->temperature, work->pressure, least);
    const double *heat = air->heat, *by_a = air->by_a, *by_b = air->by_b;
    double *r = work->residual, *value = work->value;
    const air_link *link = air->link;
    for (size_t k = 0, n = air->n; k < n; k++) {
        r[link[k].at.a] += heat[k];
        r[link[k].at.b] -= heat[k];
        scatter(value, &link[k].at, by_a[k], by_b[k]);
    }
}

static void add_links(hl_network_work *work, double least)
{
    const double *t = work->temperature;
    double *r = work->residual, *value = work->value;
    memset(r, 0, ((size_t)work->n + 1) * sizeof *r);
    fixed_heat(work);
    radiation_heat(work);
    fill_derivatives(work);
    for (size_t k = 0; k < work->n_power; k++) {
        const power_link *link = &work->power[k];
        law_flow q = law_power(link->coefficient, link->exponent, t[link->at.a] - t[link->at.b], least);
        r[link->at.a] += q.heat;
        r[link->at.b] -= q.heat;
        scatter(value, &link->at, q.by_a, q.by_b);
    }
    add_air(work, least);
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
    add_links(work, least);
    memcpy(kept->temperature, work->temperature, vector);
    memcpy(kept->residual, work->residual, vector);
    memcpy(kept->value, work->value, matrix);
    kept->least = least;
    kept->pressure = work->pressure;
}

bool work_assemble(hl_network_work *work, hl_heat heat, void *context, double time, double least)
{
    work_assemble_links(work, least);
    heat(context, time, work->temperature, work->heat, work->slope);
    double total = 0, check = 0;
    for (int i = 0; i < work->n; i++) {
        work->residual[i] -= work->heat[i];
        work->value[work->diagonal[i]] -= work->slope[i];
        total += fabs(work->heat[i]);
        check += work->residual[i] + work->slope[i];
    }
    work->total_heat = total;
    return isfinite(check) && isfinite(total);
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
