/* field_box.c - is the description of a box one of a box? */
#include "thermal/field_box.h"

#include "thermal/field_grid.h"

#include <math.h>

enum { BODIES_MAX = 64, ZONES_MAX = 256, FILMS_MAX = 4096 };

static const double largest = 10, smallest = 1e-7; /* m */

typedef struct checking {
    hl_diagnostics *diagnostics;
    const char *kind, *name;
    bool sound;
} checking;

static void within(checking *c, const char *what, double value, double low, double high)
{
    if (value >= low && value <= high) return;
    c->sound = false;
    hl_diagnostics_add(c->diagnostics, HL_ERROR, NULL, "field: %s %s: %s is %g, outside %g to %g", c->kind,
                       c->name ? c->name : "(no name)", what, value, low, high);
}

static void check_corners(checking *c, const hl_field_box *box, const double low[3], const double high[3])
{
    static const char *const axes[] = {"x", "y", "z"};
    for (int axis = 0; axis < 3; axis++) {
        within(c, axes[axis], low[axis], -1e-9, box->size[axis]);
        within(c, axes[axis], high[axis], low[axis] + smallest, box->size[axis] + 1e-9);
    }
}

static void check_board(checking *c, const hl_field_box *box, const hl_field_board *board)
{
    check_corners(c, box, board->low, board->high);
    within(c, "normal", board->normal, 0, 2);
    within(c, "conductivity in plane", board->conductivity_in, 1e-6, 1e5);
    within(c, "conductivity through", board->conductivity_through, 1e-6, 1e5);
    within(c, "density x heat capacity", board->density_heat, 0, 1e9);
    within(c, "emissivity", board->emissivity, 0, 1);
    within(c, "heat", board->heat, -1e6, 1e6);
    within(c, "number of zones", (double)board->n_zones, 0, ZONES_MAX);
    for (size_t z = 0; c->sound && z < board->n_zones; z++) {
        const hl_field_zone *zone = &board->zones[z];
        for (int axis = 0; axis < 3; axis++) {
            within(c, "zone corner", zone->low[axis], -largest, largest);
            within(c, "zone corner", zone->high[axis], zone->low[axis], largest);
        }
        within(c, "zone conductivity in plane", zone->conductivity_in, 0, 1e5);
        within(c, "zone conductivity through", zone->conductivity_through, 0, 1e5);
    }
}

static void check_block(checking *c, const hl_field_box *box, const hl_field_block *block)
{
    const double *k = block->conductivity;
    check_corners(c, box, block->low, block->high);
    bool none = k[0] == 0 && k[1] == 0 && k[2] == 0;
    for (int axis = 0; axis < 3 && !none; axis++) within(c, "conductivity", k[axis], 1e-6, 1e5);
    within(c, "density x heat capacity", block->density_heat, 0, 1e9);
    within(c, "emissivity", block->emissivity, 0, 1);
    within(c, "heat", block->heat, -1e6, 1e6);
    within(c, "contact resistance", block->contact, 0, 1e3);
    within(c, "board it sits on", block->on, HL_FIELD_ANY, (double)box->n_boards - 1);
}

static void check_film(checking *c, const hl_field_box *box, const hl_field_film *film)
{
    double last = (double)field_bodies(box) - 1;
    within(c, "number of the solid below", film->below, HL_FIELD_SHELL, last);
    within(c, "number of the solid above", film->above, HL_FIELD_SHELL, last);
    within(c, "axis", film->axis, 0, 2);
    within(c, "thickness", film->thickness, 0, largest);
}

static void check_side(checking *c, const hl_field_side *side)
{
    within(c, "emissivity", side->emissivity, 0, 1);
    within(c, "law", side->law, HL_FIELD_NATURAL, HL_FIELD_ADIABATIC);
    within(c, "covered share", side->covered, 0, 1);
    within(c, "cover coefficient", side->cover, 0, 1e6);
    if (side->law == HL_FIELD_FIXED) within(c, "coefficient", side->coefficient, 0, 1e6);
    if (side->law != HL_FIELD_NATURAL) return;
    within(c, "orientation", side->orientation, HL_VERTICAL, HL_FACING_DOWN);
    within(c, "length", side->length, 1e-5, 100);
    within(c, "air speed", side->air_speed, 0, 100);
    within(c, "length along the flow", side->along, 0, 100);
}

static void check_box(checking *c, const hl_field_box *box)
{
    double thinnest = fmin(box->size[0], fmin(box->size[1], box->size[2]));
    for (int axis = 0; axis < 3; axis++) within(c, "size", box->size[axis], 10 * smallest, largest);
    within(c, "shell thickness", box->shell, 0, 0.499 * thinnest);
    if (box->shell > 0) within(c, "shell conductivity", box->shell_conductivity, 1e-6, 1e5);
    within(c, "shell emissivity", box->shell_emissivity, 0, 1);
    within(c, "shell density x heat capacity", box->shell_density_heat, 0, 1e9);
    within(c, "fill conductivity", box->fill_conductivity, 1e-6, 1e5);
    within(c, "fill density x heat capacity", box->fill_density_heat, 0, 1e9);
    within(c, "temperature of the surroundings", box->surroundings.temperature, 1, 2000);
    within(c, "pressure of the surroundings", box->surroundings.pressure, 0, 1e8);
    within(c, "fineness", box->fineness, 0, 8);
    within(c, "number of bodies", (double)(box->n_boards + box->n_blocks + box->n_spreaders), 1, BODIES_MAX);
    within(c, "number of films", (double)box->n_films, 0, FILMS_MAX);
}

bool field_box_is_sound(const hl_field_box *box, hl_diagnostics *diagnostics)
{
    static const char *const face_name[] = {"x-", "x+", "y-", "y+", "z-", "z+"};
    checking c = {diagnostics, "box", "itself", true};
    check_box(&c, box);
    if (!c.sound) return false;
    for (int face = 0; face < HL_FACES; face++) {
        c.kind = "face";
        c.name = face_name[face];
        check_side(&c, &box->sides[face]);
    }
    for (int body = 0; body < field_bodies(box); body++) {
        const hl_field_block *block = field_block(box, body);
        const hl_field_board *board = field_board(box, body);
        if (block) {
            c.kind = "block";
            c.name = block->name;
            check_block(&c, box, block);
        } else if (board) {
            c.kind = "board";
            c.name = board->name;
            check_board(&c, box, board);
        }
    }
    c.kind = "film";
    c.name = "between solids";
    for (size_t i = 0; i < box->n_films; i++) check_film(&c, box, &box->films[i]);
    return c.sound;
}
