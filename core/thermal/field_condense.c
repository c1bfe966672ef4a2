/* field_condense.c - from a box to a condensed field: grids ever finer until they agree, the last two
 * extrapolated, and the places that may be hottest kept. */
#include "thermal/field_core.h"

#include "quantity/float_state.h"
#include "thermal/field_box.h"
#include "thermal/field_lines.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { LEVELS = 3, CELLS_MAX = 26000, CELLS_SPARE = 15000 };

/* Cells of each grid are 1 / fineness as long as the finest's. */
static const double fineness_of[LEVELS] = {0.35, 0.6, 0.9};
static const double agreed = 4e-3; /* of the greatest rise: a grid off by no more is fine enough */

/* Errors fall with about this power of the cell length, between the first order of the singular flux along
 * the edge of a small contact and the second of smooth fields.  Richardson's extrapolation (L. F. Richardson
 * 1911; Roache 1998, Verification and Validation in Computational Science, ch. 5). */
static const double order = 1.35;

/* ---------------------------------------------------------------- memory -- */

hl_field *field_allocate(const field_ports *ports, int n_spots)
{
    hl_field *field = calloc(1, sizeof *field);
    if (!field) return NULL;
    field->ports = *ports;
    field->n_ports = ports_count(ports);
    field->n_rows = ports_rows(ports);
    field->n_spots = n_spots;
    size_t p = (size_t)field->n_ports, r = (size_t)field->n_rows, s = (size_t)n_spots + 1;
    field->names = calloc((size_t)ports->bodies + 1, sizeof *field->names);
    field->linear.outward = calloc((size_t)ports->n_patches + 1, sizeof(double));
    field->nominal = calloc(p + 1, sizeof(double));
    field->impedance = calloc(r * p + 1, sizeof(double));
    field->spots = calloc(s, sizeof *field->spots);
    field->spot_row = calloc(s * p + 1, sizeof(double));
    if (field->names && field->linear.outward && field->nominal && field->impedance && field->spots &&
        field->spot_row)
        return field;
    field->ports.patches = NULL; /* still the caller's */
    hl_field_destroy(field);
    return NULL;
}

void hl_field_destroy(hl_field *field)
{
    if (!field) return;
    ports_release(&field->ports);
    modes_release(&field->modes);
    void *blocks[] = {field->names,     field->linear.outward, field->nominal,
                      field->impedance, field->spots,          field->spot_row};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(field);
}

/* ------------------------------------------------------------- one level -- */

static hl_face up_of(const hl_field_box *box)
{
    for (int face = 0; face < HL_FACES; face++) {
        const hl_field_side *side = &box->sides[face];
        if (side->law != HL_FIELD_NATURAL || side->orientation == HL_VERTICAL) continue;
        return (hl_face)(side->orientation == HL_FACING_UP ? face : face ^ 1);
    }
    return HL_FACES;
}

static double heat_of(const hl_field_box *box, int body)
{
    const hl_field_block *block = field_block(box, body);
    return block ? block->heat : field_board(box, body)->heat;
}

static void describe(hl_field *field, const hl_field_box *box)
{
    memcpy(field->sides, box->sides, sizeof field->sides);
    field->surroundings = box->surroundings;
    field->still = box->still || box->potted;
    field->fill_conductivity = box->fill_conductivity;
    field->up = up_of(box);
    for (int i = 0; i < field->ports.bodies; i++) {
        const hl_field_block *block = field_block(box, i);
        const char *name = block ? block->name : field_board(box, i)->name;
        strncpy(field->names[i], name ? name : "", FIELD_NAME - 1);
        field->nominal[i] = heat_of(box, i);
    }
}

static void take_impedance(hl_field *field, const double *row_major)
{
    for (int r = 0; r < field->n_rows; r++)
        for (int p = 0; p < field->n_ports; p++)
            field->impedance[(size_t)p * (size_t)field->n_rows + (size_t)r] =
                row_major[(size_t)r * (size_t)field->n_ports + (size_t)p];
}

/* Solve at the heat the network is made for; rows of rise are left in the work. */
static hl_status solve_nominal(hl_field *field, hl_field_work *work, double mean[])
{
    hl_status status = hl_field_solve(work, &field->surroundings, field->nominal, NULL, NULL, mean);
    if (status == HL_OK) memcpy(field->nominal, work->port, (size_t)field->n_ports * sizeof(double));
    return status;
}

/* z2 + (z2 - z1) / (ratio^order - 1), in z2. */
static void extrapolate(hl_field *field, const double *coarse, double ratio)
{
    double more = 1 / (pow(ratio, order) - 1);
    size_t n = (size_t)field->n_rows * (size_t)field->n_ports;
    for (size_t i = 0; i < n; i++) field->impedance[i] += more * (field->impedance[i] - coarse[i]);
}

