/* enclosure.c - the rule-of-thumb network of a sealed box: checks, nodes, and layers between surfaces.
 *
 * One node per part and face, five per board that parts sit on.  Such a network gives means to some 10 % of
 * the rise; the hottest spot of a wall is not in it. */
#include "thermal/enclosure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double usual_body_heat =
    2.0e6; /* J/(m^3 K), parts of metal, ferrite and epoxy: common practice */

/* How far beyond its rim, in distances to the wall, a surface in potting sheds heat.  An edge of a lone block
 * counts 0.54 per length (Holman, table 3-1), shared by its two faces.  In air the neighbours
 * take the fringe: none fits the field-solved boxes best. */
static const double potted_fringe = 0.27;

/* For estimates of series paths only. */
static const double usual_outside = 11.0; /* W/(m^2 K), outside of a wall */
static const double usual_air = 0.028;    /* W/(m K), near 330 K */
static const double usual_radiation =
    6.5; /* W/(m^2 K), 4 sigma T^3 near 330 K, to be multiplied by emissivity */

const char *hl_face_name(hl_face face)
{
    static const char *const names[HL_FACES] = {"x0", "x1", "y0", "y1", "z0", "z1"};
    return (unsigned)face < HL_FACES ? names[face] : "none";
}

/* -------------------------------------------------------------- geometry -- */

bool body_has_place(const hl_body *body)
{
    for (int k = 0; k < 3; k++)
        if (!(body->high[k] > body->low[k])) return false;
    return true;
}

int thinnest_axis(const double low[3], const double high[3])
{
    int thin = 0;
    for (int k = 1; k < 3; k++)
        if (high[k] - low[k] < high[thin] - low[thin]) thin = k;
    return thin;
}

int board_normal(const hl_board *board)
{
    return thinnest_axis(board->low, board->high);
}

double plane_overlap(const double low[3], const double high[3], const double other_low[3],
                     const double other_high[3], int axis)
{
    double area = 1;
    for (int k = 0; k < 3; k++)
        if (k != axis) area *= fmax(fmin(high[k], other_high[k]) - fmax(low[k], other_low[k]), 0);
    return area;
}

double plane_area(const double low[3], const double high[3], int axis)
{
    return plane_overlap(low, high, low, high, axis);
}

hl_orientation enclosure_orientation(const enclosure *e, int face)
{
    if (axis_of(face) != axis_of((int)e->box->up)) return HL_VERTICAL;
    return face == (int)e->box->up ? HL_FACING_UP : HL_FACING_DOWN;
}

double enclosure_to_wall(const enclosure *e, double coordinate, int face)
{
    int axis = axis_of(face);
    double wall = is_high(face) ? e->box->size[axis] - e->box->wall - coordinate : coordinate - e->box->wall;
    return fmax(wall, 1e-4);
}

void enclosure_join(enclosure *e, int a, int b, hl_law law, int kind, double p0, double p1, double p2)
{
    if (!(p0 > 0)) return;
    hl_link link = {a, b, law, kind, {p0, p1, p2, 0}};
    if (hl_network_add_link(e->network, &link) < 0) e->starved = true;
}

/* ---------------------------------------------------------------- layers -- */

/* Area of a surface widened on each side by `margin`, within the box. */
static double widened(const enclosure *e, const double low[3], const double high[3], int axis, double margin)
{
    double area = 1;
    for (int k = 0; k < 3; k++) {
        if (k == axis) continue;
        double inner = e->box->size[k] - 2 * e->box->wall;
        area *= fmin(high[k] - low[k] + 2 * margin, fmax(inner, high[k] - low[k]));
    }
    return area;
}

/* Two grey surfaces that see little but each other: 1 / (1/e1 + 1/e2 - 1) (Cengel & Ghajar section 9-5). */
static double between_grey(double one, double other)
{
    return one > 0 && other > 0 ? 1 / (1 / one + 1 / other - 1) : 0;
}

/* How far heat runs along a wall, as along a fin: sqrt(k t / h). */
static double wall_reach(const enclosure *e, double lining)
{
    return sqrt((e->box->wall_conductivity * e->box->wall + lining) / usual_outside);
}

/* The part of a lining by which it spreads what reaches it between low and high: as far as a fin's heat runs
 * in it, and beyond its rim as far as in the bare wall.  0 where it lies under less than half of the patch.
 */
