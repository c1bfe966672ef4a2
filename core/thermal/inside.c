/* inside.c - boards and parts in the box: to each other, to the walls, to the air between. */
#include "thermal/enclosure.h"

#include <math.h>
#include <string.h>

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

/* Potting beside a board carries heat in its plane as well, as far away as the plane is wide. */
static double in_plane_conductivity(const enclosure *e, const hl_board *board, double radius)
{
    int axis = board_normal(board), low_side = 2 * axis;
    if (!e->box->potted) return board->conductivity_in;
    double beside = enclosure_to_wall(e, board->low[axis], low_side) +
                    enclosure_to_wall(e, board->high[axis], low_side + 1);
    double thickness = board->high[axis] - board->low[axis];
    return board->conductivity_in + e->box->fill_conductivity * fmin(beside, 2 * radius) / thickness;
}

double board_sheet(const enclosure *e, const hl_board *board)
{
    int axis = board_normal(board);
    double radius = sqrt(plane_area(board->low, board->high, axis) / 3.14159265358979);
    return in_plane_conductivity(e, board, radius) * (board->high[axis] - board->low[axis]);
}

/* Spreading in a disc of radius b, thickness t, from a source of radius a, mean over the source:
 *   R = (1 - a/b)^(3/2) phi / (2 sqrt(pi) k a),  phi = (tanh(L T) + L/Bi) / (1 + (L/Bi) tanh(L T)),
 *   T = t/b, L = pi + b / (sqrt(pi) a), Bi = h b / k.
 * Song, Lee & Au 1994, IEPS, eqs. 5 to 9 (from memory; within 10 % for a/b 0.1 to 0.9).  A board conducts
 * better in its plane: its thickness is stretched by sqrt(k_in/k_through) and k is their geometric mean. */
