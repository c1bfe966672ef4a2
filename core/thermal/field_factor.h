/* field_factor.h - Cholesky's factor of a sparse, symmetric, positive matrix, panel by panel.
 *
 * A panel is a run of columns that have the same rows below them; panels are what CHOLMOD's analysis calls
 * supernodes.  Everything here is in the analysis' order of the unknowns. */
#ifndef HEATLEDGER_THERMAL_FIELD_FACTOR_H
#define HEATLEDGER_THERMAL_FIELD_FACTOR_H

#include <stdbool.h>
#include <stddef.h>

enum { FACTOR_COLUMNS = 16 }; /* right sides solved at once */

/* Where the factor has entries. */
typedef struct factor_shape {
    int n, panels;
    const int *first; /* panels + 1: first column of each */
    const int *begin; /* panels + 1: where its rows begin */
    const int *row;   /* rising, the panel's own columns first */
} factor_shape;

typedef struct field_factor field_factor;

field_factor *factor_create(const factor_shape *shape); /* copies the shape; NULL: no memory */
void factor_destroy(field_factor *factor);

/* Where the entry of a row and a column, row >= column, lies among the values. */
size_t factor_place(const field_factor *factor, int row, int column);
/* All values nothing, for the matrix to be added to. */
double *factor_clear(field_factor *factor);
/* From the matrix to its factor, in place; false: not positive. */
bool factor_run(field_factor *factor);
/* x[n][FACTOR_COLUMNS], aligned to 16 bytes: right sides in, solutions out. */
void factor_solve(const field_factor *factor, double *x);

#endif