/* ----------------------------------------------------------------- spots -- */

typedef struct spot_list {
    field_spot *spots;
    int *cell; /* of a body's spot, or surface of a face's */
    int n, room;
} spot_list;

static void add_spot(spot_list *list, const field_level *level, int owner, int at)
{
    for (int i = 0; i < list->n; i++)
        if (list->spots[i].owner == owner && list->cell[i] == at) return;
    if (list->n == list->room || at < 0) return;
    field_spot *spot = &list->spots[list->n];
    list->cell[list->n++] = at;
    spot->owner = owner;
    bool of_body = owner < level->ports->bodies;
    const grid_surface *surface = of_body ? NULL : &level->g->surfaces[at];
    int cell = of_body ? at : surface->cell;
    for (int axis = 0; axis < 3; axis++) spot->place[axis] = grid_middle(level->g, cell, axis);
    if (of_body) return;
    spot->patch = level->patch_of[at];
    int axis = (int)surface->face / 2;
    spot->place[axis] = (int)surface->face % 2 ? level->g->box->size[axis] : 0;
}

/* Hottest places in one field of cell rises: of each body, of each face. */
static void hottest_places(spot_list *list, const field_level *level, const double rise[])
{
    const grid *g = level->g;
    for (int body = 0; body < g->bodies; body++) {
        int best = -1;
        for (int i = level->body_begin[body]; i < level->body_begin[body + 1]; i++)
            if (best < 0 || rise[level->body_cell[i]] > rise[best]) best = level->body_cell[i];
        add_spot(list, level, body, best);
    }
    for (int face = 0; face < HL_FACES; face++) {
        int best = -1;
        for (size_t i = 0; i < g->n_surfaces; i++)
            if ((int)g->surfaces[i].face == face &&
                (best < 0 || rise[g->surfaces[i].cell] > rise[g->surfaces[best].cell]))
                best = (int)i;
        add_spot(list, level, g->bodies + face, best);
    }
}

/* `basis`: NULL, or the box in time: what is hottest soon after a start may not be so at last. */
static bool find_spots(spot_list *list, const field_level *level, const double port[],
                       const field_basis *basis)
{
    int bodies = level->ports->bodies, ports = ports_count(level->ports), cells = level->g->cells;
    double *rise = calloc((size_t)cells, sizeof *rise);
    list->room = (bodies + HL_FACES) * (bodies + 1 + (basis ? basis->rates : 0));
    list->spots = calloc((size_t)list->room + 1, sizeof *list->spots);
    list->cell = calloc((size_t)list->room + 1, sizeof *list->cell);
    bool good = rise && list->spots && list->cell;
    if (good) {
        field_multiply(cells, ports, level->field, port, rise);
        hottest_places(list, level, rise);
        for (int body = 0; body < bodies; body++)
            hottest_places(list, level, level->field + (size_t)body * (size_t)cells);
        for (int k = 0; basis && k < basis->rates; k++) {
            basis_rise(basis, k, port, rise);
            hottest_places(list, level, rise);
        }
    }
    free(rise);
    return good;
}

static void set_spot_rows(hl_field *field, const field_level *level, const spot_list *list,
                          const double *fine)
{
    int bodies = field->ports.bodies;
    memcpy(field->spots, list->spots, (size_t)list->n * sizeof *field->spots);
    for (int p = 0; p < field->n_ports; p++)
        for (int i = 0; i < list->n; i++) {
            int owner = list->spots[i].owner;
            /* the extrapolation shifts a place as it shifts the mean of its body or patch */
            int row = owner < bodies ? owner : bodies + list->spots[i].patch;
            size_t at = (size_t)p * (size_t)field->n_rows + (size_t)row;
            double value = owner < bodies
                               ? level->field[(size_t)p * (size_t)level->g->cells + (size_t)list->cell[i]]
                               : level_surface_row(level, (size_t)list->cell[i], p);
            field->spot_row[(size_t)p * (size_t)field->n_spots + (size_t)i] =
                value + field->impedance[at] - fine[at];
        }
}

/* ---------------------------------------------------------------- create -- */

typedef struct making {
    const hl_field_box *box;
    hl_diagnostics *diagnostics;
    field_ports ports;
    hl_field *field; /* works on the levels; without spots */
    hl_field_work *work;
    field_level *level;
    double *coarse, *fine;   /* impedances of the last two levels */
    double *mean, *last;     /* rows of rise at the nominal heat */
    double change, greatest; /* K: between the last two levels, and of all rises */
    size_t cells, cells_before;
} making;

