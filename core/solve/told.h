/* told.h - which figures of parts and stages a result tells besides powers and temperatures. */
#ifndef HEATLEDGER_TOLD_H
#define HEATLEDGER_TOLD_H

#include <stdbool.h>
#include <stddef.h>

#include "diagnostic/arena.h"
#include "heatledger/design.h"

/* One of them: a mechanism of a part's loss, or a quantity of a stage. */
typedef struct told_row {
    size_t owner, which;
    const char *name; /* of the quantity */
} told_row;

/* Fixed once by one solved point, so that rows mean the same wherever a response that names it is used. */
typedef struct told {
    size_t n,
        mechanisms; /* rows; the first are mechanisms.  0 before that, or where there is no room for all */
    told_row *row;
} told;

size_t told_room(const hl_design *design);
bool told_create(told *made, arena *memory, const hl_design *design);
/* From the point the workspace has solved. */
void told_choose(told *list, const hl_workspace *work);
/* Does the point at hand tell of the same quantities? */
bool told_fits(const told *list, const hl_workspace *work);
void told_pack(const told *list, const hl_workspace *work, double rows[]);
/* Move them to the end that the response foretells: mechanisms now, and by so much less are losses of parts
 * to grow, more[item]; quantities when one is first read, since most points are asked for few figures. */
void told_move(hl_workspace *work, double more[]);
void told_quantities(const hl_workspace *work);

#endif
