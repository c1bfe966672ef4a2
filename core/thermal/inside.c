/* inside.c - boards and parts in the box: to each other, to the walls, to the air between. */
#include "thermal/enclosure.h"

#include <math.h>

static const double board_emissivity = 0.9; /* solder mask: common practice */
static const double usual_emissivity = 0.9; /* a part that gives none */
static const double usual_contact = 2e-4; /* m^2 K/W under a part that gives no resistance: common practice */
static const double usual_film = 10.0;    /* W/(m^2 K), outside of the wall, for spreading only */
static const double air_conductivity = 0.028; /* W/(m K) near 330 K, for spreading only */
static const double usual_radiation = 5.5;    /* W/(m^2 K), 4 sigma eps T^3 near 340 K, for spreading only */

static const double wide_gap = 10e-3; /* m: beyond, a part's air belongs to the room, not to a layer */

static double emissivity_of(const hl_body *body)
{
    return body->emissivity > 0 ? body->emissivity : usual_emissivity;
}

/* Which of its sides faces the board it sits on; HL_FACES: none. */
static int seat_of(const enclosure *e, const hl_body *body)
{
    if (body->board < 0) return HL_FACES;
    const hl_board *board = &e->boards[body->board];
    int axis = board_normal(board);
    double middle = 0.5 * (body->low[axis] + body->high[axis]);
    double level = 0.5 * (board->low[axis] + board->high[axis]);
    return middle >= level ? 2 * axis : 2 * axis + 1;
}

static double surface_of(const double low[3], const double high[3], int face)
{
    return is_high(face) ? high[axis_of(face)] : low[axis_of(face)];
}

/* ------------------------------------------------------------- spreading -- */

/* What a board loses on one side, per area: fill, wall and outside in series. */
static double side_loss(const enclosure *e, const hl_board *board, int face)
{
    double distance = enclosure_to_wall(e, surface_of(board->low, board->high, face), face);
    double inside =
        e->box->potted ? e->box->fill_conductivity / distance : air_conductivity / distance + usual_radiation;
    return 1 / (1 / inside + e->box->wall / e->box->wall_conductivity + 1 / usual_film);
}

/* Spreading in a disc of radius b, thickness t, from a source of radius a, mean over the source:
 *   R = (1 - a/b)^(3/2) phi / (2 sqrt(pi) k a),  phi = (tanh(L T) + L/Bi) / (1 + (L/Bi) tanh(L T)),
 *   T = t/b, L = pi + b / (sqrt(pi) a), Bi = h b / k.
 * Song, Lee & Au 1994, IEPS, eqs. 5 to 9 (from memory; within 10 % for a/b 0.1 to 0.9).  A board conducts
 * better in its plane: its thickness is stretched by sqrt(k_in/k_through) and k is their geometric mean.
 * Potting beside the board carries heat in its plane as well. */
double board_spreading(const enclosure *e, const hl_board *board, const hl_body *body)
{
    int axis = board_normal(board), low_side = 2 * axis;
    double thickness = board->high[axis] - board->low[axis];
    double whole = plane_area(board->low, board->high, axis);
    double foot = fmin(plane_area(body->low, body->high, axis), whole);
    double a = sqrt(foot / 3.14159265358979), b = sqrt(whole / 3.14159265358979);
    double in_plane = board->conductivity_in;
    if (e->box->potted) {
        double beside = enclosure_to_wall(e, board->low[axis], low_side) +
                        enclosure_to_wall(e, board->high[axis], low_side + 1);
        in_plane += e->box->fill_conductivity * fmin(beside, 2 * b) / thickness;
    }
    double k = sqrt(in_plane * board->conductivity_through);
    double stretched = thickness * sqrt(in_plane / board->conductivity_through);
    double loss = side_loss(e, board, low_side) + side_loss(e, board, low_side + 1);
    double biot = loss * b / k, ratio = a / b, l = 3.14159265358979 + 1 / (1.7724538509055 * ratio);
    double reach = tanh(l * stretched / b);
    double phi = (reach + l / biot) / (1 + l / biot * reach);
    double spread = pow(fmax(1 - ratio, 0), 1.5) * phi / (2 * 1.7724538509055 * k * a);
    return spread + 0.5 * thickness / (board->conductivity_through * whole);
}

