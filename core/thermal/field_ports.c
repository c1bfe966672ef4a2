/* field_ports.c - cutting the outer faces into patches and gathering facing surfaces into groups. */
#include "thermal/field_ports.h"

#include "thermal/field_lines.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double patch_length = 15e-3;     /* m, aimed at */
static const double least_group_share = 3e-3; /* of all exchange across the air */

/* Pairs along an axis that carries less than this share of the axis that carries most stay out of the grid's
 * matrix, where each would cost as much as several cells; their groups then carry their heat whole. */
static const double apart_share = 0.55;

/* --------------------------------------------------------------- patches -- */

/* Borders on faces of solids, as near to equal lengths as those lie. */
static bool cut_axis(field_ports *ports, const hl_field_box *box, int axis)
{
    double *corner, size = box->size[axis];
    int n = lines_corners(box, axis, &corner);
    if (n == 0) return false;
    int wanted = (int)lround(size / patch_length), cuts = 0;
    wanted = wanted < 1 ? 1 : wanted > CUTS_ALONG_MAX ? CUTS_ALONG_MAX : wanted;
    ports->border[axis][0] = corner[0];
    for (int w = 1; w < wanted; w++) {
        double aim = size * w / wanted, best = -1;
        for (int i = 0; i < n; i++)
            if (fabs(corner[i] - aim) < fabs(best - aim)) best = corner[i];
        bool apart =
            best > ports->border[axis][cuts] + 0.3 * size / wanted && best < size * (1 - 0.3 / wanted);
        if (apart) ports->border[axis][++cuts] = best;
    }
    ports->border[axis][++cuts] = corner[n - 1];
    ports->cuts[axis] = cuts;
    free(corner);
    return true;
}

static int cut_of(const field_ports *ports, int axis, double at)
{
    int i = 0;
    while (i + 1 < ports->cuts[axis] && at > ports->border[axis][i + 1]) i++;
    return i;
}

static void lay_patches(field_ports *ports, const hl_field_box *box)
{
    int n = 0;
    for (int face = 0; face < HL_FACES; face++) {
        int axis = face / 2, u = (axis + 1) % 3, v = (axis + 2) % 3;
        double at = face % 2 ? box->size[axis] : 0;
        ports->first_patch[face] = n;
        for (int j = 0; j < ports->cuts[v]; j++)
            for (int i = 0; i < ports->cuts[u]; i++) {
                port_patch *p = &ports->patches[n++];
                p->face = (hl_face)face;
                p->low[axis] = p->high[axis] = at;
                p->low[u] = ports->border[u][i];
                p->high[u] = ports->border[u][i + 1];
                p->low[v] = ports->border[v][j];
                p->high[v] = ports->border[v][j + 1];
                p->area = (p->high[u] - p->low[u]) * (p->high[v] - p->low[v]);
            }
    }
    ports->first_patch[HL_FACES] = n;
    ports->n_patches = n;
}

int ports_patch_of(const field_ports *ports, const grid *g, const grid_surface *surface)
{
    int axis = (int)surface->face / 2, u = (axis + 1) % 3, v = (axis + 2) % 3;
    int i = cut_of(ports, u, grid_middle(g, surface->cell, u));
    int j = cut_of(ports, v, grid_middle(g, surface->cell, v));
    return ports->first_patch[surface->face] + i + j * ports->cuts[u];
}

/* ---------------------------------------------------------------- groups -- */

/* Below, in, or above the middle cut: the same from either end. */
static int third(const field_ports *ports, int axis, int cut)
{
    int twice = 2 * cut + 1;
    if (ports->cuts[axis] == 3) return 0; /* more groups than it is worth */
    return twice < ports->cuts[axis] ? 0 : twice == ports->cuts[axis] ? 1 : 2;
}

/* Pairs of the same two solids, along the same axis, in the same part of the box. */
static int key_of(const field_ports *ports, const grid *g, const grid_pair *pair)
{
    int u = (pair->axis + 1) % 3, v = (pair->axis + 2) % 3, matters = MATTER_BODY + g->bodies;
    int i = third(ports, u, cut_of(ports, u, grid_middle(g, pair->a, u)));
    int j = third(ports, v, cut_of(ports, v, grid_middle(g, pair->a, v)));
    return ((g->matter[pair->a] * matters + g->matter[pair->b]) * 3 + pair->axis) * 9 + 3 * i + j;
}

typedef struct keyed {
    int key, axis;
    double exchange, area, gap_sum, low, high;
} keyed;

