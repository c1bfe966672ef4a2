/* field_level.c - one grid of a box, factorised and condensed to its ports.
 *
 * With A the conductances made linear about a state, B the columns that spread a watt over a port's cells and
 * R the rows that read a port's temperature, the condensed network is Z = R A^-1 B: the inverse of the Schur
 * complement on the ports (Zhang, The Schur Complement and its Applications, 2005, section 1.2). R is B
 * transposed, so Z is symmetric, and a network of reciprocal links. */
#include "thermal/field_level.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { COLUMNS_AT_ONCE = 16 };

/* Does the cell belong to the heat of a block without a material of its own? */
static bool in_region(const grid *g, int cell, const hl_field_block *block)
{
    if (!block || block->conductivity[0] > 0) return false;
    for (int axis = 0; axis < 3; axis++) {
        double middle = grid_middle(g, cell, axis);
        if (!(middle > block->low[axis] && middle < block->high[axis])) return false;
    }
    return true;
}

static double volume_of(const grid *g, int cell)
{
    return grid_width(g, cell, 0) * grid_width(g, cell, 1) * grid_width(g, cell, 2);
}

/* ---------------------------------------------------------------- create -- */

static bool allocate(field_level *level)
{
    const field_ports *p = level->ports;
    size_t cells = (size_t)level->g->cells, ports = (size_t)ports_count(p);
    level->patch_of = malloc(level->g->n_surfaces * sizeof *level->patch_of);
    level->group_of = malloc((level->g->n_pairs + 1) * sizeof *level->group_of);
    level->pair = calloc(level->g->n_pairs + 1, sizeof *level->pair);
    level->outward = calloc(level->g->n_surfaces, sizeof *level->outward);
    level->pair_share = calloc(level->g->n_pairs + 1, sizeof *level->pair_share);
    level->patch_area = calloc((size_t)p->n_patches + 1, sizeof *level->patch_area);
    level->body_begin = calloc((size_t)p->bodies + 1, sizeof *level->body_begin);
    level->group_weight = calloc(PAIR_GROUPS_MAX, sizeof *level->group_weight);
    level->field = malloc(cells * ports * sizeof *level->field);
    level->impedance = calloc((size_t)ports_rows(p) * ports, sizeof *level->impedance);
    return level->patch_of && level->group_of && level->pair && level->outward && level->patch_area &&
           level->body_begin && level->group_weight && level->pair_share && level->field && level->impedance;
}

static void sort_into_ports(field_level *level)
{
    const grid *g = level->g;
    for (size_t i = 0; i < g->n_surfaces; i++) {
        level->patch_of[i] = ports_patch_of(level->ports, g, &g->surfaces[i]);
        level->patch_area[level->patch_of[i]] += g->surfaces[i].area;
    }
    for (size_t i = 0; i < g->n_pairs; i++) {
        int group = ports_group_of(level->ports, g, &g->pairs[i]);
        level->group_of[i] = group;
        level->g->pairs[i].apart = group >= 0 && level->ports->groups[group].apart;
        if (group >= 0) level->group_weight[group] += g->pairs[i].emissivity * g->pairs[i].area;
    }
}

/* The cells of each body: counted first, then listed. */
static bool gather_bodies(field_level *level)
{
    const grid *g = level->g;
    for (int turn = 0; turn < 2; turn++) {
        int n = 0;
        for (int body = 0; body < g->bodies; body++) {
            const hl_field_block *block = field_block(g->box, body);
            double volume = 0;
            for (int c = 0; c < g->cells; c++) {
                if (g->matter[c] != MATTER_BODY + body && !in_region(g, c, block)) continue;
                if (turn == 1) volume += level->body_share[n] = volume_of(g, level->body_cell[n] = c);
                n++;
            }
            for (int i = level->body_begin[body]; turn == 1 && i < n; i++) level->body_share[i] /= volume;
            level->body_begin[body + 1] = n;
        }
        if (turn == 1) return true;
        level->body_cell = malloc(((size_t)n + 1) * sizeof *level->body_cell);
        level->body_share = malloc(((size_t)n + 1) * sizeof *level->body_share);
        if (!level->body_cell || !level->body_share) return false;
    }
    return true;
}

field_level *level_create(grid *g, const field_ports *ports)
{
    field_level *level = calloc(1, sizeof *level);
    if (!level) {
        grid_destroy(g);
        return NULL;
    }
    level->g = g;
    level->ports = ports;
    if (!allocate(level)) {
        level_destroy(level);
        return NULL;
    }
    sort_into_ports(level);
    if (gather_bodies(level)) level->matrix = matrix_create(level->g);
    if (level->matrix) return level;
    level_destroy(level);
    return NULL;
}

