/* dead_ring.h - what a switch's node has lost that rings out after the current has come to rest.
 *
 * The node starts at `from`, without a current, and rings about `rest` through an inductance that joins it to
 * a stiff source there. Once it stands, the capacitance C(u) has given E(from) - E(rest) and the source taken
 * rest (Q(from) - Q(rest)); what is left has gone into whatever damps the ring, however it does:
 *
 *   W = int_rest^from (u - rest) C du
 *
 * Where that is more than int_0^rest (rest - u) C du the ring comes to zero volts with a current, which the
 * switch's body path gives back to the source: then it is the second, the first half wave taken as lossless
 * and the body path as without a drop. source: energy balance; C/2 (from - rest)^2 and C/2 rest^2 of a
 * constant C, as in node_ring.h. docs/theory/flyback.md */
#ifndef DEAD_RING_H
#define DEAD_RING_H

#include <math.h>

#include "slot_terminal.h"

/* J that the ring has above rest from `from` down, and from nothing up. */
typedef struct dead_ring {
    double above, below;
} dead_ring;

/* Of the switches in a slot, `high` at `from`, and `others`, F that do not change with the voltage. */
static inline dead_ring dead_ring_of(const hl_slot_view *slot, const hl_terminal *high, double others,
                                     double from, double rest)
{
    hl_terminal low = slot_terminal(slot, rest);
    double swing = from - rest, given = high->output_energy - low.output_energy,
           taken = rest * (high->output_charge - low.output_charge);
    return (dead_ring){given - taken + 0.5 * others * swing * swing,
                       rest * low.output_charge - low.output_energy + 0.5 * others * rest * rest};
}

/* J lost by what stands at the node from there down and from nothing up. */
static inline double dead_ring_least(double above, double below)
{
    double lost = above < below ? above : below;
    return lost > 0.0 && isfinite(lost) ? lost : 0.0;
}

static inline double dead_ring_loss(const hl_slot_view *slot, double others, double from, double rest)
{
    hl_terminal high = slot_terminal(slot, from);
    dead_ring r = dead_ring_of(slot, &high, others, from, rest);
    return dead_ring_least(r.above, r.below);
}

#endif
