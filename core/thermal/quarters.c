/* quarters.c - a board as four pieces, so that one end may be warmer than the other.
 *
 * The board's own node is where the four meet, the mean of their temperatures: only a body without a place is
 * joined to it besides.  Heat along a plate, per area and kelvin of a pattern that has one slope along an
 * axis, is that of the slowest cosine, k t (pi / length)^2 (separation of variables, edges insulated: Carslaw
 * & Jaeger 1959, section 3.3).  With quarters of area A / 4 joined to the middle by G and to the neighbour
 * across the shorter side by g, a pattern along the longer side L gives 4 G / A and one along the shorter
 * side W 4 (G + 2 g) / A, so that
 *
 *     G = pi^2 k t W / (4 L),   g = pi^2 k t (L / W - W / L) / 8.
 *
 * Halves that are heated evenly would ask for 12 in place of pi^2, nodes in their middles for 8: ends differ
 * by a fifth too much at most, never by too little.  A part's own surroundings are told by its spreading
 * (inside.c), which knows the loss of the board; so a board may be longer than its fin length.
 */
#include "thermal/enclosure.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double pi = 3.14159265358979;

/* The two axes in the plane of a board, the first in order. */
static void plane_axes(const hl_board *board, int axis[2])
{
    int normal = board_normal(board);
    axis[0] = normal == 0 ? 1 : 0;
    axis[1] = 3 - normal - axis[0];
}

static bool is_cut(const enclosure *e, size_t board)
{
    return e->first_piece[board] >= 0;
}

int board_pieces(const enclosure *e, size_t board)
{
    return is_cut(e, board) ? BOARD_PIECES : 1;
}

int board_piece(const enclosure *e, size_t board, int piece)
{
    return is_cut(e, board) ? e->first_piece[board] + piece : e->first_board + (int)board;
}

void piece_corners(const enclosure *e, size_t board, int piece, double low[3], double high[3])
{
    const hl_board *own = &e->boards[board];
    int axis[2];
    memcpy(low, own->low, 3 * sizeof *low);
    memcpy(high, own->high, 3 * sizeof *high);
    plane_axes(own, axis);
    for (int d = 0; d < 2 && is_cut(e, board); d++) {
        double middle = 0.5 * (own->low[axis[d]] + own->high[axis[d]]);
        *(piece >> d & 1 ? &low[axis[d]] : &high[axis[d]]) = middle;
    }
}

void piece_shares(const enclosure *e, size_t board, const double low[3], const double high[3],
                  double share[BOARD_PIECES])
{
    const hl_board *own = &e->boards[board];
    int axis[2];
    share[0] = 1;
    if (!is_cut(e, board)) return;
    plane_axes(own, axis);
    for (int piece = 0; piece < BOARD_PIECES; piece++) share[piece] = 1;
    for (int d = 0; d < 2; d++) {
        double length = high[axis[d]] - low[axis[d]];
        double below = 0.5 * (own->low[axis[d]] + own->high[axis[d]]) - low[axis[d]];
        double first = length > 0 ? below / length : 0.5;
        first = first > 1 ? 1 : first > 0 ? first : 0;
        for (int piece = 0; piece < BOARD_PIECES; piece++) share[piece] *= piece >> d & 1 ? 1 - first : first;
    }
}

int pieces_add_nodes(enclosure *e, size_t board, double capacity)
{
    const hl_board *own = &e->boards[board];
    size_t room = strlen(own->name) + 8;
    char *name = malloc(room);
    int axis[2], first = -1;
    plane_axes(own, axis);
    for (int piece = 0; name && piece < BOARD_PIECES; piece++) {
        snprintf(name, room, "%s %s %s", own->name, hl_face_name((hl_face)(2 * axis[0] + (piece & 1))),
                 hl_face_name((hl_face)(2 * axis[1] + (piece >> 1))));
        int node = hl_network_add_node(e->network, name, capacity / BOARD_PIECES);
        if (node < 0) e->starved = true;
        if (piece == 0) first = node;
    }
    if (!name) e->starved = true;
    free(name);
    return first;
}

static double length_of(const hl_board *board, int axis)
{
    return board->high[axis] - board->low[axis];
}

void pieces_join(enclosure *e, size_t board)
{
    const hl_board *own = &e->boards[board];
    int axis[2], middle = e->first_board + (int)board;
    if (!is_cut(e, board)) return;
    plane_axes(own, axis);
    int longer = length_of(own, axis[1]) > length_of(own, axis[0]);
    double ratio = length_of(own, axis[!longer]) / length_of(own, axis[longer]); /* W / L */
    double sheet = pi * pi * board_sheet(e, own);
    for (int piece = 0; piece < BOARD_PIECES; piece++) {
        int beside = piece ^ (longer ? 1 : 2);
        enclosure_join(e, board_piece(e, board, piece), middle, HL_LAW_FIXED, 0, sheet * ratio / 4, 0, 0);
        if (beside > piece)
            enclosure_join(e, board_piece(e, board, piece), board_piece(e, board, beside), HL_LAW_FIXED, 0,
                           sheet * (1 / ratio - ratio) / 8, 0, 0);
    }
}
