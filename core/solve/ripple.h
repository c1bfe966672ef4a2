/* ripple.h - lines of a ripple spectrum. */
#ifndef HEATLEDGER_RIPPLE_H
#define HEATLEDGER_RIPPLE_H

#include "heatledger/plugin.h"

enum {
    RIPPLE_CYCLES_MAX = 64,
    RIPPLE_HARMONICS = 12, /* per cycle; what lies above is told as the tail, so the rms is exact */
    RIPPLE_TAIL = 8,
    RIPPLE_WAVE_LINES = RIPPLE_HARMONICS + RIPPLE_TAIL, /* of one cycle */
    RIPPLE_LINES_MAX = (RIPPLE_CYCLES_MAX + 1) * RIPPLE_WAVE_LINES,
};

/* What is left of the mean square above the last harmonic, spread over places above it. Booked at one of them
 * it would all meet the resonance of a capacitor with its neighbour's inductance, or none of it.
 *
 * A step's harmonics fall as 1/k, their squares as 1/k^2: of what lies above order 12 1/2 the share
 * 12 1/2 (1/a - 1/b) is between a and b. Seven bands of equal ratio reach to order 60, beyond it is the
 * eighth. What rises and falls in slopes has next to nothing up there.
 * source: Fourier series of a step; of sums over many harmonics, tests/solve/check_ripple.c */
void ripple_tail(double rest, double rms_squared[RIPPLE_WAVE_LINES]);

/* Mean squares of the harmonics 1 .. RIPPLE_HARMONICS of so many waves and of their tails, wave after wave,
 * from their amplitudes and `rest`, the mean square of each about its mean. */
void ripple_of(size_t waves, const double cosine[], const double sine[], const double rest[],
               double square[]);

/* Append the lines of one side's ripple, RIPPLE_WAVE_LINES of each wave; returns the number appended (at most
 * RIPPLE_LINES_MAX). */
size_t ripple_lines(const hl_side *side, double frequency[], double rms_squared[]);
/* The same without its slow line current. */
size_t ripple_of_cycles(const hl_side *side, double frequency[], double rms_squared[]);

#endif
