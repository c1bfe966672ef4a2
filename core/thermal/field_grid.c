/* field_grid.c - what each cell is made of, and what joins it to its neighbours. */
#include "thermal/field_grid.h"

#include "thermal/field_lines.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- bodies -- */

int field_bodies(const hl_field_box *box)
{
    return (int)(box->n_blocks + box->n_spreaders + box->n_boards);
}

const hl_field_block *field_block(const hl_field_box *box, int body)
{
    size_t i = (size_t)body;
    if (i < box->n_blocks) return &box->blocks[i];
    i -= box->n_blocks;
    return i < box->n_spreaders ? &box->spreaders[i] : NULL;
}

const hl_field_board *field_board(const hl_field_box *box, int body)
{
    size_t first = box->n_blocks + box->n_spreaders;
    return (size_t)body >= first ? &box->boards[(size_t)body - first] : NULL;
}

void field_corners(const hl_field_box *box, int body, const double **low, const double **high)
{
    const hl_field_block *block = field_block(box, body);
    const hl_field_board *board = field_board(box, body);
    *low = block ? block->low : board->low;
    *high = block ? block->high : board->high;
}

/* ----------------------------------------------------------------- cells -- */

void grid_place(const grid *g, int cell, int place[3])
{
    place[0] = cell % g->n[0];
    place[1] = cell / g->n[0] % g->n[1];
    place[2] = cell / (g->n[0] * g->n[1]);
}

double grid_width(const grid *g, int cell, int axis)
{
    int place[3];
    grid_place(g, cell, place);
    return g->line[axis][place[axis] + 1] - g->line[axis][place[axis]];
}

double grid_middle(const grid *g, int cell, int axis)
{
    int place[3];
    grid_place(g, cell, place);
    return 0.5 * (g->line[axis][place[axis] + 1] + g->line[axis][place[axis]]);
}

/* Indices of the cells between two planes. */
static void span(const grid *g, int axis, double low, double high, int *first, int *end)
{
    int i = 0;
    while (i < g->n[axis] && 0.5 * (g->line[axis][i] + g->line[axis][i + 1]) < low) i++;
    *first = i;
    while (i < g->n[axis] && 0.5 * (g->line[axis][i] + g->line[axis][i + 1]) < high) i++;
    *end = i;
}

typedef struct filling {
    int matter; /* < 0: leave as it is */
    double k[3], density_heat;
} filling;

static void fill_region(grid *g, const double low[3], const double high[3], const filling *f, int only)
{
    int first[3], end[3];
    for (int axis = 0; axis < 3; axis++) span(g, axis, low[axis], high[axis], &first[axis], &end[axis]);
    for (int k = first[2]; k < end[2]; k++)
        for (int j = first[1]; j < end[1]; j++)
            for (int i = first[0]; i < end[0]; i++) {
                int c = grid_cell(g, i, j, k);
                if (only >= 0 && g->matter[c] != only) continue;
                if (f->matter >= 0) g->matter[c] = f->matter;
                for (int axis = 0; axis < 3; axis++) g->conductivity[3 * c + axis] = (float)f->k[axis];
                if (f->density_heat > 0) g->capacity[c] = f->density_heat;
            }
}

static void fill_block(grid *g, int body)
{
    const hl_field_block *b = field_block(g->box, body);
    const double *k = b->conductivity;
    // NOLINTNEXTLINE(clang-analyzer-core.NullDereference): a body is one of the box's blocks
    if (!(k[0] > 0)) return; /* only gives heat */
    filling f = {MATTER_BODY + body, {k[0], k[1], k[2]}, b->density_heat};
    fill_region(g, b->low, b->high, &f, -1);
}

static void fill_board(grid *g, int body)
{
    const hl_field_board *b = field_board(g->box, body);
    filling f = {
        MATTER_BODY + body, {b->conductivity_in, b->conductivity_in, b->conductivity_in}, b->density_heat};
    f.k[b->normal] = b->conductivity_through;
    fill_region(g, b->low, b->high, &f, -1);
    for (size_t z = 0; z < b->n_zones; z++) {
        const hl_field_zone *zone = &b->zones[z];
        double in = zone->conductivity_in > 0 ? zone->conductivity_in : b->conductivity_in;
        double through =
            zone->conductivity_through > 0 ? zone->conductivity_through : b->conductivity_through;
        filling inside = {-1, {in, in, in}, 0};
        inside.k[b->normal] = through;
        fill_region(g, zone->low, zone->high, &inside, MATTER_BODY + body);
    }
}

