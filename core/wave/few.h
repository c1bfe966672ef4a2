/* few.h - harmonics of one wave of a few pieces, as the ripple of a bus and the windings of a transformer
 * ask for them. */
#ifndef HEATLEDGER_FEW_H
#define HEATLEDGER_FEW_H

#include "heatledger/plugin.h"

enum { FEW_LINES = 64, FEW_PIECES = 16 };

/* As hl_wave_fourier gives them, of 1 to FEW_LINES harmonics; *mean: that of the wave, NULL: not asked for.
 * false: the wave is of another kind, or a harmonic comes near to a ringing; what is written then says
 * nothing. */
bool few_fourier(const hl_wave *wave, size_t n, double cosine[], double sine[], double *mean);

#endif
