/* mirror.h - waves whose second half is their first with turned sign, as those of the mains and of a resonant
 * bridge are. */
#ifndef MIRROR_H
#define MIRROR_H

#include "../lanes.h"
#include "heatledger/plugin.h"

/* By what the first four numbers of a piece, from its duration on, and its last four, from its decay on, are
 * mirrored. */
static const double mirror_early_signs[LANES] = {1.0, -1.0, -1.0, 1.0};
static const double mirror_late_signs[LANES] = {1.0, 1.0, -1.0, -1.0};

/* Of n pieces a wave of twice as many: each times `factor`, then all of them mirrored; `to` may be where they
 * are. */
FOUR_LANES static void mirror_unfold(const hl_segment *piece, size_t n, double factor, hl_segment to[])
{
    const lanes straight = {1.0, factor, factor, 1.0}, ringing = {1.0, 1.0, factor, factor};
    const lanes early_signs = lanes_load(mirror_early_signs), late_signs = lanes_load(mirror_late_signs);
    for (size_t k = 0; k < n; k++) {
        lanes early = straight * lanes_load(&piece[k].duration), late = ringing * lanes_load(&piece[k].decay);
        lanes_store(&to[k].duration, early);
        lanes_store(&to[k].decay, late);
        lanes_store(&to[k + n].duration, early_signs * early);
        lanes_store(&to[k + n].decay, late_signs * late);
    }
}

#endif
