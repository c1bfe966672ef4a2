/* straight_ripple.h - lines of the ripple of waves that are straight from corner to corner. */
#ifndef HEATLEDGER_STRAIGHT_RIPPLE_H
#define HEATLEDGER_STRAIGHT_RIPPLE_H

#include "solve/ripple.h"
#include "wave/lanes.h"

/* Period of each, s, and mean squares of its harmonics, the rest in the tail, as ripple_lines has them before
 * weights.
 * false: one of them is of another kind, and nothing is told. */
bool straight_ripple(const hl_wave wave[LANES], double period[LANES], double square[]);
/* The same of one wave of up to 72 pieces, which may hold a ringing besides that does not decay, repeats with
 * the period and runs on from piece to piece. */
bool chord_ripple(const hl_wave *wave, double square[RIPPLE_WAVE_LINES]);

#endif
