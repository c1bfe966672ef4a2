/* field_ports.h - where a condensed field is touched: bodies, outer patches, facing surfaces.
 *
 * Ports are cut along faces of solids, so that every grid of the box has the same ones. */
#ifndef HEATLEDGER_THERMAL_FIELD_PORTS_H
#define HEATLEDGER_THERMAL_FIELD_PORTS_H

#include "thermal/field_grid.h"

enum { CUTS_ALONG_MAX = 6, PAIR_GROUPS_MAX = 59 };

/* A part of an outer face. */
typedef struct port_patch {
    hl_face face;
    double low[3], high[3], area;
} port_patch;

/* Surfaces of two solids that face each other in one part of the box, taken together. */
typedef struct port_group {
    int key; /* of the pairs that belong to it */
    int axis;
    bool apart;               /* all its heat is a departure, none is in the grid */
    double exchange;          /* sum of emissivity x area, m^2 */
    double area, gap, height; /* m^2, mean m, m: the air layer between */
} port_group;

typedef struct field_ports {
    int bodies, n_patches, n_groups;
    int cuts[3]; /* patches along each axis */
    double border[3][CUTS_ALONG_MAX + 1];
    port_patch *patches;
    port_group groups[PAIR_GROUPS_MAX];
    int first_patch[HL_FACES + 1];
} field_ports;

/* All ports of the box of grid g, the pairs weighed as g has them; false: no memory. */
bool ports_build(field_ports *ports, const grid *g);
void ports_release(field_ports *ports);

static inline int ports_count(const field_ports *p)
{
    return p->bodies + p->n_patches + p->n_groups;
}
/* Rows of temperatures: bodies, patches, then sides a and sides b of the groups. */
static inline int ports_rows(const field_ports *p)
{
    return p->bodies + p->n_patches + 2 * p->n_groups;
}

int ports_patch_of(const field_ports *ports, const grid *g, const grid_surface *surface);
/* Index of the pair's group, or -1: too little heat to be looked after. */
int ports_group_of(const field_ports *ports, const grid *g, const grid_pair *pair);

#endif