double enclosure_lined_patch(const enclosure *e, const double low[3], const double high[3], int face)
{
    const hl_lining *l = &e->box->lining[face];
    int axis = axis_of(face);
    if (!(l->sheet > 0) ||
        plane_overlap(low, high, l->low, l->high, axis) < 0.5 * plane_area(low, high, axis))
        return 0;
    double reach = wall_reach(e, l->sheet), rim = wall_reach(e, 0), area = 1;
    for (int k = 0; k < 3; k++) {
        if (k == axis) continue;
        double from = fmax(l->low[k], low[k] - reach), to = fmin(l->high[k], high[k] + reach);
        area *= fmin(to - from + 2 * rim, e->box->size[k] - 2 * e->box->wall);
    }
    return area;
}

/* The patch sheds its heat over its own area, widened by the reach of a fin, and in potting by the depth of
 * the fill as well, instead of over the whole face. */
double enclosure_patch(const enclosure *e, const double low[3], const double high[3], int face,
                       double distance)
{
    double margin = wall_reach(e, 0) + (e->box->potted ? distance : 0);
    return fmax(widened(e, low, high, axis_of(face), margin), enclosure_lined_patch(e, low, high, face));
}

double enclosure_patch_resistance(const enclosure *e, double patch, int face)
{
    const double origin[3] = {0, 0, 0};
    return fmax(1 / patch - 1 / plane_area(origin, e->box->size, axis_of(face)), 0) / usual_outside;
}

void enclosure_add_layer(enclosure *e, const enclosure_layer *l)
{
    int axis = axis_of(l->face), up = axis_of((int)e->box->up);
    double whole = plane_area(l->low, l->high, axis);
    if (!(l->area > 0) || !(whole > 0)) return;
    double fringe = e->box->potted ? potted_fringe : 0;
    double wide = l->area * widened(e, l->low, l->high, axis, fringe * l->distance) / whole;
    double patch = 0;
    if (l->b == e->first_inside + l->face) {
        double sheds = enclosure_patch(e, l->low, l->high, l->face, l->distance);
        patch = enclosure_patch_resistance(e, sheds, l->face);
        e->faced[l->face] += l->share * wide;
    }
    if (e->box->potted) {
        double resistance = l->distance / (e->box->fill_conductivity * wide) + l->resistance + patch;
        enclosure_join(e, l->a, l->b, HL_LAW_FIXED, 0, l->share / resistance, 0, 0);
        return;
    }
    double grey = between_grey(l->emissivity_a, l->emissivity_b);
    double usual = usual_air / l->distance * wide + grey * usual_radiation * l->area;
    double share = l->share / (1 + usual * patch); /* laws of air have no place for a resistance in series */
    double height = axis == up ? sqrt(whole) : l->high[up] - l->low[up];
    enclosure_join(e, l->a, l->b, HL_LAW_GAP, (int)enclosure_orientation(e, l->face), share * wide,
                   l->distance, height);
    enclosure_join(e, l->a, l->b, HL_LAW_RADIATION, 0, grey, share * l->area, 0);
}

/* ---------------------------------------------------------------- checks -- */

static bool within(double x, double low, double high)
{
    return x >= low && x <= high;
}

static bool wrong(hl_diagnostics *diagnostics, const hl_place *place, const char *kind, const char *name,
                  const char *what)
{
    if (!name) name = "";
    hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s%s%s%s: %s", kind, *name ? " '" : "", name,
                       *name ? "'" : "", what);
    return false;
}

bool enclosure_box_is_sane(const hl_box *box, const hl_place *at, hl_diagnostics *d)
{
    for (int k = 0; k < 3; k++) {
        if (!within(box->size[k], 1e-3, 10))
            return wrong(d, at, "box", "",
                         "each side must be 1 mm to 10 m; give outer length, width and height");
        if (!(box->wall > 0 && 2 * box->wall < box->size[k]))
            return wrong(d, at, "box", "",
                         "the wall must be above 0 and leave room inside; give its thickness");
    }
    if (!within(box->wall_conductivity, 1e-3, 1e4))
        return wrong(d, at, "box", "", "wall conductivity is outside 0.001 to 10000 W/(m K)");
    if (!within(box->emissivity_outside, 0, 1) || !within(box->emissivity_inside, 0, 1))
        return wrong(d, at, "box", "", "emissivity must be 0 to 1; plastics and paint have about 0.9");
    if (box->potted && !within(box->fill_conductivity, 1e-3, 1e3))
        return wrong(d, at, "box", "",
                     "a potted box needs the conductivity of its fill, 0.001 to 1000 W/(m K)");
    if ((int)box->up < 0 || box->up >= HL_FACES) return wrong(d, at, "box", "", "say which face looks up");
    if (!within(box->air_speed, 0, 100)) return wrong(d, at, "box", "", "air speed must be 0 to 100 m/s");
    for (int f = 0; f < HL_FACES; f++)
        if (!within(box->covered[f], 0, 1))
            return wrong(d, at, "box", "", "the covered part of a face must be 0 to 1");
    if (!within(box->cover_conductance, 0, 1e6))
        return wrong(d, at, "box", "", "cover conductance must be 0 to 1e6 W/(m^2 K)");
    return true;
}

