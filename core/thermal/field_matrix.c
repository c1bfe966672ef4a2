/* field_matrix.c - the grid's conductance matrix and its factor.
 *
 * The matrix is symmetric and an M-matrix: no pivoting, one analysis for every set of values.  field_order.c
 * orders it, CHOLMOD says where its factor has entries, and field_factor.c fills them. */
#include "thermal/field_matrix.h"

#include "thermal/field_factor.h"
#include "thermal/field_order.h"

#include <cholmod.h>
#include <stdlib.h>
#include <string.h>

struct field_matrix {
    const grid *g;
    size_t entries; /* diagonal first, then links, then pairs */
    size_t *place;  /* of each among the factor's values */
    int *order;     /* cell of each row of the factor */
    field_factor *factor;
    double *columns; /* cells x FACTOR_COLUMNS, in that order */
};

static size_t place_entry(cholmod_triplet *t, size_t at, int a, int b)
{
    int *row = t->i, *column = t->j;
    double *value = t->x;
    row[at] = a > b ? a : b;
    column[at] = a > b ? b : a;
    value[at] = 1;
    return at + 1;
}

static cholmod_triplet *list_entries(const grid *g, cholmod_common *common)
{
    size_t cells = (size_t)g->cells, at = 0;
    cholmod_triplet *t =
        cholmod_allocate_triplet(cells, cells, cells + g->n_links + g->n_pairs, -1, CHOLMOD_REAL, common);
    if (!t) return NULL;
    for (int c = 0; c < g->cells; c++) at = place_entry(t, at, c, c);
    for (size_t i = 0; i < g->n_links; i++) at = place_entry(t, at, g->links[i].a, g->links[i].b);
    for (size_t i = 0; i < g->n_pairs; i++)
        if (!g->pairs[i].apart) at = place_entry(t, at, g->pairs[i].a, g->pairs[i].b);
    t->nnz = at;
    return t;
}

static cholmod_factor *analyse(const grid *g, const cholmod_triplet *entries, cholmod_common *common)
{
    cholmod_sparse *a = cholmod_triplet_to_sparse((cholmod_triplet *)entries, entries->nnz, common);
    int *order = malloc(((size_t)g->cells + 1) * sizeof *order);
    cholmod_factor *shape = NULL;
    common->nmethods = 1;
    common->method[0].ordering = CHOLMOD_GIVEN;
    common->supernodal = CHOLMOD_SUPERNODAL;
    if (a && order && order_cells(g, order)) shape = cholmod_analyze_p(a, order, NULL, 0, common);
    free(order);
    cholmod_free_sparse(&a, common);
    return shape;
}

/* Where each entry lies in the factor. */
static void find_places(field_matrix *m, const cholmod_triplet *entries, const int inverse[])
{
    const int *row = entries->i, *column = entries->j;
    for (size_t i = 0; i < m->entries; i++) {
        int a = inverse[row[i]], b = inverse[column[i]];
        m->place[i] = factor_place(m->factor, a > b ? a : b, a > b ? b : a);
    }
}

static bool take_shape(field_matrix *m, const cholmod_triplet *entries, const cholmod_factor *shape)
{
    size_t cells = (size_t)m->g->cells, columns = cells * FACTOR_COLUMNS * sizeof *m->columns;
    int *inverse = malloc((cells + 1) * sizeof *inverse);
    m->entries = entries->nnz;
    m->place = malloc((m->entries + 1) * sizeof *m->place);
    m->order = malloc((cells + 1) * sizeof *m->order);
    m->columns = aligned_alloc(FACTOR_COLUMNS * sizeof *m->columns, columns);
    m->factor =
        factor_create(&(factor_shape){m->g->cells, (int)shape->nsuper, shape->super, shape->pi, shape->s});
    bool good = inverse && m->place && m->order && m->columns && m->factor;
    if (good) {
        memcpy(m->order, shape->Perm, cells * sizeof *m->order);
        for (int i = 0; i < m->g->cells; i++) inverse[m->order[i]] = i;
        find_places(m, entries, inverse);
    }
    free(inverse);
    return good;
}

field_matrix *matrix_create(const grid *g)
{
    cholmod_common common;
    field_matrix *m = calloc(1, sizeof *m);
    if (!m) return NULL;
    m->g = g;
    cholmod_start(&common);
    common.print = 0;
    cholmod_triplet *entries = list_entries(g, &common);
    cholmod_factor *shape = entries ? analyse(g, entries, &common) : NULL;
    bool good = shape && shape->is_super && take_shape(m, entries, shape);
    cholmod_free_factor(&shape, &common);
    cholmod_free_triplet(&entries, &common);
    cholmod_finish(&common);
    if (good) return m;
    matrix_destroy(m);
    return NULL;
}

void matrix_destroy(field_matrix *m)
{
    if (!m) return;
    factor_destroy(m->factor);
    free(m->place);
    free(m->order);
    free(m->columns);
    free(m);
}

bool matrix_factor(field_matrix *m, const double pair[], const double outward[], double rate)
{
    const grid *g = m->g;
    double *value = factor_clear(m->factor);
    const size_t *diagonal = m->place, *off = diagonal + g->cells;
    for (int c = 0; c < g->cells; c++) value[diagonal[c]] = rate * g->capacity[c];
    for (size_t i = 0; i < g->n_links; i++) {
        const grid_link *link = &g->links[i];
        value[diagonal[link->a]] += link->conductance;
        value[diagonal[link->b]] += link->conductance;
        value[*off++] -= link->conductance;
    }
    for (size_t i = 0; i < g->n_pairs; i++) {
        if (g->pairs[i].apart) continue;
        value[diagonal[g->pairs[i].a]] += pair[i];
        value[diagonal[g->pairs[i].b]] += pair[i];
        value[*off++] -= pair[i];
    }
    for (size_t i = 0; i < g->n_surfaces; i++) {
        const grid_surface *s = &g->surfaces[i];
        value[diagonal[s->cell]] += outward[i] * s->conductance / (outward[i] + s->conductance);
    }
    return factor_run(m->factor);
}

void matrix_solve(field_matrix *m, double vector[], size_t columns)
{
    size_t cells = (size_t)m->g->cells;
    for (size_t first = 0; first < columns; first += FACTOR_COLUMNS) {
        size_t n = columns - first < FACTOR_COLUMNS ? columns - first : FACTOR_COLUMNS;
        double *some = vector + first * cells;
        memset(m->columns, 0, cells * FACTOR_COLUMNS * sizeof *m->columns);
        for (size_t k = 0; k < n; k++)
            for (size_t i = 0; i < cells; i++)
                m->columns[i * FACTOR_COLUMNS + k] = some[k * cells + (size_t)m->order[i]];
        factor_solve(m->factor, m->columns);
        for (size_t k = 0; k < n; k++)
            for (size_t i = 0; i < cells; i++)
                some[k * cells + (size_t)m->order[i]] = m->columns[i * FACTOR_COLUMNS + k];
    }
}
