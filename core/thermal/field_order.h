/* field_order.h - in which order a grid's cells are eliminated, so that its factor stays small. */
#ifndef HEATLEDGER_THERMAL_FIELD_ORDER_H
#define HEATLEDGER_THERMAL_FIELD_ORDER_H

#include "thermal/field_grid.h"

/* cell[g->cells]: nested dissection by planes of the grid; pairs that are not `apart` count as neighbours.
 * From the grid alone: the same in every thread.  false: no memory. */
bool order_cells(const grid *g, int cell[]);

#endif