/* Inside the outer skin, with 1 um for rounding. */
static bool fits(const hl_box *box, const double low[3], const double high[3])
{
    for (int k = 0; k < 3; k++)
        if (!(low[k] >= -1e-6 && high[k] <= box->size[k] + 1e-6)) return false;
    return true;
}

/* Low corner below high one along each axis. */
static bool corners_in_order(const hl_board *board, const hl_place *at, hl_diagnostics *d)
{
    for (int k = 0; k < 3; k++) {
        if (board->high[k] > board->low[k]) continue;
        hl_diagnostics_add(d, HL_ERROR, at,
                           "board '%s': its corners are not in order along %c: low %.4g mm is not below high "
                           "%.4g mm; swap the two, low is the corner nearer to the origin",
                           board->name, "xyz"[k], 1e3 * board -> low[k], 1e3 * board -> high[k]);
        return false;
    }
    return true;
}

bool enclosure_board_is_sane(const hl_box *box, const hl_board *board, const hl_place *at, hl_diagnostics *d)
{
    if (!corners_in_order(board, at, d)) return false;
    if (!fits(box, board->low, board->high))
        return wrong(d, at, "board", board->name, "it reaches out of the box; move it or enlarge the box");
    if (!within(board->conductivity_in, 1e-3, 1e4) || !within(board->conductivity_through, 1e-3, 1e4))
        return wrong(d, at, "board", board->name,
                     "it needs conductivities, in plane (5 to 50 W/(m K) with copper) "
                     "and through (about 0.3)");
    return true;
}

bool enclosure_body_is_sane(const hl_box *box, size_t boards, const hl_body *body, const hl_place *at,
                            hl_diagnostics *d)
{
    const double *figures[] = {&body->conductivity,     &body->density_heat,    &body->capacity,
                               &body->board_resistance, &body->case_resistance, &body->pad_resistance};
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++)
        if (!within(*figures[i], 0, 1e9))
            return wrong(d, at, "part", body->name, "its thermal figures must be finite and not negative");
    if (!within(body->emissivity, 0, 1)) return wrong(d, at, "part", body->name, "emissivity must be 0 to 1");
    if (body->board < -1 || body->board >= (int)boards)
        return wrong(d, at, "part", body->name, "the board it sits on is not described; add the board");
    if ((int)body->pad_face < 0 || body->pad_face > HL_FACES)
        return wrong(d, at, "part", body->name, "its pad leads to no face of the box");
    for (int k = 0; k < 3; k++)
        if (!isfinite(body->low[k]) || !isfinite(body->high[k]))
            return wrong(d, at, "part", body->name, "its place is not finite; give low and high corner");
    if (body_has_place(body) && !fits(box, body->low, body->high))
        return wrong(d, at, "part", body->name, "it reaches out of the box; move it or check its size");
    return true;
}

static bool inputs_are_sane(const enclosure *e, hl_diagnostics *d)
{
    if (!enclosure_box_is_sane(e->box, NULL, d)) return false;
    bool good = true;
    for (size_t i = 0; i < e->n_boards; i++)
        good = enclosure_board_is_sane(e->box, &e->boards[i], NULL, d) && good;
    for (size_t i = 0; i < e->n_bodies; i++)
        good = enclosure_body_is_sane(e->box, e->n_boards, &e->bodies[i], NULL, d) && good;
    return good;
}

/* ----------------------------------------------------------------- nodes -- */

static double volume(const double low[3], const double high[3])
{
    return (high[0] - low[0]) * (high[1] - low[1]) * (high[2] - low[2]);
}

static double body_capacity(const hl_body *body)
{
    if (body->capacity > 0) return body->capacity;
    double per_volume = body->density_heat > 0 ? body->density_heat : usual_body_heat;
    return body_has_place(body) ? per_volume * volume(body->low, body->high) : 0;
}

