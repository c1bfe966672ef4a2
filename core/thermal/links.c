/* links.c - links sorted by law, and what all of them come to at each node.
 *
 * All links between the same two ends add up in one row.  An entry of the matrix off the diagonal tells of
 * one end of one row, and what leaves a node is the sum over its column, as is the diagonal: no link needs to
 * know where its figures go. */
#include "thermal/links.h"

#include "thermal/law.h"
#include "thermal/network.h"
#include "thermal/pattern.h"

/* ------------------------------------------------------------------- sort -- */

/* Where the end of a row at `node` is told that leads to `other`. */
static int *source_of(hl_network_work *work, int node, int other)
{
    return &work->source[other == work->n ? work->diagonal[node] : pattern_place(work, other, node)];
}

/* The end at `a` of the row that stands for a and b; that at b lies beside it.  No end: there is no such row
 * yet. */
static int end_at(hl_network_work *work, int a, int b)
{
    int none = air_rows_no_end(&work->air);
    if (a < work->n) return *source_of(work, a, b);
    int other = *source_of(work, b, a);
    return other == none ? none : other ^ 1;
}

/* A row that is the first of its ends stands for them; what goes along others is added to it. */
static void enter_row(hl_network_work *work, int a, int b, size_t row)
{
    int own = 2 * (int)row, standing = end_at(work, a, b);
    if (standing != air_rows_no_end(&work->air)) {
        work->same[work->n_same++] = (same_ends){own, standing};
        return;
    }
    if (a < work->n) *source_of(work, a, b) = own;
    if (b < work->n) *source_of(work, b, a) = own + 1;
}

static void sort_link(hl_network_work *work, const hl_link *link)
{
    const double *p = link->p;
    int a = link->a < 0 ? work->n : link->a, b = link->b < 0 ? work->n : link->b, at = end_at(work, a, b);
    if (air_rows_kind(link) != AIR_NONE || at == air_rows_no_end(&work->air)) {
        enter_row(work, a, b, air_rows_add(&work->air, a, b, link));
        at = end_at(work, a, b);
    }
    switch (link->law) {
    case HL_LAW_FIXED:
        work->air.conductance[at / 2] += p[0];
        break;
    case HL_LAW_POWER:
        work->power[work->n_power++] = (power_link){at, at ^ 1, p[0] * p[1], p[2]};
        break;
    case HL_LAW_RADIATION:
        work->air.radiance[at / 2] += stefan_boltzmann * p[0] * p[1];
        break;
    case HL_LAW_NATURAL:
    case HL_LAW_GAP:
    case HL_LAW_FORCED:
        break;
    }
}

void links_sort(hl_network_work *work)
{
    work->n_power = work->n_same = 0;
    air_rows_clear(&work->air);
    for (int p = 0; p <= work->entries; p++) work->source[p] = air_rows_no_end(&work->air);
    for (int kind = 0; kind < AIR_KINDS; kind++)
        for (size_t k = 0; k < work->network->n_links; k++) {
            const hl_link *link = &work->network->links[k];
            if (air_rows_kind(link) == kind) sort_link(work, link);
        }
    for (int p = 0; p <= work->entries; p++) work->figure[p] = 2 * work->source[p];
}

/* -------------------------------------------------------------------- add -- */

static void add_power(hl_network_work *work, double least)
{
    const air_rows *rows = &work->air;
    for (size_t k = 0; k < work->n_power; k++) {
        const power_link *link = &work->power[k];
        row_end *a = &rows->end[link->a], *b = &rows->end[link->b];
        bool ahead = link->a < link->b; /* from end a of the row to its end b */
        double difference = rows->difference[link->a / 2];
        law_flow q = law_power(link->coefficient, link->exponent, ahead ? difference : -difference, least);
        *a = (row_end){a->heat + q.heat, a->less_slope - q.by_a};
        *b = (row_end){b->heat - q.heat, b->less_slope - q.by_b};
    }
}

/* Heat and slope of an end at once. */
typedef double both __attribute__((vector_size(2 * sizeof(double)), aligned(8), may_alias));
#define both_of(end) (*(both *)(void *)(end))

static void add_same(hl_network_work *work)
{
    row_end *end = work->air.end;
    for (size_t k = 0; k < work->n_same; k++) {
        int from = work->same[k].from, to = work->same[k].to;
        both_of(&end[to]) += both_of(&end[from]);
        both_of(&end[to ^ 1]) += both_of(&end[from + 1]);
    }
}

/* Column by column. */
static void gather_ends(hl_network_work *work)
{
    const double *figures = &work->air.end->heat;
    const int *column = work->column, *figure = work->figure;
    double *value = work->value, to_ambient = 0;
    for (int j = 0; j < work->n; j++) {
        both sum = {0, 0};
#pragma GCC unroll 4
        for (int p = column[j], last = column[j + 1]; p < last; p++) {
            both out = *(const both *)(const void *)&figures[figure[p]];
            sum += out;
            value[p] = out[1];
        }
        work->residual[j] = sum[0];
        value[work->diagonal[j]] = -sum[1];
        to_ambient += figures[figure[work->diagonal[j]]];
    }
    work->residual[work->n] = -to_ambient;
}

void links_add(hl_network_work *work, double least)
{
    air_rows_flow(&work->air, work->temperature, work->pressure, least);
    add_power(work, least);
    add_same(work);
    gather_ends(work);
}
