/* slow.h - harmonics of a wave of up to four pieces, each short against what rings in it. */
#ifndef HEATLEDGER_SLOW_H
#define HEATLEDGER_SLOW_H

#include "heatledger/plugin.h"

/* As hl_wave_fourier gives them; *ripple: the mean square about the mean, NULL: not asked for.
 * false: the wave is of another kind, and nothing is written. */
bool slow_fourier(const hl_wave *wave, size_t n, double cosine[], double sine[], double *ripple);

#endif