/* From what gives way to what wins: shell, fill, spreaders, boards, blocks. */
static void fill_all(grid *g)
{
    const hl_field_box *box = g->box;
    double low[3] = {0, 0, 0}, inner_low[3], inner_high[3];
    for (int axis = 0; axis < 3; axis++) {
        inner_low[axis] = box->shell;
        inner_high[axis] = box->size[axis] - box->shell;
    }
    filling shell = {MATTER_SHELL,
                     {box->shell_conductivity, box->shell_conductivity, box->shell_conductivity},
                     box->shell_density_heat};
    filling fill = {MATTER_FILL,
                    {box->fill_conductivity, box->fill_conductivity, box->fill_conductivity},
                    box->fill_density_heat};
    fill_region(g, low, box->size, &shell, -1);
    fill_region(g, inner_low, inner_high, &fill, -1);
    int blocks = (int)box->n_blocks, spreaders = (int)box->n_spreaders;
    for (int i = blocks; i < blocks + spreaders; i++) fill_block(g, i);
    for (int i = blocks + spreaders; i < g->bodies; i++) fill_board(g, i);
    for (int i = 0; i < blocks; i++) fill_block(g, i);
}

static void turn_into_capacities(grid *g)
{
    for (int c = 0; c < g->cells; c++)
        g->capacity[c] *= grid_width(g, c, 0) * grid_width(g, c, 1) * grid_width(g, c, 2);
}

/* ----------------------------------------------------------------- links -- */

static double area_across(const grid *g, int cell, int axis)
{
    return grid_width(g, cell, (axis + 1) % 3) * grid_width(g, cell, (axis + 2) % 3);
}

/* Resistance from a cell's centre to its side, K m^2/W. */
static double half_cell(const grid *g, int cell, int axis)
{
    return 0.5 * grid_width(g, cell, axis) / (double)g->conductivity[3 * cell + axis];
}

static bool is_air(const grid *g, int cell)
{
    return g->matter[cell] == MATTER_FILL;
}

/* Contact of the block that `matter` is, to its neighbour, K m^2/W. */
static double contact_of(const grid *g, int matter, int neighbour)
{
    if (matter < MATTER_BODY || matter == neighbour) return 0;
    const hl_field_block *block = field_block(g->box, matter - MATTER_BODY);
    if (!block || !(block->contact > 0)) return 0;
    if (block->on == HL_FIELD_ANY) return neighbour == MATTER_FILL ? 0 : block->contact;
    int on = MATTER_BODY + (int)(g->box->n_blocks + g->box->n_spreaders) + block->on;
    return neighbour == on ? block->contact : 0;
}

static int solid_of(int matter)
{
    return matter == MATTER_SHELL ? HL_FIELD_SHELL : matter - MATTER_BODY;
}

/* Thickness of the film between two solid cells, the lower one first, m; 0: none. */
static double film_between(const grid *g, int a, int b, int axis)
{
    int below = g->matter[a], above = g->matter[b];
    if (below == above || below == MATTER_FILL || above == MATTER_FILL) return 0;
    for (size_t i = 0; i < g->box->n_films; i++) {
        const hl_field_film *film = &g->box->films[i];
        if (film->axis == axis && film->below == solid_of(below) && film->above == solid_of(above))
            return film->thickness;
    }
    return 0;
}

static void join(grid *g, int a, int b, int axis, double film)
{
    double r = half_cell(g, a, axis) + half_cell(g, b, axis);
    if (film > 0)
        r += film / g->box->fill_conductivity;
    else
        r += contact_of(g, g->matter[a], g->matter[b]) + contact_of(g, g->matter[b], g->matter[a]);
    g->links[g->n_links++] = (grid_link){a, b, area_across(g, a, axis) / r};
}

