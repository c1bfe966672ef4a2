/* field_matrix.h - the grid's conductance matrix and its Cholesky factor. */
#ifndef HEATLEDGER_THERMAL_FIELD_MATRIX_H
#define HEATLEDGER_THERMAL_FIELD_MATRIX_H

#include "thermal/field_grid.h"

typedef struct field_matrix field_matrix;

field_matrix *matrix_create(const grid *g); /* analyses; NULL: no memory */
void matrix_destroy(field_matrix *m);

/* Conduction + pair[] (W/K across the air, one per pair of the grid) + outward[] (W/K from a surface to the
 * surroundings, one per surface) + rate x capacity.  False: some part reaches no surroundings.
 */
bool matrix_factor(field_matrix *m, const double pair[], const double outward[], double rate);

/* vector[] = columns of g->cells each, in place: heat in, rise over the surroundings out. */
void matrix_solve(field_matrix *m, double vector[], size_t columns);

#endif
