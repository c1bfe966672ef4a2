/* enclosure.h - what the parts of the rule-of-thumb box builder share. */
#ifndef HEATLEDGER_THERMAL_ENCLOSURE_H
#define HEATLEDGER_THERMAL_ENCLOSURE_H

#include "heatledger/thermal.h"

/* One box while its network is built. */
typedef struct enclosure {
    hl_network *network;
    const hl_box *box;
    const hl_board *boards;
    const hl_body *bodies;
    size_t n_boards, n_bodies;
    int first_board, air, first_face, first_inside; /* node indices */
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
/* Between two facing surfaces through what fills the box: layer of air and radiation, or potting.
 * `resistance` in series (K/W) counts only where it matters, in potting. */
void enclosure_layer(enclosure *e, int a, int b, int face, const double low[3], const double high[3],
                     double area, double distance, double emissivity_a, double emissivity_b,
                     double resistance);

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

/* From a part's footprint to the mean temperature of its board, K/W. */
double board_spreading(const enclosure *e, const hl_board *board, const hl_body *body);

/* Are the figures of a box, of a board or of a part in it usable?  What is not is told with the place given.
 */
bool enclosure_box_is_sane(const hl_box *box, const hl_place *at, hl_diagnostics *d);
bool enclosure_board_is_sane(const hl_box *box, const hl_board *board, const hl_place *at, hl_diagnostics *d);
bool enclosure_body_is_sane(const hl_box *box, size_t boards, const hl_body *body, const hl_place *at,
                            hl_diagnostics *d);

#endif
