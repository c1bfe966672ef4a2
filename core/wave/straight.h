/* straight.h - harmonics of waves that are straight from corner to corner, four waves side by side. */
#ifndef HEATLEDGER_STRAIGHT_H
#define HEATLEDGER_STRAIGHT_H

#include "heatledger/plugin.h"
#include "wave/lanes.h"

enum { STRAIGHT_CORNERS = 4 };

/* Of four waves, each with a period of its own; corners that a wave has not weigh nothing. */
typedef struct straight_waves {
    double angle[STRAIGHT_CORNERS][LANES], step[STRAIGHT_CORNERS][LANES], bend[STRAIGHT_CORNERS][LANES];
    int corners; /* of the wave that has most */
} straight_waves;

/* Harmonics of up to four waves as hl_waves_fourier gives them, whatever their periods; those of NULL are
 * nil. false: one of them is of another kind, or has more than four corners, and nothing is written. */
bool straight_fourier(const hl_wave *const wave[], size_t waves, size_t n, size_t stride, double cosine[],
                      double sine[]);

#endif