void level_destroy(field_level *level)
{
    if (!level) return;
    matrix_destroy(level->matrix);
    grid_destroy(level->g);
    void *blocks[] = {level->patch_of,     level->group_of,   level->pair,      level->outward,
                      level->patch_area,   level->body_begin, level->body_cell, level->body_share,
                      level->group_weight, level->pair_share, level->field,     level->impedance};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(level);
}

/* -------------------------------------------------------------- condense -- */

static void set_linear(field_level *level, const field_linear *linear)
{
    const grid *g = level->g;
    for (size_t i = 0; i < g->n_surfaces; i++)
        level->outward[i] = linear->outward[level->patch_of[i]] * g->surfaces[i].area;
    for (size_t i = 0; i < g->n_pairs; i++) {
        const grid_pair *p = &g->pairs[i];
        int group = level->group_of[i];
        double radiation = group >= 0 ? linear->radiation[group] : linear->rest;
        double q =
            radiation * p->emissivity * p->area + (group >= 0 ? linear->convection[group] * p->area : 0);
        level->pair[i] = q > 0 ? 1 / (1 / q + p->a_half + p->b_half) : 0;
    }
}

double level_reach(const field_level *level, size_t surface)
{
    double g = level->g->surfaces[surface].conductance;
    return g / (g + level->outward[surface]);
}

void level_spread(const field_level *level, int port, double heat[])
{
    const grid *g = level->g;
    const field_ports *p = level->ports;
    memset(heat, 0, (size_t)g->cells * sizeof *heat);
    if (port < p->bodies) {
        for (int i = level->body_begin[port]; i < level->body_begin[port + 1]; i++)
            heat[level->body_cell[i]] = level->body_share[i];
        return;
    }
    int patch = port - p->bodies, group = patch - p->n_patches;
    for (size_t i = 0; group < 0 && i < g->n_surfaces; i++)
        if (level->patch_of[i] == patch)
            heat[g->surfaces[i].cell] +=
                g->surfaces[i].area / level->patch_area[patch] * level_reach(level, i);
    for (size_t i = 0; group >= 0 && i < g->n_pairs; i++) {
        if (level->group_of[i] != group) continue;
        heat[g->pairs[i].a] += level->pair_share[i];
        heat[g->pairs[i].b] -= level->pair_share[i];
    }
}

/* Bodies and patches, which have their rows and ports alike. */
static void read_plain(const field_level *level, const double rise[], double row[])
{
    const grid *g = level->g;
    const field_ports *p = level->ports;
    double *patch = row + p->bodies;
    for (int body = 0; body < p->bodies; body++)
        for (int i = level->body_begin[body]; i < level->body_begin[body + 1]; i++)
            row[body] += level->body_share[i] * rise[level->body_cell[i]];
    for (size_t i = 0; i < g->n_surfaces; i++) {
        int at = level->patch_of[i];
        patch[at] +=
            g->surfaces[i].area / level->patch_area[at] * level_reach(level, i) * rise[g->surfaces[i].cell];
    }
}

static double even_share(const field_level *level, size_t pair)
{
    const grid_pair *p = &level->g->pairs[pair];
    return p->emissivity * p->area / level->group_weight[level->group_of[pair]];
}

void level_read(const field_level *level, const double rise[], double row[])
{
    const grid *g = level->g;
    const field_ports *p = level->ports;
    double *side_a = row + p->bodies + p->n_patches, *side_b = side_a + p->n_groups;
    memset(row, 0, (size_t)ports_rows(p) * sizeof *row);
    read_plain(level, rise, row);
    for (size_t i = 0; i < g->n_pairs; i++) {
        int group = level->group_of[i];
        if (group < 0) continue;
        double share = even_share(level, i);
        side_a[group] += share * rise[g->pairs[i].a];
        side_b[group] += share * rise[g->pairs[i].b];
    }
}

void level_take(const field_level *level, const double rise[], double taken[])
{
    const grid *g = level->g;
    const field_ports *p = level->ports;
    double *group = taken + p->bodies + p->n_patches;
    memset(taken, 0, (size_t)ports_count(p) * sizeof *taken);
    read_plain(level, rise, taken);
    for (size_t i = 0; i < g->n_pairs; i++)
        if (level->group_of[i] >= 0)
            group[level->group_of[i]] += level->pair_share[i] * (rise[g->pairs[i].a] - rise[g->pairs[i].b]);
}

/* A watt put onto a surface raises it above the cell behind it, at once. */
static double own_rise(const field_level *level, size_t surface)
{
    double share = level->g->surfaces[surface].area / level->patch_area[level->patch_of[surface]];
    return share / (level->g->surfaces[surface].conductance + level->outward[surface]);
}

double level_surface_row(const field_level *level, size_t surface, int port)
{
    const double *column = level->field + (size_t)port * (size_t)level->g->cells;
    double rise = level_reach(level, surface) * column[level->g->surfaces[surface].cell];
    return port == level->ports->bodies + level->patch_of[surface] ? rise + own_rise(level, surface) : rise;
}