static void add_surface(grid *g, int cell, int axis, bool high)
{
    double area = area_across(g, cell, axis);
    g->surfaces[g->n_surfaces++] =
        (grid_surface){cell, (hl_face)(2 * axis + high), area, area / half_cell(g, cell, axis)};
}

static double emissivity_of(const grid *g, int matter)
{
    if (matter == MATTER_SHELL) return g->box->shell_emissivity;
    const hl_field_block *block = field_block(g->box, matter - MATTER_BODY);
    return block ? block->emissivity : field_board(g->box, matter - MATTER_BODY)->emissivity;
}

static void add_pair(grid *g, int a, int b, int axis, double gap)
{
    double e1 = emissivity_of(g, g->matter[a]), e2 = emissivity_of(g, g->matter[b]);
    double area = area_across(g, a, axis);
    bool shines = e1 > 0 && e2 > 0;
    g->pairs[g->n_pairs++] = (grid_pair){a,
                                         b,
                                         axis,
                                         false,
                                         area,
                                         gap,
                                         shines ? 1 / (1 / e1 + 1 / e2 - 1) : 0,
                                         half_cell(g, a, axis) / area,
                                         half_cell(g, b, axis) / area};
}

/* One row of cells along an axis. */
static void walk(grid *g, int first, int step, int axis)
{
    int n = g->n[axis], solid = -1;
    double gap = 0;
    add_surface(g, first, axis, false);
    for (int i = 0; i < n; i++) {
        int cell = first + i * step;
        double film = i > 0 ? film_between(g, cell - step, cell, axis) : 0;
        if (i > 0) join(g, cell - step, cell, axis, film);
        if (is_air(g, cell)) {
            gap += g->line[axis][i + 1] - g->line[axis][i];
            continue;
        }
        gap += film;
        if (gap > 0 && solid >= 0 && !g->box->potted) add_pair(g, solid, cell, axis, gap);
        solid = cell;
        gap = 0;
    }
    add_surface(g, first + (n - 1) * step, axis, true);
}

static bool link_cells(grid *g)
{
    const int step[3] = {1, g->n[0], g->n[0] * g->n[1]};
    size_t cells = (size_t)g->cells, rows = 0;
    for (int axis = 0; axis < 3; axis++) rows += cells / (size_t)g->n[axis];
    g->links = malloc(3 * cells * sizeof *g->links);
    g->surfaces = malloc(2 * rows * sizeof *g->surfaces);
    g->pairs = malloc((3 * cells + 1) * sizeof *g->pairs);
    if (!g->links || !g->surfaces || !g->pairs) return false;
    for (int axis = 0; axis < 3; axis++) {
        int u = (axis + 1) % 3, v = (axis + 2) % 3;
        for (int j = 0; j < g->n[v]; j++)
            for (int i = 0; i < g->n[u]; i++) walk(g, i * step[u] + j * step[v], step[axis], axis);
    }
    return true;
}

/* ---------------------------------------------------------------- create -- */

static bool build(grid *g, double fineness, int most)
{
    double cells = 1;
    for (int axis = 0; axis < 3; axis++) {
        if (!lines_build(g, axis, fineness)) return false;
        cells *= g->n[axis];
    }
    if (!(cells <= most)) return false;
    g->cells = (int)cells;
    g->matter = calloc((size_t)g->cells, sizeof *g->matter);
    g->conductivity = calloc(3 * (size_t)g->cells, sizeof *g->conductivity);
    g->capacity = calloc((size_t)g->cells, sizeof *g->capacity);
    if (!g->matter || !g->conductivity || !g->capacity) return false;
    fill_all(g);
    turn_into_capacities(g);
    return link_cells(g);
}

grid *grid_create(const hl_field_box *box, double fineness, int most)
{
    grid *g = calloc(1, sizeof *g);
    if (!g) return NULL;
    g->box = box;
    g->bodies = field_bodies(box);
    if (build(g, fineness, most)) return g;
    grid_destroy(g);
    return NULL;
}

void grid_destroy(grid *g)
{
    if (!g) return;
    for (int axis = 0; axis < 3; axis++) free(g->line[axis]);
    free(g->matter);
    free(g->conductivity);
    free(g->capacity);
    free(g->links);
    free(g->pairs);
    free(g->surfaces);
    free(g);
}
