/* ripple.c - what a stage's current waves mean to the capacitors of a bus. */
#include "solve/ripple.h"

/* Lines of one wave: harmonics 1 .. RIPPLE_HARMONICS by Fourier's theorem, each
 * rms^2 = (a^2 + b^2)/2; by Parseval's theorem the rest of the mean square is
 * known too and is booked at the last line. */
static void wave_lines(const hl_wave *wave, double weight, double fundamental, double frequency[],
                       double rms_squared[])
{
    double cosine[RIPPLE_HARMONICS], sine[RIPPLE_HARMONICS];
    double average = hl_wave_average(wave), rms = hl_wave_rms(wave);
    hl_wave_fourier(wave, RIPPLE_HARMONICS, cosine, sine);
    double rest = rms * rms - average * average;
    for (size_t k = 0; k < RIPPLE_HARMONICS; k++) {
        double square = 0.5 * (cosine[k] * cosine[k] + sine[k] * sine[k]);
        frequency[k] = (double)(k + 1) * fundamental;
        rms_squared[k] = weight * square;
        rest -= square;
    }
    if (rest > 0) rms_squared[RIPPLE_HARMONICS - 1] += weight * rest;
}

size_t ripple_lines(const hl_side *side, double frequency[], double rms_squared[])
{
    size_t n = 0;
    if (side->line.n) {
        double period = hl_wave_period(&side->line);
        if (period > 0) {
            wave_lines(&side->line, 1.0, 1.0 / period, frequency, rms_squared);
            n += RIPPLE_HARMONICS;
        }
    }
    if (!side->wave) return n;
    size_t cycles = side->cycles < RIPPLE_CYCLES_MAX ? side->cycles : RIPPLE_CYCLES_MAX;
    for (size_t k = 0; k < cycles; k++) {
        double period = hl_wave_period(&side->wave[k]);
        if (!(period > 0)) continue;
        wave_lines(&side->wave[k], side->weight ? side->weight[k] : 1.0 / (double)cycles, 1.0 / period,
                   frequency + n, rms_squared + n);
        n += RIPPLE_HARMONICS;
    }
    return n;
}
