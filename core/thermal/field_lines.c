/* field_lines.c - where the grid's lines lie: on every face of a solid, and between them close to the
 * faces and wide apart in the middle.
 *
 * Across a board heat spreads sideways much faster than through it.  Stretched by sqrt(k_sideways / k_across)
 * the board becomes an even medium (Carslaw & Jaeger 1959, section 1.20), and the stretched length says how
 * many cells it wants. */
#include "thermal/field_lines.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double widest_first_cell = 2.7e-3; /* m, beside a face of a solid, at fineness 1 */
static const double thin_block = 1.7;           /* first cells: the least stretched length of a whole block */
static const double board_share = 2; /* a board is where heat spreads: finer than its stretch alone asks */
static const double growth = 1.8;    /* from cell to cell inward */
static const double longest_cell = 15e-3; /* m */
static const double same_line = 1e-8;     /* m */
static const double most_stretch = 30;    /* beyond, more cells across would show nothing more */

enum { CUTS_MAX = 40 };

typedef struct corner_list {
    double *at;
    size_t n;
} corner_list;

static void add_corner(corner_list *list, const hl_field_box *box, int axis, double at)
{
    if (at > -same_line && at < box->size[axis] + same_line) list->at[list->n++] = at;
}

static size_t corners_at_most(const hl_field_box *box)
{
    size_t n = 4 + 2 * (size_t)field_bodies(box);
    for (size_t i = 0; i < box->n_boards; i++) n += 2 * box->boards[i].n_zones;
    return n;
}

static void gather(corner_list *list, const hl_field_box *box, int axis)
{
    const double ends[] = {0, box->shell, box->size[axis] - box->shell, box->size[axis]};
    for (size_t i = 0; i < 4; i++) add_corner(list, box, axis, ends[i]);
    for (int body = 0; body < field_bodies(box); body++) {
        const double *low, *high;
        field_corners(box, body, &low, &high);
        add_corner(list, box, axis, low[axis]);
        add_corner(list, box, axis, high[axis]);
    }
    for (size_t i = 0; i < box->n_boards; i++)
        for (size_t z = 0; z < box->boards[i].n_zones; z++) {
            const hl_field_board *board = &box->boards[i];
            double low = fmax(board->zones[z].low[axis], board->low[axis]);
            double high = fmin(board->zones[z].high[axis], board->high[axis]);
            if (!(high > low)) continue;
            add_corner(list, box, axis, low);
            add_corner(list, box, axis, high);
        }
}

static int rising(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void make_distinct(corner_list *list)
{
    size_t kept = 1;
    qsort(list->at, list->n, sizeof *list->at, rising);
    for (size_t i = 1; i < list->n; i++)
        if (list->at[i] - list->at[kept - 1] > same_line) list->at[kept++] = list->at[i];
    list->n = kept;
}

/* Greatest sqrt(sideways / across) of what lies between two lines. */
static double stretch_of_board(const hl_field_board *board, int axis, double low, double high)
{
    double stretch = 1, middle = 0.5 * (low + high);
    if (board->normal != axis || middle < board->low[axis] || middle > board->high[axis]) return 1;
    stretch = board->conductivity_in / board->conductivity_through;
    for (size_t z = 0; z < board->n_zones; z++) {
        const hl_field_zone *zone = &board->zones[z];
        if (middle < zone->low[axis] || middle > zone->high[axis]) continue;
        double in = zone->conductivity_in > 0 ? zone->conductivity_in : board->conductivity_in;
        double through =
            zone->conductivity_through > 0 ? zone->conductivity_through : board->conductivity_through;
        stretch = fmax(stretch, in / through);
    }
    return board_share * sqrt(fmax(stretch, 1));
}

static double stretch_of_block(const hl_field_block *block, int axis, double low, double high)
{
    double middle = 0.5 * (low + high);
    const double *k = block->conductivity;
    if (!(k[axis] > 0) || middle < block->low[axis] || middle > block->high[axis]) return 1;
    bool whole = high - low > 0.9 * (block->high[axis] - block->low[axis]);
    double least =
        whole ? thin_block * widest_first_cell / (high - low) : 1; /* heat made inside wants two cells */
    return fmax(least, sqrt(fmax(1, fmax(k[(axis + 1) % 3], k[(axis + 2) % 3]) / k[axis])));
}

static double stretch_between(const hl_field_box *box, int axis, double low, double high)
{
    double most = 1;
    for (int body = 0; body < field_bodies(box); body++) {
        const hl_field_block *block = field_block(box, body);
        double s = block ? stretch_of_block(block, axis, low, high)
                         : stretch_of_board(field_board(box, body), axis, low, high);
        most = fmax(most, s);
    }
    return fmin(most, most_stretch);
}

/* A heated region wants two cells across the smaller side of its footprint, the second of its three lengths;
 * so does what lies beside it, into which its heat spreads. */
static double first_cell_between(const hl_field_box *box, int axis, double low, double high)
{
    double first = widest_first_cell;
    for (int body = 0; body < field_bodies(box); body++) {
        const hl_field_block *block = field_block(box, body);
        if (!block || block->heat == 0) continue;
        if (block->low[axis] > high + same_line || block->high[axis] < low - same_line) continue;
        double a = block->high[0] - block->low[0], b = block->high[1] - block->low[1];
        double c = block->high[2] - block->low[2];
        double side = fmax(fmin(a, b), fmin(fmax(a, b), c));
        first = fmin(first, 0.45 * side);
    }
    return first;
}

/* Widths, in units of the whole, of cells that grow from both ends; returns how many. */
static int cut(double length, double first, double longest, double width[CUTS_MAX])
{
    for (int n = 1; n <= CUTS_MAX; n++) {
        double sum = 0;
        for (int i = 0; i < n; i++) {
            int from_end = i < n - 1 - i ? i : n - 1 - i;
            width[i] = fmin(first * pow(growth, from_end), longest);
            sum += width[i];
        }
        if (sum < 0.8 * length && n < CUTS_MAX) continue;
        for (int i = 0; i < n; i++) width[i] /= sum;
        return n;
    }
    return 0;
}

int lines_corners(const hl_field_box *box, int axis, double **corner)
{
    corner_list list = {malloc(corners_at_most(box) * sizeof(double)), 0};
    *corner = list.at;
    if (!list.at) return 0;
    gather(&list, box, axis);
    make_distinct(&list);
    return (int)list.n;
}

bool lines_build(grid *g, int axis, double fineness)
{
    double *corner;
    int corners = lines_corners(g->box, axis, &corner), n = 0;
    if (corners == 0) return false;
    double *line = malloc(((size_t)corners * CUTS_MAX + 1) * sizeof *line);
    for (int i = 0; line && i + 1 < corners; i++) {
        double low = corner[i], length = corner[i + 1] - low, width[CUTS_MAX], sum = 0;
        double first = first_cell_between(g->box, axis, low, low + length) / fineness;
        int cuts = cut(length * stretch_between(g->box, axis, low, low + length), first,
                       longest_cell / fineness, width);
        for (int c = 0; c < cuts; c++) {
            line[n++] = low + sum * length;
            sum += width[c];
        }
    }
    if (line) line[n] = corner[corners - 1];
    g->line[axis] = line;
    g->n[axis] = n;
    free(corner);
    return line != NULL;
}
