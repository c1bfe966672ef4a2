/* elimination.h - Gauss's elimination of a small matrix whose pattern never changes: order, fill and every
 * single subtraction are settled once, so that later only numbers are worked through. */
#ifndef HEATLEDGER_THERMAL_ELIMINATION_H
#define HEATLEDGER_THERMAL_ELIMINATION_H

#include <stdbool.h>

typedef struct elimination elimination;

/* Of a matrix of compressed columns whose pattern is symmetric and holds the diagonal.  NULL: too large for
 * this way, where *fits becomes false, or else no memory: the two must lead to different ends, since another
 * way gives other last digits. */
elimination *elimination_create(int n, const int column[], const int row[], bool *fits);
void elimination_destroy(elimination *e);

/* On the diagonal, without exchange.  True: all pivots are positive. */
bool elimination_factor(elimination *e, const double value[]);
/* Were all pivots of the last factorisation finite and none of them zero? */
bool elimination_is_regular(const elimination *e);
void elimination_solve(elimination *e, double vector[]); /* in place */
/* Two at once, for less than twice the work. */
void elimination_solve_two(elimination *e, double vector[], double other[]);

#endif
