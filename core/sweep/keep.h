/* keep.h - which rows stay: all, the best, those that no other beats, or the first failures.
 * What is kept of a set of rows does not depend on the order they come in, so stores can be joined. */
#ifndef HEATLEDGER_SWEEP_KEEP_H
#define HEATLEDGER_SWEEP_KEEP_H

#include "sweep/plan.h"

typedef struct kept_row {
    size_t point;
    double aim[HL_AIMS_MAX]; /* turned so that low is good */
} kept_row;

typedef struct keeper {
    hl_keep keep;
    size_t most, n_aims;
    aim aims[HL_AIMS_MAX];
    kept_row *rows; /* a heap with the worst on top for HL_KEEP_BEST; any order otherwise */
    size_t n, room;
    size_t *dropped; /* points that the last row drove out */
    size_t n_dropped, room_dropped;
} keeper;

keeper *keeper_create(hl_keep keep, size_t most, size_t n_aims, const aim aims[]);
void keeper_destroy(keeper *k);
/* Does the row stay?  `good`: solved, and no limit broken.  Points in k->dropped leave.
 * HL_NO_MEMORY: nothing has changed. */
hl_status keeper_offer(keeper *k, size_t point, bool good, const double figures[], bool *stays);

#endif
