/* shell.c - the six walls of the box: through them, along them, and off their outside. */
#include "thermal/enclosure.h"

#include <math.h>

/* About what still air and radiation take off a wall, W/(m^2 K); only for how far heat runs along it. */
static const double usual_outside = 10.0;

static double area_of(const enclosure *e, int face, double inset)
{
    double area = 1;
    for (int k = 0; k < 3; k++)
        if (k != axis_of(face)) area *= e->box->size[k] - 2 * inset;
    return area;
}

/* Characteristic length: height of a vertical face, area over perimeter of a horizontal one (as the
 * correlations ask). */
static double outside_length(const enclosure *e, int face)
{
    if (enclosure_orientation(e, face) == HL_VERTICAL) return e->box->size[axis_of((int)e->box->up)];
    double perimeter = 0;
    for (int k = 0; k < 3; k++)
        if (k != axis_of(face)) perimeter += 2 * e->box->size[k];
    return area_of(e, face, 0) / perimeter;
}

static void outside(enclosure *e, int face)
{
    const hl_box *box = e->box;
    int node = e->first_face + face;
    double area = area_of(e, face, 0), open = area * (1 - box->covered[face]);
    hl_link air = {node,
                   HL_AMBIENT,
                   HL_LAW_NATURAL,
                   (int)enclosure_orientation(e, face),
                   {open, outside_length(e, face), box->air_speed, sqrt(area)}};
    if (open > 0 && hl_network_add_link(e->network, &air) < 0) e->starved = true;
    enclosure_join(e, node, HL_AMBIENT, HL_LAW_RADIATION, 0, box->emissivity_outside, open, 0);
    enclosure_join(e, node, HL_AMBIENT, HL_LAW_FIXED, 0, box->cover_conductance * (area - open), 0, 0);
}

static void through(enclosure *e, int face)
{
    double area = 0.5 * (area_of(e, face, 0) + area_of(e, face, e->box->wall));
    double conductance = e->box->wall_conductivity * area / e->box->wall;
    enclosure_join(e, e->first_inside + face, e->first_face + face, HL_LAW_FIXED, 0, conductance, 0, 0);
}

/* From a face's mean to its edge, per metre of edge: a plate heated evenly (L/3), but no further than
 * a fin's heat runs, sqrt(k t / h) (Incropera & DeWitt section 3.6). */
static double to_edge(const enclosure *e, double half_width)
{
    double sheet = e->box->wall_conductivity * e->box->wall;
    double reach = sqrt(sheet / usual_outside);
    return sheet * fmin(3 / half_width, 1 / reach);
}

static void along(enclosure *e, int face, int other)
{
    int edge = 3 - axis_of(face) - axis_of(other); /* the axis along the shared edge */
    double one = to_edge(e, 0.5 * e->box->size[axis_of(other)]);
    double two = to_edge(e, 0.5 * e->box->size[axis_of(face)]);
    double conductance = e->box->size[edge] * one * two / (one + two);
    enclosure_join(e, e->first_face + face, e->first_face + other, HL_LAW_FIXED, 0, conductance, 0, 0);
}

/* Inner air (or the bulk of the fill) to a wall. */
static void inside(enclosure *e, int face)
{
    const hl_box *box = e->box;
    double area = area_of(e, face, box->wall);
    int wall = e->first_inside + face, up = axis_of((int)box->up);
    if (box->potted) {
        double depth = 0.5 * box->size[axis_of(face)];
        enclosure_join(e, e->air, wall, HL_LAW_FIXED, 0, box->fill_conductivity * area / depth, 0, 0);
        return;
    }
    /* what faces a board or part nearby has its layer already */
    area = fmax(area - e->faced[face], 0.05 * area);
    /* the inner side of a wall looks the other way */
    int side = (int)enclosure_orientation(e, face ^ 1);
    double length = side == HL_VERTICAL ? box->size[up] - 2 * box->wall : outside_length(e, face);
    enclosure_join(e, wall, e->air, HL_LAW_NATURAL, side, area, length, 0);
}

void enclosure_shell(enclosure *e)
{
    for (int f = 0; f < HL_FACES; f++) {
        outside(e, f);
        through(e, f);
        inside(e, f);
        for (int g = f + 1; g < HL_FACES; g++)
            if (axis_of(f) != axis_of(g)) along(e, f, g);
    }
}
