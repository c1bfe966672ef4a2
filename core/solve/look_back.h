/* look_back.h - how well polynomials through the last points of a line would have foretold the newest. */
#ifndef HEATLEDGER_LOOK_BACK_H
#define HEATLEDGER_LOOK_BACK_H

#include <stddef.h>

/* Points that lead on to the next, at most; and those looked back at, the newest among them. */
enum { LEADING_MOST = 5, LOOKED_BACK_MOST = LEADING_MOST + 1, CORNERS_SEEN = LEADING_MOST - 2 };

typedef struct look_back {
    size_t points;
    double miss[LEADING_MOST]; /* of the newest, by the 1, 2 .. points before it */
    size_t best;               /* of miss, the least */
    double bend;               /* second difference of the oldest three points */
    double turn[CORNERS_SEEN]; /* third differences of four points in a row, those with the newest first */
} look_back;

/* Over vectors of n unknowns, value[0] of the newest point: each the greatest of all unknowns, of which
 * 1 / scale counts as one.  beside: what each of them is taken less, or NULL.  points: 2 .. LOOKED_BACK_MOST.
 * Reads whole LANES. */
void look_back_over(look_back *made, const double *const value[], const double *const beside[], size_t points,
                    const double scale[], size_t n);

/* How many of the points lead on best, 1 .. LEADING_MOST. */
size_t look_back_reach(const look_back *back);

#endif