static int by_key(const void *a, const void *b)
{
    const keyed *x = a, *y = b;
    return (x->key > y->key) - (x->key < y->key);
}

static int by_exchange(const void *a, const void *b)
{
    const keyed *x = a, *y = b;
    if (x->exchange != y->exchange) return x->exchange < y->exchange ? 1 : -1;
    return by_key(a, b);
}

/* The axis that looks up, for the height of air layers; 2 when no face says so. */
static int upright_axis(const hl_field_box *box)
{
    for (int face = 0; face < HL_FACES; face++)
        if (box->sides[face].law == HL_FIELD_NATURAL && box->sides[face].orientation != HL_VERTICAL)
            return face / 2;
    return 2;
}

static void join(keyed *into, const keyed *from)
{
    bool first = !(into->area > 0);
    into->exchange += from->exchange;
    into->area += from->area;
    into->gap_sum += from->gap_sum;
    into->low = first ? from->low : fmin(into->low, from->low);
    into->high = first ? from->high : fmax(into->high, from->high);
}

static size_t merge(keyed *list, size_t n)
{
    size_t kept = 0;
    qsort(list, n, sizeof *list, by_key);
    for (size_t i = 0; i < n; i++) {
        if (kept == 0 || list[kept - 1].key != list[i].key) {
            list[kept++] = list[i];
            continue;
        }
        join(&list[kept - 1], &list[i]);
    }
    return kept;
}

static int key_of_small(int axis)
{
    return -1 - axis;
}

static void add_group(field_ports *ports, const keyed *from, bool apart)
{
    ports->groups[ports->n_groups++] = (port_group){from->key,
                                                    from->axis,
                                                    apart,
                                                    from->exchange,
                                                    from->area,
                                                    from->gap_sum / from->area,
                                                    from->high - from->low};
}

static void keep_groups(field_ports *ports, keyed *list, size_t n)
{
    double along[3] = {0, 0, 0};
    for (size_t i = 0; i < n; i++) along[list[i].axis] += list[i].exchange;
    double all = along[0] + along[1] + along[2], most = fmax(along[0], fmax(along[1], along[2]));
    qsort(list, n, sizeof *list, by_exchange);
    size_t i = 0;
    for (; i < n && ports->n_groups < PAIR_GROUPS_MAX - 3; i++) {
        if (!(list[i].exchange > least_group_share * all)) break;
        add_group(ports, &list[i], along[list[i].axis] < apart_share * most);
    }
    for (int axis = 0; axis < 3; axis++) { /* small ones together, axis by axis, in the grid's matrix */
        keyed small = {.key = key_of_small(axis), .axis = axis};
        for (size_t k = i; k < n; k++)
            if (list[k].axis == axis) join(&small, &list[k]);
        if (small.exchange > 0) add_group(ports, &small, false);
    }
}

static bool gather_groups(field_ports *ports, const grid *g)
{
    keyed *list = malloc((g->n_pairs + 1) * sizeof *list);
    if (!list) return false;
    int up = upright_axis(g->box);
    for (size_t i = 0; i < g->n_pairs; i++) {
        const grid_pair *p = &g->pairs[i];
        double middle = grid_middle(g, p->a, up), half = 0.5 * grid_width(g, p->a, up);
        list[i] =
            (keyed){key_of(ports, g, p), p->axis,      p->emissivity * p->area, p->area, p->gap * p->area,
                    middle - half,       middle + half};
    }
    keep_groups(ports, list, merge(list, g->n_pairs));
    free(list);
    return true;
}

int ports_group_of(const field_ports *ports, const grid *g, const grid_pair *pair)
{
    int key = key_of(ports, g, pair);
    for (int i = 0; i < ports->n_groups; i++)
        if (ports->groups[i].key == key) return i;
    for (int i = 0; i < ports->n_groups; i++)
        if (ports->groups[i].key == key_of_small(pair->axis)) return i;
    return -1;
}

/* ---------------------------------------------------------------- create -- */

bool ports_build(field_ports *ports, const grid *g)
{
    memset(ports, 0, sizeof *ports);
    ports->bodies = g->bodies;
    for (int axis = 0; axis < 3; axis++)
        if (!cut_axis(ports, g->box, axis)) return false;
    ports->patches = calloc((size_t)HL_FACES * CUTS_ALONG_MAX * CUTS_ALONG_MAX, sizeof *ports->patches);
    if (!ports->patches) return false;
    lay_patches(ports, g->box);
    return gather_groups(ports, g);
}

void ports_release(field_ports *ports)
{
    free(ports->patches);
    ports->patches = NULL;
}
