/* four_pieces.h - four pieces of a wave side by side, for lanes.h. */
#ifndef HEATLEDGER_FOUR_PIECES_H
#define HEATLEDGER_FOUR_PIECES_H

#include "wave/lanes.h"
#include "wave/segment.h"

typedef struct four_pieces {
    lanes duration, offset, slope, decay, omega, cosine, sine;
} four_pieces;

/* One after the other in memory, from a piece in each row to a figure in each. */
WITHIN_LANES void turn_pieces(const hl_segment *const from[LANES], four_pieces *p)
{
    lanes head[LANES], tail[LANES];
    for (size_t i = 0; i < LANES; i++) {
        head[i] = lanes_load(&from[i]->duration);
        tail[i] = lanes_load(&from[i]->decay);
    }
    lanes_turned(head);
    lanes_turned(tail);
    *p = (four_pieces){head[0], head[1], head[2], tail[0], tail[1], tail[2], tail[3]};
}

/* The first four of n; what is not there, or does not last, is nothing. */
WITHIN_LANES void take_pieces(const hl_segment *segment, size_t n, four_pieces *p)
{
    static const hl_segment nothing = {.duration = 0.0};
    const hl_segment *from[LANES];
    for (size_t i = 0; i < LANES; i++) from[i] = i < n ? &segment[i] : &nothing;
    turn_pieces(from, p);
    lanes_mask lasts = p->duration > 0.0;
    lanes_keep(&lasts, &p->duration);
    lanes_keep(&lasts, &p->offset);
    lanes_keep(&lasts, &p->slope);
    lanes_keep(&lasts, &p->decay);
    lanes_keep(&lasts, &p->omega);
    lanes_keep(&lasts, &p->cosine);
    lanes_keep(&lasts, &p->sine);
}

#endif