/* ---------------------------------------------------------------- boards -- */

/* Part of a board's side that parts sit on. */
static double seated_area(const enclosure *e, size_t board, int face)
{
    double area = 0;
    const hl_board *own = &e->boards[board];
    for (size_t i = 0; i < e->n_bodies; i++) {
        const hl_body *body = &e->bodies[i];
        if (body->board != (int)board || !body_has_place(body) || (seat_of(e, body) ^ 1) != face) continue;
        area += plane_overlap(own->low, own->high, body->low, body->high, axis_of(face));
    }
    return fmin(area, 0.95 * plane_area(own->low, own->high, axis_of(face)));
}

/* Gap from a surface to another box in the direction of a face; negative: not in front of it. */
static double gap_to(double from, const double low[3], const double high[3], int face)
{
    return is_high(face) ? low[axis_of(face)] - from : from - high[axis_of(face)];
}

/* A side of a board: to another board in front of it where there is one, the rest to the wall. */
static void board_side(enclosure *e, size_t board, int face)
{
    const hl_board *own = &e->boards[board];
    int axis = axis_of(face), node = e->first_board + (int)board;
    double from = surface_of(own->low, own->high, face);
    double whole = plane_area(own->low, own->high, axis);
    double open = whole - seated_area(e, board, face), share = open / whole;
    for (size_t j = 0; j < e->n_boards; j++) {
        const hl_board *other = &e->boards[j];
        double gap = gap_to(from, other->low, other->high, face);
        if (j == board || !(gap > 0)) continue;
        double seen = share * plane_overlap(own->low, own->high, other->low, other->high, axis);
        open -= seen;
        if (j > board) /* once per pair */
            enclosure_layer(e, node, e->first_board + (int)j, face, other->low, other->high, seen, gap,
                            board_emissivity, board_emissivity, 0);
    }
    enclosure_layer(e, node, e->first_inside + face, face, own->low, own->high, fmax(open, 0),
                    enclosure_to_wall(e, from, face), board_emissivity, e->box->emissivity_inside, 0);
}

/* A narrow side of a board: to the wall beside it. */
static void board_edge(enclosure *e, size_t board, int face)
{
    const hl_board *own = &e->boards[board];
    double from = surface_of(own->low, own->high, face);
    enclosure_layer(e, e->first_board + (int)board, e->first_inside + face, face, own->low, own->high,
                    plane_area(own->low, own->high, axis_of(face)), enclosure_to_wall(e, from, face),
                    board_emissivity, e->box->emissivity_inside, 0);
}

void enclosure_boards(enclosure *e)
{
    for (size_t i = 0; i < e->n_boards; i++) {
        int normal = board_normal(&e->boards[i]);
        for (int f = 0; f < HL_FACES; f++) {
            if (axis_of(f) == normal)
                board_side(e, i, f);
            else
                board_edge(e, i, f);
        }
    }
}

/* ---------------------------------------------------------------- bodies -- */

/* From the mean of an evenly heated block to one of its sides: length / (3 k A). */
static double block_resistance(const hl_body *body, int axis)
{
    if (!(body->conductivity > 0)) return 0;
    double area = plane_area(body->low, body->high, axis);
    return (body->high[axis] - body->low[axis]) / (3 * body->conductivity * area);
}

/* What a part states begins at its hot spot, which is its node: its inside is in that figure and is not added
 * to it.  The block's own conduction stands where nothing is stated.  The board's spreading is outside the
 * part: junction to board is measured beside it (JESD51-8: 1 mm from the body; from memory). */
static void seat_body(enclosure *e, size_t index)
{
    const hl_body *body = &e->bodies[index];
    if (body->board < 0) return;
    const hl_board *board = &e->boards[body->board];
    double resistance = body->board_resistance;
    if (body_has_place(body)) {
        int axis = board_normal(board);
        double foot = plane_area(body->low, body->high, axis);
        if (!(resistance > 0)) resistance = usual_contact / foot + block_resistance(body, axis);
        resistance += board_spreading(e, board, body);
    }
    if (!(resistance > 0)) return;
    enclosure_join(e, (int)index, e->first_board + body->board, HL_LAW_FIXED, 0, 1 / resistance, 0, 0);
}

