/* four_pieces.h - four pieces of a wave side by side, for lanes.h. */
#ifndef HEATLEDGER_FOUR_PIECES_H
#define HEATLEDGER_FOUR_PIECES_H

#include "wave/lanes.h"
#include "wave/segment.h"

typedef struct four_pieces {
    lanes duration, offset, slope, decay, omega, cosine, sine;
} four_pieces;

/* The first four of n; what is not there, or does not last, is nothing. */
WITHIN_LANES void take_pieces(const hl_segment *segment, size_t n, four_pieces *p)
{
    static const hl_segment nothing = {.duration = 0.0};
    lanes head[LANES], tail[LANES];
    for (size_t i = 0; i < LANES; i++) {
        const hl_segment *s = i < n && segment_lasts(&segment[i]) ? &segment[i] : &nothing;
        head[i] = lanes_load(&s->duration);
        tail[i] = lanes_load(&s->decay);
    }
    lanes_turned(head);
    lanes_turned(tail);
    *p = (four_pieces){head[0], head[1], head[2], tail[0], tail[1], tail[2], tail[3]};
}

#endif
