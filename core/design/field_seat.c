/* field_seat.c - what a ruler says of a part's place contradicts the board and the walls by tenths of a
 * millimetre; the part stands on the one and within the others all the same. */
#include "design/field_seat.h"

#include <math.h>
#include <stdbool.h>

static const double told = 0.05e-3;    /* m: what moves by less goes without saying */
static const double far_off = 1e-3;    /* m: from a board; nearer is leads and feet */
static const double least_left = 0.5;  /* of a body's height */
static const double pad_room = 0.2e-3; /* m that a pad has at least, taken from its body */
static const double hidden = 0.5;      /* of a body: more is not left to another of its size */
static const int farthest_shift = 3;   /* steps */

static int thin_axis(const hl_board *board)
{
    int thin = 0;
    for (int k = 1; k < 3; k++)
        if (board->high[k] - board->low[k] < board->high[thin] - board->low[thin]) thin = k;
    return thin;
}

/* The near side flush with the board's face; the far side stays where it is, since a gap may be beside it.  A
 * body that stands away by more than half its height is left there, on what it touches; one that is inside
 * the board, as those without a place are, comes out whole. */
static void seat_on_board(const hl_board *board, hl_body *body, const hl_place *place,
                          hl_diagnostics *diagnostics)
{
    int axis = thin_axis(board);
    double middle = 0.5 * (body->low[axis] + body->high[axis]), height = body->high[axis] - body->low[axis];
    double board_middle = 0.5 * (board->low[axis] + board->high[axis]);
    bool above = middle > board_middle;
    double face = above ? board->high[axis] : board->low[axis];
    double off = above ? body->low[axis] - face : face - body->high[axis];
    bool left = off > fmax(least_left * height, far_off);
    if (fabs(off) > far_off && fabs(middle - board_middle) > told)
        hl_diagnostics_add(
            diagnostics, HL_WARNING, place,
            "'%s' is %.3g mm %s board '%s' that it is on; the heat field %s: move it, or give it "
            "no board",
            body->name, 1e3 * fabs(off), off > 0 ? "away from" : "inside", board->name,
            left ? "leaves it there, and no heat goes through its leads"
                 : "takes it as standing on the board");
    if (left) {
        body->board = -1;
        return;
    }
    *(above ? &body->low[axis] : &body->high[axis]) = face;
    if (fabs(off) > least_left * height)
        *(above ? &body->high[axis] : &body->low[axis]) = above ? face + height : face - height;
}

/* A body is cut at the wall it reaches into; one that would lose half of itself moves inside. */
static void hold_inside(const hl_box *box, hl_body *body, const hl_place *place, hl_diagnostics *diagnostics)
{
    for (int face = 0; face < HL_FACES; face++) {
        int axis = face / 2;
        double wall = face % 2 ? box->size[axis] - box->wall : box->wall;
        double *near_side = face % 2 ? &body->high[axis] : &body->low[axis];
        double *far_side = face % 2 ? &body->low[axis] : &body->high[axis];
        double into = face % 2 ? *near_side - wall : wall - *near_side;
        double length = body->high[axis] - body->low[axis];
        if (!(into > 0)) continue;
        if (into > told)
            hl_diagnostics_add(
                diagnostics, HL_WARNING, place,
                "'%s' reaches %.3g mm into the wall at %s; the heat field %s, so that it touches "
                "the wall: move it or check its size",
                body->name, 1e3 * into, hl_face_name((hl_face)face),
                into > least_left * length ? "moves it inside" : "cuts it there");
        *near_side = wall;
        if (!(into > least_left * length)) continue;
        double room = box->size[axis] - 2 * box->wall;
        *far_side = face % 2 ? wall - fmin(length, room) : wall + fmin(length, room);
    }
}

/* A part pressed against its face over an insulating foil: the foil takes its room from the part.  So does
 * what the part states to its surface, which lies in the same room. */
static void make_pad_room(const lattice_box *l, hl_body *body)
{
    if (body->pad_face >= HL_FACES || !(body->pad_resistance + body->case_resistance > 0)) return;
    int axis = (int)body->pad_face / 2;
    bool high = body->pad_face % 2 != 0;
    double end = high ? l->box->size[axis] - l->box->wall : l->box->wall;
    for (size_t i = 0; i < l->n_spreaders; i++) {
        const hl_spreader *s = &l->spreaders[i];
        bool over = true;
        for (int k = 0; k < 3; k++)
            if (k != axis && !(s->low[k] < body->high[k] && body->low[k] < s->high[k])) over = false;
        if (!over) continue;
        if (high && s->high[axis] > body->high[axis]) end = fmin(end, s->low[axis]);
        if (!high && s->low[axis] < body->low[axis]) end = fmax(end, s->high[axis]);
    }
    double room = fmin(pad_room, 0.1 * (body->high[axis] - body->low[axis]));
    if (high && body->high[axis] > end - room && body->high[axis] < end + pad_room)
        body->high[axis] = end - room;
    if (!high && body->low[axis] < end + room && body->low[axis] > end - pad_room)
        body->low[axis] = end + room;
}

/* ----------------------------------------------------------------- aside -- */

static double volume(const hl_body *body)
{
    double v = 1;
    for (int k = 0; k < 3; k++) v *= body->high[k] - body->low[k];
    return v;
}

static double shared_volume(const hl_body *a, const hl_body *b)
{
    double v = 1;
    for (int k = 0; k < 3; k++) v *= fmax(0, fmin(a->high[k], b->high[k]) - fmax(a->low[k], b->low[k]));
    return v;
}

/* A smaller body may lie in a greater one, which gives way to it; one of its own size would be hidden. */
static bool is_free(const lattice_box *l, size_t index, const hl_body *moved)
{
    for (size_t i = 0; i < index; i++)
        if (volume(&l->bodies[i]) < 4 * volume(moved) &&
            shared_volume(&l->bodies[i], moved) > hidden * volume(moved))
            return false;
    return true;
}

static bool is_inside(const hl_box *box, const hl_body *body, int across)
{
    for (int k = 0; k < 3; k++)
        if (k != across &&
            !(body->low[k] > box->wall - 1e-9 && body->high[k] < box->size[k] - box->wall + 1e-9))
            return false;
    return true;
}

static void move_aside(const lattice_box *l, size_t index, int across, double step)
{
    if (is_free(l, index, &l->bodies[index])) return;
    int first = across == 0 ? 1 : 0, second = 3 - across - first;
    for (int reach = 1; reach <= farthest_shift; reach++)
        for (int a = -reach; a <= reach; a++)
            for (int b = -reach; b <= reach; b++) {
                if (a != -reach && a != reach && b != -reach && b != reach) continue;
                hl_body moved = l->bodies[index];
                moved.low[first] += a * step;
                moved.high[first] += a * step;
                moved.low[second] += b * step;
                moved.high[second] += b * step;
                if (!is_inside(l->box, &moved, across) || !is_free(l, index, &moved)) continue;
                l->bodies[index] = moved;
                return;
            }
}

void field_seat(const lattice_box *l, size_t index, double step, hl_diagnostics *diagnostics)
{
    hl_body *body = &l->bodies[index];
    const hl_board *board = body->board >= 0 ? &l->boards[body->board] : NULL;
    if (board) seat_on_board(board, body, l->places[index], diagnostics);
    hold_inside(l->box, body, l->places[index], diagnostics);
    make_pad_room(l, body);
    move_aside(l, index, board ? thin_axis(board) : 2, step);
}