double board_spreading(const enclosure *e, const hl_board *board, const hl_body *body, double whole)
{
    int axis = board_normal(board), low_side = 2 * axis;
    double thickness = board->high[axis] - board->low[axis];
    double foot = fmin(plane_area(body->low, body->high, axis), whole);
    double a = sqrt(foot / 3.14159265358979), b = sqrt(whole / 3.14159265358979);
    double in_plane = in_plane_conductivity(e, board, b);
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

/* Part of the side of a board's piece that parts sit on. */
static double seated_area(const enclosure *e, size_t board, const double low[3], const double high[3],
                          int face)
{
    double area = 0;
    for (size_t i = 0; i < e->n_bodies; i++) {
        const hl_body *body = &e->bodies[i];
        if (body->board != (int)board || !body_has_place(body) || (seat_of(e, body) ^ 1) != face) continue;
        area += plane_overlap(low, high, body->low, body->high, axis_of(face));
    }
    return fmin(area, 0.95 * plane_area(low, high, axis_of(face)));
}

/* Gap from a surface to another box in the direction of a face; negative: not in front of it. */
static double gap_to(double from, const double low[3], const double high[3], int face)
{
    return is_high(face) ? low[axis_of(face)] - from : from - high[axis_of(face)];
}

/* From one piece of a board to those of a board in front of it; `share` of its side is open. */
static void board_to_board(enclosure *e, int piece, const double low[3], const double high[3], double share,
                           size_t other, double gap, int face)
{
    const hl_board *to = &e->boards[other];
    for (int p = 0; p < board_pieces(e, other); p++) {
        double to_low[3], to_high[3];
        piece_corners(e, other, p, to_low, to_high);
        double seen = share * plane_overlap(low, high, to_low, to_high, axis_of(face));
        enclosure_add_layer(e, &(enclosure_layer){piece, board_piece(e, other, p), face, to->low, to->high,
                                                  seen, gap, board_emissivity, board_emissivity, 0, 1});
    }
}

/* A side of a piece of a board: to another board in front of it where there is one, the rest to the wall. */
static void board_side(enclosure *e, size_t board, int piece, int face)
{
    const hl_board *own = &e->boards[board];
    double low[3], high[3], from = surface_of(own->low, own->high, face);
    piece_corners(e, board, piece, low, high);
    int axis = axis_of(face), node = board_piece(e, board, piece), n = board_pieces(e, board);
    double whole = plane_area(low, high, axis);
    double open = whole - seated_area(e, board, low, high, face), share = open / whole;
    for (size_t j = 0; j < e->n_boards; j++) {
        const hl_board *other = &e->boards[j];
        double gap = gap_to(from, other->low, other->high, face);
        if (j == board || !(gap > 0)) continue;
        open -= share * plane_overlap(low, high, other->low, other->high, axis);
        if (j > board) board_to_board(e, node, low, high, share, j, gap, face); /* once per pair */
    }
    enclosure_add_layer(e, &(enclosure_layer){node, e->first_inside + face, face, own->low, own->high,
                                              n * fmax(open, 0), enclosure_to_wall(e, from, face),
                                              board_emissivity, e->box->emissivity_inside, 0, 1.0 / n});
}

/* A narrow side of a piece, where it is one of the board's: to the wall beside it. */
static void board_edge(enclosure *e, size_t board, int piece, int face)
{
    const hl_board *own = &e->boards[board];
    double low[3], high[3], from = surface_of(own->low, own->high, face);
    piece_corners(e, board, piece, low, high);
    if (surface_of(low, high, face) != from) return;
    double whole = plane_area(own->low, own->high, axis_of(face));
    double share = plane_area(low, high, axis_of(face)) / whole;
    enclosure_add_layer(e, &(enclosure_layer){board_piece(e, board, piece), e->first_inside + face, face,
                                              own->low, own->high, whole, enclosure_to_wall(e, from, face),
                                              board_emissivity, e->box->emissivity_inside, 0, share});
}

static void board_faces(enclosure *e, size_t board, int piece)
{
    int normal = board_normal(&e->boards[board]);
    for (int f = 0; f < HL_FACES; f++) {
        if (axis_of(f) == normal)
            board_side(e, board, piece, f);
        else
            board_edge(e, board, piece, f);
    }
}

void enclosure_boards(enclosure *e)
{
    for (size_t i = 0; i < e->n_boards; i++) {
        for (int piece = 0; piece < board_pieces(e, i); piece++) board_faces(e, i, piece);
        pieces_join(e, i);
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
static double seat_resistance(const enclosure *e, const hl_body *body, double whole)
{
    const hl_board *board = &e->boards[body->board];
    double resistance = body->board_resistance;
    if (!body_has_place(body)) return resistance;
    int axis = board_normal(board);
    double foot = plane_area(body->low, body->high, axis);
    if (!(resistance > 0)) resistance = usual_contact / foot + block_resistance(body, axis);
    return resistance + board_spreading(e, board, body, whole);
}

/* A part that stands on several pieces shares its way among them and spreads over as many: 1 / sum share^2 of
 * them, from one piece to the whole board when it sits in the middle.  One without a place joins the middle.
 */
static void seat_body(enclosure *e, size_t index)
{
    const hl_body *body = &e->bodies[index];
    if (body->board < 0) return;
    size_t at = (size_t)body->board;
    double share[BOARD_PIECES], squares = 0;
    int n = board_pieces(e, at);
    piece_shares(e, at, body->low, body->high, share);
    for (int p = 0; p < n; p++) squares += share[p] * share[p];
    const hl_board *board = &e->boards[at];
    double whole = plane_area(board->low, board->high, board_normal(board)) / (n * squares);
    double resistance = seat_resistance(e, body, whole);
    if (!(resistance > 0)) return;
    if (!body_has_place(body))
        enclosure_join(e, (int)index, e->first_board + body->board, HL_LAW_FIXED, 0, 1 / resistance, 0, 0);
    for (int p = 0; p < n && body_has_place(body); p++)
        enclosure_join(e, (int)index, board_piece(e, at, p), HL_LAW_FIXED, 0, share[p] / resistance, 0, 0);
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
typedef struct view {
    int node, board; /* node, of a board the first; its index, or -1 */
    double distance, emissivity;
} view;

static view in_front(const enclosure *e, size_t index, int face)
{
    const hl_body *body = &e->bodies[index];
    int axis = axis_of(face);
    double from = surface_of(body->low, body->high, face);
    double half = 0.5 * plane_area(body->low, body->high, axis);
    view seen = {e->first_inside + face, -1, enclosure_to_wall(e, from, face), e->box->emissivity_inside};
    for (size_t j = 0; j < e->n_boards; j++) {
        const hl_board *board = &e->boards[j];
        double gap = gap_to(from, board->low, board->high, face);
        if ((int)j == body->board || !(gap >= 0 && gap < seen.distance)) continue;
        if (plane_overlap(body->low, body->high, board->low, board->high, axis) < half) continue;
        seen = (view){board_piece(e, j, 0), (int)j, gap, board_emissivity};
    }
    for (size_t j = 0; j < e->n_bodies; j++) {
        const hl_body *other = &e->bodies[j];
        double gap = gap_to(from, other->low, other->high, face);
        if (j == index || !body_has_place(other) || !(gap >= 0 && gap < seen.distance)) continue;
        if (plane_overlap(body->low, body->high, other->low, other->high, axis) < half) continue;
        seen = (view){(int)j, -1, gap, emissivity_of(other)};
    }
    seen.distance = fmax(seen.distance, 1e-4);
    return seen;
}

/* The air of the room along a side of a part. */
static void body_to_air(enclosure *e, size_t index, int face, double area)
{
    const hl_body *body = &e->bodies[index];
    int side = (int)enclosure_orientation(e, face), up = axis_of((int)e->box->up);
    double whole = plane_area(body->low, body->high, axis_of(face));
    double length = side == HL_VERTICAL ? body->high[up] - body->low[up] : 0.25 * sqrt(whole);
    enclosure_join(e, (int)index, e->air, HL_LAW_NATURAL, side, area, length, 0);
}

/* m^2 of a rectangle across an axis that the solids from number `next` on, bodies and then boards, leave open
 * to a face: what the first of them does not hide is cut into the strips around it. */
static double left_open(const enclosure *e, const double low[3], const double high[3], int face, size_t next)
{
    int axis = axis_of(face);
    double from = surface_of(low, high, face);
    for (; next < e->n_bodies + e->n_boards; next++) {
        bool is_body = next < e->n_bodies;
        const double *in_low = is_body ? e->bodies[next].low : e->boards[next - e->n_bodies].low;
        const double *in_high = is_body ? e->bodies[next].high : e->boards[next - e->n_bodies].high;
        if (is_body && !body_has_place(&e->bodies[next])) continue;
        if (!(gap_to(from, in_low, in_high, face) >= 0)) continue;
        if (!(plane_overlap(low, high, in_low, in_high, axis) > 0)) continue;
        double open = 0, rest_low[3], rest_high[3];
        memcpy(rest_low, low, sizeof rest_low);
        memcpy(rest_high, high, sizeof rest_high);
        for (int k = 0; k < 3; k++) { /* the strips beside it along one axis, then within its width */
            if (k == axis) continue;
            double first = fmax(low[k], in_low[k]), last = fmin(high[k], in_high[k]);
            rest_high[k] = first;
            if (first > low[k]) open += left_open(e, rest_low, rest_high, face, next + 1);
            rest_low[k] = last;
            rest_high[k] = high[k];
            if (high[k] > last) open += left_open(e, rest_low, rest_high, face, next + 1);
            rest_low[k] = first;
            rest_high[k] = last;
        }
        return open;
    }
    return plane_area(low, high, axis);
}

/* m^2 of a part's side that looks at the wall and touches the air of the room.  The rest stands before parts
 * that are about as warm, with an air between that goes nowhere: it counts for nothing, which is on the safe
 * side for the warmer of them.  A twentieth is left, so that no part loses its last way. */
static double open_area(const enclosure *e, const hl_body *body, int face)
{
    return fmax(left_open(e, body->low, body->high, face, 0),
                0.05 * plane_area(body->low, body->high, axis_of(face)));
}

/* From a side of a part to what it sees; near it there is a layer of air, further away the air of the room.
 */
static void body_side(enclosure *e, size_t index, int face)
{
    const hl_body *body = &e->bodies[index];
    int axis = axis_of(face);
    double share[BOARD_PIECES] = {1}, area = plane_area(body->low, body->high, axis);
    view seen = in_front(e, index, face);
    int n = seen.board < 0 ? 1 : board_pieces(e, (size_t)seen.board);
    if (n > 1) piece_shares(e, (size_t)seen.board, body->low, body->high, share);
    bool near = e->box->potted || seen.distance < wide_gap;
    double grey = 1 / (1 / emissivity_of(body) + 1 / fmax(seen.emissivity, 0.01) - 1);
    enclosure_layer layer = {
        (int)index,          seen.node,       face, body->low, body->high, area, seen.distance,
        emissivity_of(body), seen.emissivity, 0,    1};
    layer.resistance = block_resistance(body, axis) + body->case_resistance;
    if (!near && seen.node == e->first_inside + face) area = open_area(e, body, face);
    if (!near) body_to_air(e, index, face, area);
    for (int p = 0; p < n; p++) {
        layer.b = seen.node + p;
        layer.share = share[p];
        if (near && share[p] > 0) enclosure_add_layer(e, &layer);
        if (!near) enclosure_join(e, (int)index, layer.b, HL_LAW_RADIATION, 0, grey, share[p] * area, 0);
    }
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
