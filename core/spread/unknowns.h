/* unknowns.h - the things about a design that are not known, from the bands of its settings. */
#ifndef HEATLEDGER_UNKNOWNS_H
#define HEATLEDGER_UNKNOWNS_H

#include "diagnostic/arena.h"
#include "heatledger/spread.h"

typedef struct unknowns {
    hl_unknown *list;
    size_t n;
    hl_band *bands; /* of every setting */
} unknowns;

/* Settings whose band has a width, those of one group as one.  A setting that options->known names, or whose
 * base differs from the design's own value, was set by the user and is known.  false: no memory. */
bool unknowns_find(arena *memory, const hl_design *design, const double base[],
                   const hl_spread_options *options, unknowns *found);

/* settings[] of the point at which unknown k stands at quantile p[k]. */
void unknowns_apply(const unknowns *found, const double base[], size_t n_settings, const double p[],
                    double settings[]);

#endif