static double board_capacity(const hl_board *board)
{
    return board->density_heat * volume(board->low, board->high);
}

static int add_node(enclosure *e, const char *name, double capacity)
{
    int node = hl_network_add_node(e->network, name, capacity);
    if (node < 0) e->starved = true;
    return node;
}

/* What fills the room left over by boards and parts. */
static double fill_capacity(const enclosure *e)
{
    const hl_box *box = e->box;
    double room = 1;
    for (int k = 0; k < 3; k++) room *= box->size[k] - 2 * box->wall;
    for (size_t i = 0; i < e->n_boards; i++) room -= volume(e->boards[i].low, e->boards[i].high);
    for (size_t i = 0; i < e->n_bodies; i++)
        if (body_has_place(&e->bodies[i])) room -= volume(e->bodies[i].low, e->bodies[i].high);
    double per_volume = box->potted ? box->fill_density_heat : 1150.0; /* air near 300 K, J/(m^3 K) */
    return fmax(room, 0) * per_volume;
}

static void add_nodes(enclosure *e)
{
    const hl_box *box = e->box;
    const double origin[3] = {0, 0, 0};
    char name[40];
    for (size_t i = 0; i < e->n_bodies; i++) add_node(e, e->bodies[i].name, body_capacity(&e->bodies[i]));
    e->first_board = (int)e->n_bodies;
    for (size_t i = 0; i < e->n_boards; i++)
        add_node(e, e->boards[i].name, e->first_piece[i] < 0 ? board_capacity(&e->boards[i]) : 0);
    e->air = add_node(e, box->potted ? "fill" : "inner air", fill_capacity(e));
    e->first_face = e->air + 1;
    e->first_inside = e->first_face + HL_FACES;
    for (int inside = 0; inside < 2; inside++)
        for (int f = 0; f < HL_FACES; f++) {
            double half =
                0.5 * box->wall * plane_area(origin, box->size, axis_of(f)) * box->wall_density_heat;
            snprintf(name, sizeof name, "face %s%s", hl_face_name((hl_face)f), inside ? " inside" : "");
            add_node(e, name, half);
        }
    for (size_t i = 0; i < e->n_boards; i++)
        if (e->first_piece[i] >= 0) e->first_piece[i] = pieces_add_nodes(e, i, board_capacity(&e->boards[i]));
}

hl_status enclosure_build(hl_network *network, const hl_box *box, size_t n_boards, const hl_board boards[],
                          size_t n_bodies, const hl_body bodies[], int first_piece[],
                          hl_diagnostics *diagnostics)
{
    enclosure e = {.network = network,
                   .box = box,
                   .boards = boards,
                   .bodies = bodies,
                   .n_boards = n_boards,
                   .n_bodies = n_bodies,
                   .first_piece = first_piece};
    if (hl_network_nodes(network) > 0) {
        wrong(diagnostics, NULL, "box", "", "its network must start empty; add nodes by hand afterwards");
        return HL_BAD_INPUT;
    }
    if (!inputs_are_sane(&e, diagnostics)) return HL_BAD_INPUT;
    add_nodes(&e);
    if (!e.starved) {
        enclosure_boards(&e);
        enclosure_bodies(&e);
        enclosure_shell(&e);
    }
    if (!e.starved) return HL_OK;
    hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
    return HL_NO_MEMORY;
}

/* Heat enters a board where parts sit; without any there is nothing to tell its quarters apart. */
static bool is_seated(int board, size_t n_bodies, const hl_body bodies[])
{
    for (size_t i = 0; i < n_bodies; i++)
        if (bodies[i].board == board && body_has_place(&bodies[i])) return true;
    return false;
}

hl_status hl_enclosure_by_rule(hl_network *network, const hl_box *box, size_t n_boards,
                               const hl_board boards[], size_t n_bodies, const hl_body bodies[],
                               hl_diagnostics *diagnostics)
{
    int *first_piece = calloc(n_boards + 1, sizeof *first_piece);
    if (!first_piece) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
        return HL_NO_MEMORY;
    }
    for (size_t i = 0; i < n_boards; i++) first_piece[i] = is_seated((int)i, n_bodies, bodies) ? 0 : -1;
    hl_status status =
        enclosure_build(network, box, n_boards, boards, n_bodies, bodies, first_piece, diagnostics);
    free(first_piece);
    return status;
}
