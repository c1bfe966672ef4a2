/* ladder.h - transient thermal impedance as a chain of resistances and capacities.
 * Part of the host interface: include heatledger.h.
 *
 * Foster: stages of R parallel to C in a row; only the sum of their rises means anything.
 * Cauer: capacities to ground with resistances between them; each node is a place, the last resistance
 * ends at the reference (the case, the board).  Units K/W, J/K, s. */
#ifndef HEATLEDGER_LADDER_H
#define HEATLEDGER_LADDER_H

#include <stddef.h>

#include "heatledger/status.h"

#ifdef __cplusplus
extern "C" {
#endif

enum { HL_LADDER_STAGES_MAX = 12 };

typedef struct hl_ladder {
    size_t n;
    double resistance[HL_LADDER_STAGES_MAX]; /* K/W, from the junction on */
    double capacity[HL_LADDER_STAGES_MAX];   /* J/K */
} hl_ladder;

/* Rise per watt of a Foster ladder, K/W: `time` after 1 W is switched on;
 * and at the end of the pulse in an endless train of pulses of 1 W (duty 0..1), at its mean, at its lowest.
 */
HL_EXPORT double hl_foster_step(const hl_ladder *foster, double time);
HL_EXPORT double hl_foster_train(const hl_ladder *foster, double period, double duty);
HL_EXPORT double hl_foster_mean(const hl_ladder *foster, double duty);
HL_EXPORT double hl_foster_valley(const hl_ladder *foster, double period, double duty);

/* One form into the other: the same impedance at the junction.  HL_BAD_INPUT: an element is not above 0, or
 * two stages have the same time constant (lump them first). */
HL_EXPORT hl_status hl_foster_to_cauer(const hl_ladder *foster, hl_ladder *cauer);
HL_EXPORT hl_status hl_cauer_to_foster(const hl_ladder *cauer, hl_ladder *foster);

/* Foster ladder of at most `stages` stages through a curve of impedance over pulse length, both rising.
 * *worst (may be NULL): greatest deviation at the points, relative.  HL_BAD_INPUT: fewer than two points, or
 * not above 0 and rising. */
HL_EXPORT hl_status hl_foster_fit(size_t points, const double time[], const double impedance[], size_t stages,
                                  hl_ladder *foster, double *worst);

#ifdef __cplusplus
}
#endif
#endif