void level_own_rises(const field_level *level, double own[])
{
    memset(own, 0, (size_t)level->ports->n_patches * sizeof *own);
    for (size_t i = 0; i < level->g->n_surfaces; i++) {
        int patch = level->patch_of[i];
        own[patch] += level->g->surfaces[i].area / level->patch_area[patch] * own_rise(level, i);
    }
}

static bool add_own_rises(field_level *level)
{
    const field_ports *p = level->ports;
    size_t ports = (size_t)ports_count(p);
    double *own = malloc(((size_t)p->n_patches + 1) * sizeof *own);
    if (!own) return false;
    level_own_rises(level, own);
    for (int k = 0; k < p->n_patches; k++) {
        size_t at = (size_t)p->bodies + (size_t)k;
        level->impedance[at * ports + at] += own[k];
    }
    free(own);
    return true;
}

/* What a group exchanges beyond its linear part goes with the differences of temperature across it: radiation
 * and air carry more or less per kelvin everywhere alike.  Their pattern is that of the nominal state, kept
 * within `narrowest` and `widest` of the mean, since another state's may differ. */
/* Of small groups taken together, side a is the warmer of each pair. */
static void turn_small(field_level *level, const double rise[])
{
    grid *g = level->g;
    for (size_t i = 0; i < g->n_pairs; i++) {
        grid_pair *p = &g->pairs[i];
        int group = level->group_of[i];
        if (group < 0 || level->ports->groups[group].key >= 0 || rise[p->a] >= rise[p->b]) continue;
        *p = (grid_pair){p->b, p->a, p->axis, p->apart, p->area, p->gap, p->emissivity, p->b_half, p->a_half};
    }
}

static void share_by_difference(field_level *level, const double rise[])
{
    static const double narrowest = 0.2, widest = 5;
    const grid *g = level->g;
    double mean[PAIR_GROUPS_MAX] = {0}, sum[PAIR_GROUPS_MAX] = {0};
    for (size_t i = 0; i < g->n_pairs; i++)
        if (level->group_of[i] >= 0)
            mean[level->group_of[i]] += even_share(level, i) * (rise[g->pairs[i].a] - rise[g->pairs[i].b]);
    for (size_t i = 0; i < g->n_pairs; i++) {
        int group = level->group_of[i];
        if (group < 0) continue;
        double ratio = (rise[g->pairs[i].a] - rise[g->pairs[i].b]) / mean[group];
        if (!(ratio > narrowest)) ratio = narrowest;
        level->pair_share[i] = even_share(level, i) * fmin(ratio, widest);
        sum[group] += level->pair_share[i];
    }
    for (size_t i = 0; i < g->n_pairs; i++)
        if (level->group_of[i] >= 0) level->pair_share[i] /= sum[level->group_of[i]];
}

static bool set_pair_shares(field_level *level, const double nominal[])
{
    size_t cells = (size_t)level->g->cells;
    for (size_t i = 0; i < level->g->n_pairs; i++)
        level->pair_share[i] = level->group_of[i] >= 0 ? even_share(level, i) : 0;
    if (!nominal || level->ports->n_groups == 0) return true;
    double *rise = calloc(2 * cells, sizeof *rise);
    if (!rise) return false;
    double *heat = rise + cells;
    for (int port = 0; port < ports_count(level->ports); port++) {
        level_spread(level, port, heat);
        for (size_t c = 0; c < cells; c++) rise[c] += nominal[port] * heat[c];
    }
    matrix_solve(level->matrix, rise, 1);
    turn_small(level, rise);
    share_by_difference(level, rise);
    free(rise);
    return true;
}

bool level_condense(field_level *level, const field_linear *linear, const double nominal[])
{
    size_t cells = (size_t)level->g->cells;
    int ports = ports_count(level->ports), rows = ports_rows(level->ports);
    set_linear(level, linear);
    if (!matrix_factor(level->matrix, level->pair, level->outward, 0) || !set_pair_shares(level, nominal))
        return false;
    double *row = malloc((size_t)rows * sizeof *row);
    if (!row) return false;
    for (int first = 0; first < ports; first += COLUMNS_AT_ONCE) {
        int n = ports - first < COLUMNS_AT_ONCE ? ports - first : COLUMNS_AT_ONCE;
        double *columns = level->field + (size_t)first * cells;
        for (int i = 0; i < n; i++) level_spread(level, first + i, columns + (size_t)i * cells);
        matrix_solve(level->matrix, columns, (size_t)n);
        for (int i = 0; i < n; i++) {
            level_read(level, columns + (size_t)i * cells, row);
            for (int r = 0; r < rows; r++)
                level->impedance[(size_t)r * (size_t)ports + (size_t)(first + i)] = row[r];
        }
    }
    free(row);
    return add_own_rises(level);
}
