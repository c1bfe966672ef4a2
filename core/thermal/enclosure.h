/* enclosure.h - what the parts of the rule-of-thumb box builder share. */
#ifndef HEATLEDGER_THERMAL_ENCLOSURE_H
#define HEATLEDGER_THERMAL_ENCLOSURE_H

#include "heatledger/thermal.h"

enum { BOARD_PIECES = 4 };

/* One box while its network is built. */
typedef struct enclosure {
    hl_network *network;
    const hl_box *box;
    const hl_board *boards;
    const hl_body *bodies;
    size_t n_boards, n_bodies;
    int first_board, air, first_face, first_inside; /* node indices */
    int *first_piece;                               /* of each board; -1: the board is one node */
    double faced[HL_FACES];                         /* m^2 of each inner wall that a layer leads to */
    bool starved;                                   /* memory ran out */
} enclosure;

/* Directions: face f looks along axis f / 2, downward when f is even. */
static inline int axis_of(int face)
{
    return face / 2;
}

static inline bool is_high(int face)
{
    return face % 2 == 1;
}

hl_orientation enclosure_orientation(const enclosure *e, int face);
void enclosure_join(enclosure *e, int a, int b, hl_law law, int kind, double p0, double p1, double p2);
/* From the coordinate of a surface to the inner side of the wall it faces; at least 0.1 mm. */
double enclosure_to_wall(const enclosure *e, double coordinate, int face);
/* Area of a box in the plane across an axis, and the part of it two boxes share. */
double plane_area(const double low[3], const double high[3], int axis);
double plane_overlap(const double low[3], const double high[3], const double other_low[3],
                     const double other_high[3], int axis);
/* What lies between two facing surfaces: a layer of air and radiation, or potting. */
typedef struct enclosure_layer {
    int a, b, face;           /* nodes; the way from a to b */
    const double *low, *high; /* the whole side, for its rim and height */
    double area, distance;    /* m^2 of it that counts, m */
    double emissivity_a, emissivity_b;
    double resistance; /* K/W in series, only where it matters: in potting */
    double share;      /* of all that, what goes by these nodes */
} enclosure_layer;
void enclosure_add_layer(enclosure *e, const enclosure_layer *layer);

/* m^2 of the wall by which a warm patch of it, seen across `distance` of what fills the box, sheds its heat;
 * and as far as a lining under it brings that, 0 where there is none. */
double enclosure_lined_patch(const enclosure *e, const double low[3], const double high[3], int face);
double enclosure_patch(const enclosure *e, const double low[3], const double high[3], int face,
                       double distance);
/* K/W between that patch and the wall's mean. */
double enclosure_patch_resistance(const enclosure *e, double patch, int face);

bool body_has_place(const hl_body *body);
/* The axis along which a box is thinnest, the first of several; of a board its normal. */
int thinnest_axis(const double low[3], const double high[3]);
int board_normal(const hl_board *board);

/* Heat paths of the shell, of the boards and of the bodies. */
void enclosure_shell(enclosure *e);
void enclosure_boards(enclosure *e);
void enclosure_bodies(enclosure *e);

/* From a part's footprint to the mean temperature of as much of its board, `whole` m^2, K/W. */
double board_spreading(const enclosure *e, const hl_board *board, const hl_body *body, double whole);
/* Conductivity in its plane times thickness, W/K, with what potting carries beside it. */
double board_sheet(const enclosure *e, const hl_board *board);

/* A board is one node or four quarters around it (quarters.c): how many nodes hold its surface, and which;
 * their corners; how much of a footprint lies on each. */
int board_pieces(const enclosure *e, size_t board);
int board_piece(const enclosure *e, size_t board, int piece);
void piece_corners(const enclosure *e, size_t board, int piece, double low[3], double high[3]);
void piece_shares(const enclosure *e, size_t board, const double low[3], const double high[3],
                  double share[BOARD_PIECES]);
/* Nodes of the quarters; the first of them. */
int pieces_add_nodes(enclosure *e, size_t board, double capacity);
void pieces_join(enclosure *e, size_t board);

/* hl_enclosure_by_rule; first_piece of each board: below 0 keeps it one node, else it gets the first of
 * BOARD_PIECES nodes. */
hl_status enclosure_build(hl_network *network, const hl_box *box, size_t n_boards, const hl_board boards[],
                          size_t n_bodies, const hl_body bodies[], int first_piece[],
                          hl_diagnostics *diagnostics);

/* Are the figures of a box, of a board or of a part in it usable?  What is not is told with the place given.
 */
bool enclosure_box_is_sane(const hl_box *box, const hl_place *at, hl_diagnostics *d);
bool enclosure_board_is_sane(const hl_box *box, const hl_board *board, const hl_place *at, hl_diagnostics *d);
bool enclosure_body_is_sane(const hl_box *box, size_t boards, const hl_body *body, const hl_place *at,
                            hl_diagnostics *d);

#endif