/* A pad: through case and pad, then through a spot of the wall wider than the part by the wall's thickness,
 * and from the patch that sheds its heat to the mean of the wall.  On a lining pads share what lies behind
 * it. */
static void pad_body(enclosure *e, size_t index)
{
    const hl_body *body = &e->bodies[index];
    int face = (int)body->pad_face, axis = axis_of(face), end = e->first_face + face;
    if (body->pad_face == HL_FACES) return;
    double resistance = body->case_resistance + body->pad_resistance;
    if (body_has_place(body)) {
        double spot = 1, lined = enclosure_lined_patch(e, body->low, body->high, face);
        if (!(body->case_resistance > 0)) resistance += block_resistance(body, axis);
        for (int k = 0; k < 3; k++)
            if (k != axis) spot *= body->high[k] - body->low[k] + 2 * e->box->wall;
        if (lined > 0)
            end = e->first_inside + face;
        else
            resistance += e->box->wall / (e->box->wall_conductivity * spot);
        resistance += enclosure_patch_resistance(e, enclosure_patch(e, body->low, body->high, face, 0), face);
    }
    enclosure_join(e, (int)index, end, HL_LAW_FIXED, 0, 1 / fmax(resistance, 1e-3), 0, 0);
}

/* What a side of a part looks at: the nearest board or part that covers half of it, or else the wall. */
static int in_front(const enclosure *e, size_t index, int face, double *distance, double *emissivity)
{
    const hl_body *body = &e->bodies[index];
    int axis = axis_of(face), seen = e->first_inside + face;
    double from = surface_of(body->low, body->high, face);
    double half = 0.5 * plane_area(body->low, body->high, axis);
    *distance = enclosure_to_wall(e, from, face);
    *emissivity = e->box->emissivity_inside;
    for (size_t j = 0; j < e->n_boards; j++) {
        const hl_board *board = &e->boards[j];
        double gap = gap_to(from, board->low, board->high, face);
        if ((int)j == body->board || !(gap >= 0 && gap < *distance)) continue;
        if (plane_overlap(body->low, body->high, board->low, board->high, axis) < half) continue;
        *distance = gap;
        *emissivity = board_emissivity;
        seen = e->first_board + (int)j;
    }
    for (size_t j = 0; j < e->n_bodies; j++) {
        const hl_body *other = &e->bodies[j];
        double gap = gap_to(from, other->low, other->high, face);
        if (j == index || !body_has_place(other) || !(gap >= 0 && gap < *distance)) continue;
        if (plane_overlap(body->low, body->high, other->low, other->high, axis) < half) continue;
        *distance = gap;
        *emissivity = emissivity_of(other);
        seen = (int)j;
    }
    *distance = fmax(*distance, 1e-4);
    return seen;
}

static void body_side(enclosure *e, size_t index, int face)
{
    const hl_body *body = &e->bodies[index];
    int axis = axis_of(face), up = axis_of((int)e->box->up);
    double distance, emissivity, area = plane_area(body->low, body->high, axis);
    int seen = in_front(e, index, face, &distance, &emissivity);
    double inner = block_resistance(body, axis) + body->case_resistance;
    if (e->box->potted || distance < wide_gap) {
        enclosure_layer(e, (int)index, seen, face, body->low, body->high, area, distance, emissivity_of(body),
                        emissivity, inner);
        return;
    }
    int side = (int)enclosure_orientation(e, face);
    double length = side == HL_VERTICAL ? body->high[up] - body->low[up] : 0.25 * sqrt(area);
    enclosure_join(e, (int)index, e->air, HL_LAW_NATURAL, side, area, length, 0);
    double grey = 1 / (1 / emissivity_of(body) + 1 / fmax(emissivity, 0.01) - 1);
    enclosure_join(e, (int)index, seen, HL_LAW_RADIATION, 0, grey, area, 0);
}

void enclosure_bodies(enclosure *e)
{
    for (size_t i = 0; i < e->n_bodies; i++) {
        seat_body(e, i);
        pad_body(e, i);
        if (!body_has_place(&e->bodies[i])) continue;
        int seat = seat_of(e, &e->bodies[i]);
        for (int f = 0; f < HL_FACES; f++)
            if (f != seat) body_side(e, i, f);
    }
}