static double seconds_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* The grid of a level, coarser when it would have too many cells. */
static grid *fitting_grid(const hl_field_box *box, double *fineness, int most)
{
    for (int i = 0; i < 100; i++, *fineness *= 0.97) {
        grid *g = grid_create(box, *fineness, most);
        if (g) return g;
    }
    return NULL;
}

static bool begin_field(making *m, grid *g)
{
    if (!ports_build(&m->ports, g)) return false;
    m->field = field_allocate(&m->ports, 0);
    if (!m->field) {
        ports_release(&m->ports);
        return false;
    }
    describe(m->field, m->box);
    size_t n = (size_t)m->field->n_rows * (size_t)m->field->n_ports;
    m->work = hl_field_work_create(m->field);
    m->coarse = calloc(n, sizeof(double));
    m->fine = calloc(n, sizeof(double));
    m->mean = calloc((size_t)m->field->n_rows, sizeof(double));
    m->last = calloc((size_t)m->field->n_rows, sizeof(double));
    field_linearise(m->field, &m->field->surroundings, NULL, &m->field->linear);
    return m->work && m->coarse && m->fine && m->mean && m->last;
}

static hl_status condense_level(making *m, grid *g)
{
    size_t n = (size_t)m->field->n_rows * (size_t)m->field->n_ports;
    level_destroy(m->level);
    m->level = level_create(g, &m->field->ports);
    if (!m->level) return HL_NO_MEMORY;
    bool first = m->cells == 0;
    m->cells_before = m->cells;
    m->cells = (size_t)g->cells;
    memcpy(m->coarse, m->fine, n * sizeof(double));
    memcpy(m->last, m->work->rise, (size_t)m->field->n_rows * sizeof(double));
    if (!level_condense(m->level, &m->field->linear, first ? NULL : m->field->nominal)) {
        hl_diagnostics_add(
            m->diagnostics, HL_ERROR, NULL,
            "field: some part of the box has no way for its heat to the surroundings; give a face a law, "
            "or fill a conductivity");
        return HL_BAD_INPUT;
    }
    take_impedance(m->field, m->level->impedance);
    memcpy(m->fine, m->field->impedance, n * sizeof(double));
    return solve_nominal(m->field, m->work, m->mean);
}

static void compare_levels(making *m)
{
    m->change = m->greatest = 0;
    int rows = m->field->ports.bodies + m->field->ports.n_patches;
    for (int r = 0; r < rows; r++) {
        m->change = fmax(m->change, fabs(m->work->rise[r] - m->last[r]));
        m->greatest = fmax(m->greatest, fabs(m->work->rise[r]));
    }
}

/* What the second grid may still be off by, from how little the first, of fewer cells, differs: many planes
 * can leave both all but the same. */
static bool second_is_fine(const making *m)
{
    double ratio = cbrt((double)m->cells / (double)m->cells_before);
    return ratio > 1 && m->change / (pow(ratio, order) - 1) < agreed * m->greatest;
}

/* A simple box is cut finer for nothing: by a quarter at a time while the finest grid stays small. Who asks
 * for less than the usual fineness gets it. */
static double affordable(const hl_field_box *box, double scale)
{
    for (int i = 0; i < 12; i++) {
        grid *g = grid_create(box, 1.25 * scale * fineness_of[LEVELS - 1], CELLS_SPARE);
        if (!g) break;
        grid_destroy(g);
        scale *= 1.25;
    }
    return scale;
}

/* No grid fits: the planes on which parts begin and end are too many, unless memory ran out. */
static hl_status say_crowded(const making *m, int most)
{
    double cells = 1;
    for (int axis = 0; axis < 3; axis++) {
        double *corner;
        int n = lines_corners(m->box, axis, &corner);
        if (n == 0) return HL_NO_MEMORY;
        free(corner);
        cells *= n - 1;
    }
    if (!(cells > 0.5 * most)) return HL_NO_MEMORY;
    hl_diagnostics_add(
        m->diagnostics, HL_ERROR, NULL,
        "field: the planes on which parts begin and end cut the box into %.0f cells, and %d "
        "are the most; bring edges that lie near each other onto one plane, or join small parts",
        cells, most);
    return HL_BAD_INPUT;
}

/* How fine the finest grid may be: as asked, or what the cells allow. 0: no grid fits. */
static double finest_that_fits(const hl_field_box *box, double scale, int most)
{
    double fineness = fineness_of[LEVELS - 1] * scale;
    grid *g = fitting_grid(box, &fineness, most);
    if (!g) return 0;
    grid_destroy(g);
    return fineness;
}

