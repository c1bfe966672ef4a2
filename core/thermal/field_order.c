/* field_order.c - nested dissection of a structured grid (A. George 1973, SIAM J. Numer. Anal. 10, 345): a
 * plane of cells parts a block in two, which are ordered before it, and so on within each.
 *
 * Radiation ties the solids on both sides of an air gap.  Where such a pair spans the plane, its lower cell
 * joins the plane's.  A general ordering would serve as well, but those at hand draw from the C library's one
 * source of random numbers, which other threads draw from at the same time. */
#include "thermal/field_order.h"

#include <stdlib.h>
#include <string.h>

enum { LEAST_BLOCK = 24 }; /* cells; smaller blocks are eliminated as they come */

typedef struct ordering {
    const grid *g;
    int *beyond; /* 3 x cells: along each axis, the cell that a pair ties to from below; -1: none */
    bool *taken; /* into a plane already */
    int *cell, n;
    int *plane; /* the cells of the planes being worked on, one after the other */
    int n_plane;
} ordering;

typedef struct block {
    int low[3], high[3]; /* cells low to high - 1 */
} block;

static int step_of(const grid *g, int axis)
{
    return axis == 0 ? 1 : axis == 1 ? g->n[0] : g->n[0] * g->n[1];
}

static int length(const block *b, int axis)
{
    return b->high[axis] - b->low[axis];
}

static void take(ordering *o, int cell)
{
    if (o->taken[cell]) return;
    o->taken[cell] = true;
    o->plane[o->n_plane++] = cell;
}

/* The lower end of the pair that spans a cell of the plane along the axis, within the block; -1: none. */
static int spanning(const ordering *o, const block *b, int axis, int at, int cell)
{
    const grid *g = o->g;
    int step = step_of(g, axis), below = cell, up;
    if (g->matter[cell] != MATTER_FILL) return -1;
    for (int i = at; g->matter[below] == MATTER_FILL; i--, below -= step)
        if (i == b->low[axis]) return -1;
    up = o->beyond[axis * g->cells + below];
    if (up < 0 || o->taken[below] || o->taken[up]) return -1;
    int place[3];
    grid_place(g, up, place);
    return place[axis] < b->high[axis] ? below : -1;
}

/* Part the block by the plane `at` across the axis; or, with `o->plane` NULL, only count its cells. */
static int part(ordering *o, const block *b, int axis, int at, bool count_only)
{
    int u = (axis + 1) % 3, v = (axis + 2) % 3, place[3], n = 0;
    place[axis] = at;
    for (place[v] = b->low[v]; place[v] < b->high[v]; place[v]++)
        for (place[u] = b->low[u]; place[u] < b->high[u]; place[u]++) {
            int cell = grid_cell(o->g, place[0], place[1], place[2]);
            int below = spanning(o, b, axis, at, cell);
            n += !o->taken[cell] + (below >= 0);
            if (count_only) continue;
            take(o, cell);
            if (below >= 0) take(o, below);
        }
    return n;
}

/* Among the planes about the middle, the one of fewest cells; the most even one of equals. */
static int best_plane(ordering *o, const block *b, int axis)
{
    int middle = (b->low[axis] + b->high[axis]) / 2, reach = length(b, axis) / 8, best = middle, least = -1;
    for (int off = 0; off <= reach; off++)
        for (int side = -1; side <= 1; side += 2) {
            int n = part(o, b, axis, middle + side * off, true);
            if (least < 0 || n < least) {
                least = n;
                best = middle + side * off;
            }
        }
    return best;
}

static void append_block(ordering *o, const block *b)
{
    for (int k = b->low[2]; k < b->high[2]; k++)
        for (int j = b->low[1]; j < b->high[1]; j++)
            for (int i = b->low[0]; i < b->high[0]; i++) {
                int cell = grid_cell(o->g, i, j, k);
                if (!o->taken[cell]) o->cell[o->n++] = cell;
            }
}

static void dissect(ordering *o, const block *b)
{
    int axis = 0, size = length(b, 0) * length(b, 1) * length(b, 2);
    for (int k = 1; k < 3; k++)
        if (length(b, k) > length(b, axis)) axis = k;
    if (size <= LEAST_BLOCK || length(b, axis) < 3) {
        append_block(o, b);
        return;
    }
    int at = best_plane(o, b, axis), first = o->n_plane;
    part(o, b, axis, at, false);
    block lower = *b, upper = *b;
    lower.high[axis] = at;
    upper.low[axis] = at + 1;
    dissect(o, &lower);
    dissect(o, &upper);
    for (int i = first; i < o->n_plane; i++) o->cell[o->n++] = o->plane[i];
    o->n_plane = first;
}

bool order_cells(const grid *g, int cell[])
{
    size_t cells = (size_t)g->cells;
    ordering o = {.g = g, .cell = cell};
    o.beyond = malloc((3 * cells + 1) * sizeof *o.beyond);
    o.taken = calloc(cells + 1, sizeof *o.taken);
    o.plane = malloc((cells + 1) * sizeof *o.plane);
    bool good = o.beyond && o.taken && o.plane;
    if (good) {
        memset(o.beyond, -1, 3 * cells * sizeof *o.beyond);
        for (size_t i = 0; i < g->n_pairs; i++)
            if (!g->pairs[i].apart) o.beyond[g->pairs[i].axis * g->cells + g->pairs[i].a] = g->pairs[i].b;
        dissect(&o, &(block){{0, 0, 0}, {g->n[0], g->n[1], g->n[2]}});
    }
    free(o.beyond);
    free(o.taken);
    free(o.plane);
    return good;
}
