/* field_matrix.c - the grid's conductance matrix, factorised by CHOLMOD.
 *
 * The matrix is symmetric and an M-matrix: no pivoting, one analysis for every set of values. */
#include "thermal/field_matrix.h"

#include <cholmod.h>
#include <stdlib.h>
#include <string.h>

struct field_matrix {
    const grid *g;
    cholmod_common common;
    cholmod_triplet *entries; /* lower triangle: diagonal first, then links, then pairs */
    cholmod_factor *factor;
};

static void place_entry(cholmod_triplet *t, size_t at, int a, int b)
{
    int *row = t->i, *column = t->j;
    row[at] = a > b ? a : b;
    column[at] = a > b ? b : a;
}

static void place_entries(field_matrix *m)
{
    const grid *g = m->g;
    size_t at = 0;
    for (int c = 0; c < g->cells; c++) place_entry(m->entries, at++, c, c);
    for (size_t i = 0; i < g->n_links; i++) place_entry(m->entries, at++, g->links[i].a, g->links[i].b);
    for (size_t i = 0; i < g->n_pairs; i++)
        if (!g->pairs[i].apart) place_entry(m->entries, at++, g->pairs[i].a, g->pairs[i].b);
    m->entries->nnz = at;
}

field_matrix *matrix_create(const grid *g)
{
    field_matrix *m = calloc(1, sizeof *m);
    if (!m) return NULL;
    m->g = g;
    cholmod_start(&m->common);
    m->common.print = 0;
    m->common.nmethods = 1;
    m->common.method[0].ordering = CHOLMOD_METIS; /* a third of the work of minimum degree on these grids */
    m->common.supernodal = CHOLMOD_SUPERNODAL;
    m->common.final_ll = 1;
    size_t entries = (size_t)g->cells + g->n_links + g->n_pairs;
    m->entries =
        cholmod_allocate_triplet((size_t)g->cells, (size_t)g->cells, entries, -1, CHOLMOD_REAL, &m->common);
    if (!m->entries) {
        matrix_destroy(m);
        return NULL;
    }
    place_entries(m);
    return m;
}

void matrix_destroy(field_matrix *m)
{
    if (!m) return;
    cholmod_free_factor(&m->factor, &m->common);
    cholmod_free_triplet(&m->entries, &m->common);
    cholmod_finish(&m->common);
    free(m);
}

static void set_values(field_matrix *m, const double pair[], const double outward[], double rate)
{
    const grid *g = m->g;
    double *value = m->entries->x, *off = value + g->cells;
    for (int c = 0; c < g->cells; c++) value[c] = rate * g->capacity[c];
    for (size_t i = 0; i < g->n_links; i++) {
        const grid_link *link = &g->links[i];
        value[link->a] += link->conductance;
        value[link->b] += link->conductance;
        *off++ = -link->conductance;
    }
    for (size_t i = 0; i < g->n_pairs; i++) {
        if (g->pairs[i].apart) continue;
        value[g->pairs[i].a] += pair[i];
        value[g->pairs[i].b] += pair[i];
        *off++ = -pair[i];
    }
    for (size_t i = 0; i < g->n_surfaces; i++) {
        const grid_surface *s = &g->surfaces[i];
        value[s->cell] += outward[i] * s->conductance / (outward[i] + s->conductance);
    }
}

bool matrix_factor(field_matrix *m, const double pair[], const double outward[], double rate)
{
    set_values(m, pair, outward, rate);
    cholmod_sparse *a = cholmod_triplet_to_sparse(m->entries, m->entries->nnz, &m->common);
    if (a && !m->factor) m->factor = cholmod_analyze(a, &m->common);
    if (a && !m->factor) { /* built without nested dissection */
        m->common.method[0].ordering = CHOLMOD_AMD;
        m->factor = cholmod_analyze(a, &m->common);
    }
    bool good = a && m->factor && cholmod_factorize(a, m->factor, &m->common) &&
                m->common.status == CHOLMOD_OK && m->factor->minor == (size_t)m->g->cells;
    cholmod_free_sparse(&a, &m->common);
    return good;
}

bool matrix_solve(field_matrix *m, double vector[], size_t columns)
{
    size_t cells = (size_t)m->g->cells;
    cholmod_dense b = {.nrow = cells,
                       .ncol = columns,
                       .nzmax = cells * columns,
                       .d = cells,
                       .x = vector,
                       .xtype = CHOLMOD_REAL,
                       .dtype = CHOLMOD_DOUBLE};
    cholmod_dense *x = cholmod_solve(CHOLMOD_A, m->factor, &b, &m->common);
    if (!x) return false;
    memcpy(vector, x->x, cells * columns * sizeof *vector);
    cholmod_free_dense(&x, &m->common);
    return true;
}