/* Levels from coarse to fine; the first only finds the state about which to make the others linear.  Where
 * the finest gives way to the cells, so do the others: two grids all but alike say nothing of what a finer
 * one would, and extrapolating them makes a mountain of their difference. */
static hl_status climb(making *m)
{
    double scale = m->box->fineness > 0 ? m->box->fineness : 1;
    int most = (int)fmin(CELLS_MAX * fmax(1, pow(scale, 3)), 2e6);
    if (scale >= 1) scale = affordable(m->box, scale);
    double finest = finest_that_fits(m->box, scale, most), fineness = 0, last_fineness;
    if (finest == 0) return say_crowded(m, most);
    for (int k = 0; k < LEVELS; k++) {
        last_fineness = fineness;
        fineness = finest * fineness_of[k] / fineness_of[LEVELS - 1];
        grid *g = fitting_grid(m->box, &fineness, most);
        if (!g) return HL_NO_MEMORY;
        if (k == 0 && !begin_field(m, g)) {
            grid_destroy(g);
            return HL_NO_MEMORY;
        }
        hl_status status = condense_level(m, g);
        if (status != HL_OK) return status;
        compare_levels(m);
        if (k == 0) field_linearise(m->field, &m->field->surroundings, m->work->rise, &m->field->linear);
        if (k == 1 && second_is_fine(m)) return HL_OK;
    }
    extrapolate(m->field, m->coarse, fineness / last_fineness);
    return solve_nominal(m->field, m->work, m->mean);
}

static bool set_modes(hl_field *field, const making *m, const field_basis *basis, const spot_list *list)
{
    basis_spot *spots = malloc(((size_t)list->n + 1) * sizeof *spots);
    if (!spots) return false;
    for (int i = 0; i < list->n; i++) {
        bool of_body = list->spots[i].owner < field->ports.bodies;
        size_t at = (size_t)list->cell[i];
        spots[i] = of_body ? (basis_spot){list->cell[i], 1}
                           : (basis_spot){m->level->g->surfaces[at].cell, level_reach(m->level, at)};
    }
    bool good = basis_condense(basis, &m->field->linear, spots, list->n, &field->modes);
    free(spots);
    return good;
}

/* The field as it is kept: with spots, without grids. */
static hl_field *finish(making *m)
{
    spot_list list = {0};
    field_basis basis = {0};
    bool warm = m->box->warm;
    hl_field *made = NULL;
    field_ports ports = m->field->ports;
    ports.patches = malloc(((size_t)ports.n_patches + 1) * sizeof *ports.patches);
    if (ports.patches && (!warm || basis_create(&basis, m->level, &m->field->linear)) &&
        find_spots(&list, m->level, m->field->nominal, warm ? &basis : NULL)) {
        memcpy(ports.patches, m->field->ports.patches, (size_t)ports.n_patches * sizeof *ports.patches);
        made = field_allocate(&ports, list.n);
    }
    if (!made) {
        free(ports.patches);
    } else {
        hl_field *from = m->field;
        size_t n = (size_t)made->n_rows * (size_t)made->n_ports;
        describe(made, m->box);
        double *outward = made->linear.outward;
        made->linear = from->linear;
        made->linear.outward = outward;
        memcpy(outward, from->linear.outward, (size_t)ports.n_patches * sizeof *outward);
        memcpy(made->nominal, from->nominal, (size_t)made->n_ports * sizeof(double));
        memcpy(made->impedance, from->impedance, n * sizeof(double));
        set_spot_rows(made, m->level, &list, m->fine);
        if (warm && !set_modes(made, m, &basis, &list)) {
            hl_field_destroy(made);
            made = NULL;
        }
    }
    basis_release(&basis);
    free(list.spots);
    free(list.cell);
    return made;
}

static void release(making *m)
{
    level_destroy(m->level);
    hl_field_work_destroy(m->work);
    hl_field_destroy(m->field);
    free(m->coarse);
    free(m->fine);
    free(m->mean);
    free(m->last);
}

hl_field *hl_field_create(const hl_field_box *box, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    double begun = seconds_now();
    if (!field_box_is_sound(box, diagnostics)) return NULL;
    making m = {.box = box, .diagnostics = diagnostics};
    hl_field *made = NULL;
    hl_status status = climb(&m);
    if (status == HL_OK) {
        made = finish(&m);
        if (!made) status = HL_NO_MEMORY;
    }
    if (status != HL_OK && status != HL_BAD_INPUT)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "field: %s; give less heat, or a simpler box",
                           hl_status_text(status));
    if (made)
        made->facts = (hl_field_facts){
            m.cells,  (size_t)made->n_ports, (size_t)made->ports.n_patches, (size_t)made->ports.n_groups,
            m.change, seconds_now() - begun};
    release(&m);
    return made;
}
