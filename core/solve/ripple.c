/* ripple.c - what a stage's current waves mean to the capacitors of a bus. */
#include "solve/ripple.h"

#include <math.h>

#include "solve/straight_ripple.h"
#include "wave/few.h"
#include "wave/slow.h"

/* Of each line, in units of the fundamental; those of the tail: middles of the bands 12.5, 15.6, 19.6, 24.5,
 * 30.6, 38.3, 48.0, 60 and on. */
static const double order[RIPPLE_WAVE_LINES] = {
    1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13.98, 17.49, 21.89, 27.38, 34.26, 42.87, 53.63, 78,
};
static const double tail[RIPPLE_TAIL] = {0.2008, 0.1605, 0.1282, 0.1025, 0.0819, 0.0655, 0.0523, 0.2083};

void ripple_tail(double rest, double rms_squared[RIPPLE_WAVE_LINES])
{
    for (size_t k = 0; k < RIPPLE_TAIL; k++)
        rms_squared[RIPPLE_HARMONICS + k] = rest > 0 ? tail[k] * rest : 0;
}

/* By Fourier's theorem each harmonic has rms^2 = (a^2 + b^2)/2; by Parseval's theorem the rest of the mean
 * square is known too. */
void ripple_of(const double cosine[], const double sine[], double rest, double square[RIPPLE_WAVE_LINES])
{
    for (size_t k = 0; k < RIPPLE_HARMONICS; k++) {
        square[k] = 0.5 * (cosine[k] * cosine[k] + sine[k] * sine[k]);
        rest -= square[k];
    }
    ripple_tail(rest, square);
}

static bool slow_ripple(const hl_wave *wave, double square[RIPPLE_WAVE_LINES])
{
    double cosine[RIPPLE_HARMONICS], sine[RIPPLE_HARMONICS], ripple;
    if (!slow_fourier(wave, RIPPLE_HARMONICS, cosine, sine, &ripple)) return false;
    ripple_of(cosine, sine, ripple, square);
    return true;
}

static void any_ripple(const hl_wave *wave, double square[RIPPLE_WAVE_LINES])
{
    double cosine[RIPPLE_HARMONICS], sine[RIPPLE_HARMONICS], mean;
    if (!few_fourier(wave, RIPPLE_HARMONICS, cosine, sine, &mean)) {
        hl_wave_fourier(wave, RIPPLE_HARMONICS, cosine, sine);
        mean = hl_wave_average(wave);
    }
    ripple_of(cosine, sine, hl_wave_mean_square(wave) - mean * mean, square);
}

/* Of one wave, with its weight; returns their number. */
static size_t wave_lines(const hl_wave *wave, double weight, double frequency[], double rms_squared[])
{
    double fundamental = 1.0 / hl_wave_period(wave);
    if (!(fundamental > 0 && isfinite(fundamental))) return 0;
    if (!slow_ripple(wave, rms_squared) && !chord_ripple(wave, rms_squared)) any_ripple(wave, rms_squared);
    for (size_t k = 0; k < RIPPLE_WAVE_LINES; k++) {
        frequency[k] = order[k] * fundamental;
        rms_squared[k] *= weight;
    }
    return RIPPLE_WAVE_LINES;
}

static double weight_of(const hl_side *side, size_t k, size_t cycles)
{
    return side->weight ? side->weight[k] : 1.0 / (double)cycles;
}

static size_t cycle_lines(const hl_side *side, size_t k, size_t cycles, double frequency[],
                          double rms_squared[])
{
    return wave_lines(&side->wave[k], weight_of(side, k, cycles), frequency, rms_squared);
}

/* Of four cycles at once where they are straight; returns their number. */
static size_t four_cycles(const hl_side *side, size_t first, size_t cycles, double frequency[],
                          double rms_squared[])
{
    double period[LANES], square[LANES][RIPPLE_WAVE_LINES];
    size_t n = 0;
    if (!straight_ripple(&side->wave[first], period, square)) {
        for (size_t k = first; k < first + LANES; k++)
            n += cycle_lines(side, k, cycles, frequency + n, rms_squared + n);
        return n;
    }
    for (size_t w = 0; w < LANES; w++) {
        double fundamental = 1.0 / period[w], weight = weight_of(side, first + w, cycles);
        for (size_t k = 0; k < RIPPLE_WAVE_LINES; k++, n++) {
            frequency[n] = order[k] * fundamental;
            rms_squared[n] = weight * square[w][k];
        }
    }
    return n;
}

size_t ripple_lines(const hl_side *side, double frequency[], double rms_squared[])
{
    size_t n = 0;
    if (side->line.n) n = wave_lines(&side->line, 1.0, frequency, rms_squared);
    if (!side->wave) return n;
    size_t cycles = side->cycles < RIPPLE_CYCLES_MAX ? side->cycles : RIPPLE_CYCLES_MAX, k = 0;
    for (; k + LANES <= cycles; k += LANES) n += four_cycles(side, k, cycles, frequency + n, rms_squared + n);
    for (; k < cycles; k++) n += cycle_lines(side, k, cycles, frequency + n, rms_squared + n);
    return n;
}
