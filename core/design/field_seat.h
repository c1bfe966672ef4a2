/* field_seat.h - a body as stated, seated on its board, inside the walls and beside its like. */
#ifndef HEATLEDGER_FIELD_SEAT_H
#define HEATLEDGER_FIELD_SEAT_H

#include "design/field_lattice.h"

/* Seat body `index`, those before it seated already; `step`: how far it moves at once where another of its
 * size stands.  What changes a gap is a warning. */
void field_seat(const lattice_box *lattice, size_t index, double step, hl_diagnostics *diagnostics);

#endif
