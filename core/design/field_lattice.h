/* field_lattice.h - bodies settled on few common planes, so that the grid of a crowded box stays small. */
#ifndef HEATLEDGER_FIELD_LATTICE_H
#define HEATLEDGER_FIELD_LATTICE_H

#include <stddef.h>

#include "heatledger/design.h"
#include "heatledger/thermal.h"

/* A gap that has no cells of its own: the solids touch, and the film between them carries what the gap would.
 * Solids: the bodies, then boards, then spreaders; LATTICE_WALL the shell. */
enum { LATTICE_WALL = -1 };
typedef struct lattice_film {
    int below, above, axis;
    double gap; /* m */
} lattice_film;

typedef struct lattice_box {
    const hl_box *box;
    double fill_conductivity; /* W/(m K) */
    size_t n_boards, n_spreaders, n_bodies;
    const hl_board *boards;
    const hl_spreader *spreaders;
    hl_body *bodies;               /* the greatest first */
    const hl_place *const *places; /* of what is said of each of them */
    const hl_place *place;         /* of what is said */
    lattice_film *films;           /* out, the caller's to free */
    size_t n_films;
} lattice_box;

/* Move the edges of the bodies onto few planes.  Walls, boards and spreaders stand still.  A body stays on
 * its side of its board, flush with it, and inside the walls; one that would hide another of its size moves
 * aside. Each gap between solids, and each body's thickness, is kept: an edge moves by a small share of them,
 * or by what changes little in what the gap conducts.  A gap narrower than 0.05 mm becomes a film; so do
 * others, the narrowest first, where the planes would be too many, and a warning says so where bodies had to
 * grow by more than a ruler tells.  HL_NO_MEMORY. */
hl_status field_lattice_settle(lattice_box *lattice, hl_diagnostics *diagnostics);

#endif
