/* field_lines.h - where the grid's lines lie along each axis. */
#ifndef HEATLEDGER_THERMAL_FIELD_LINES_H
#define HEATLEDGER_THERMAL_FIELD_LINES_H

#include "thermal/field_grid.h"

/* Fills g->n[axis] and g->line[axis]; false: no memory. */
bool lines_build(grid *g, int axis, double fineness);

/* The faces of solids along an axis, rising, in a list the caller frees; returns how many, 0: no memory. */
int lines_corners(const hl_field_box *box, int axis, double **corner);

#endif
