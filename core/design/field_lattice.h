/* field_lattice.h - bodies settled on a common lattice, so that the grid of a crowded box stays small. */
#ifndef HEATLEDGER_FIELD_LATTICE_H
#define HEATLEDGER_FIELD_LATTICE_H

#include <stddef.h>

#include "heatledger/thermal.h"

/* Move the edges of bodies[n], the greatest first, onto few planes: along a board to multiples of a 24th
 * of the box, away from it to a ladder of heights that keeps thin bodies thin.  A body keeps to its side of
 * its board and inside the walls; one that would lie on another of its size moves aside by a few steps. */
void field_lattice_settle(const hl_box *box, const hl_board boards[], hl_body bodies[], size_t n);

#endif
