/* straight.h - harmonics of waves that are straight from corner to corner, four waves side by side. */
#ifndef HEATLEDGER_STRAIGHT_H
#define HEATLEDGER_STRAIGHT_H

#include "heatledger/plugin.h"
#include "wave/lanes.h"

enum { STRAIGHT_CORNERS = 4 };

/* Of four waves, each with a period of its own; corners that a wave has not weigh nothing. */
typedef struct straight_waves {
    double angle[STRAIGHT_CORNERS][LANES], step[STRAIGHT_CORNERS][LANES], bend[STRAIGHT_CORNERS][LANES];
    double period[LANES];                /* s */
    double square[LANES], ripple[LANES]; /* mean square; the same about the mean */
    int corners;                         /* of the wave that has most */
} straight_waves;

/* Up to four waves, whatever their periods; NULL: nothing. false: one of them is of another kind, has more
 * than four corners, or slopes too briefly. */
bool straight_take(const hl_wave *const wave[], size_t waves, straight_waves *all);
/* Their harmonics as hl_waves_fourier gives them. */
void straight_harmonics(const straight_waves *all, size_t waves, size_t n, size_t stride, double cosine[],
                        double sine[]);

/* Both. false: as straight_take says, and nothing is written. */
bool straight_fourier(const hl_wave *const wave[], size_t waves, size_t n, size_t stride, double cosine[],
                      double sine[]);

#endif
