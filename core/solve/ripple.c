/* ripple.c - what a stage's current waves mean to the capacitors of a bus. */
#include "solve/ripple.h"

#include <math.h>

#include "solve/straight_ripple.h"
#include "wave/few.h"
#include "wave/lanes.h"
#include "wave/slow.h"

/* Of each line, in units of the fundamental; those of the tail: middles of the bands 12.5, 15.6, 19.6, 24.5,
 * 30.6, 38.3, 48.0, 60 and on. */
static const double order[RIPPLE_WAVE_LINES] = {
    1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13.98, 17.49, 21.89, 27.38, 34.26, 42.87, 53.63, 78,
};
static const double tail[RIPPLE_TAIL] = {0.2008, 0.1605, 0.1282, 0.1025, 0.0819, 0.0655, 0.0523, 0.2083};

WITHIN_LANES void put_tail(double rest, double square[RIPPLE_WAVE_LINES])
{
    double left = rest > 0 ? rest : 0;
    for (size_t k = 0; k < RIPPLE_TAIL; k += LANES)
        lanes_store(square + RIPPLE_HARMONICS + k, left * lanes_load(tail + k));
}

void ripple_tail(double rest, double rms_squared[RIPPLE_WAVE_LINES])
{
    put_tail(rest, rms_squared);
}

/* By Fourier's theorem each harmonic has rms^2 = (a^2 + b^2)/2; by Parseval's theorem the rest of the mean
 * square is known too. */
FOUR_LANES void ripple_of(size_t waves, const double cosine[], const double sine[], const double rest[],
                          double square[])
{
    for (size_t w = 0; w < waves; w++, square += RIPPLE_WAVE_LINES) {
        double left = rest[w];
        for (size_t k = 0; k < RIPPLE_HARMONICS; k += LANES, cosine += LANES, sine += LANES) {
            lanes a = lanes_load(cosine), b = lanes_load(sine), both = 0.5 * (a * a + b * b);
            lanes_store(square + k, both);
            for (int i = 0; i < LANES; i++) left -= both[i];
        }
        put_tail(left, square);
    }
}

/* Where lines lie whose waves have such fundamentals, and by how much each wave counts. */
FOUR_LANES static void weigh(size_t waves, const double fundamental[], const double weight[],
                             double frequency[], double square[])
{
    for (size_t w = 0; w < waves; w++)
        for (size_t k = 0; k < RIPPLE_WAVE_LINES; k += LANES, frequency += LANES, square += LANES) {
            lanes_store(frequency, fundamental[w] * lanes_load(order + k));
            lanes_store(square, weight[w] * lanes_load(square));
        }
}

static bool slow_ripple(const hl_wave *wave, double square[RIPPLE_WAVE_LINES])
{
    double cosine[RIPPLE_HARMONICS], sine[RIPPLE_HARMONICS], ripple;
    if (!slow_fourier(wave, RIPPLE_HARMONICS, cosine, sine, &ripple)) return false;
    ripple_of(1, cosine, sine, &ripple, square);
    return true;
}

static void any_ripple(const hl_wave *wave, double square[RIPPLE_WAVE_LINES])
{
    double cosine[RIPPLE_HARMONICS], sine[RIPPLE_HARMONICS], mean;
    if (!few_fourier(wave, RIPPLE_HARMONICS, cosine, sine, &mean)) {
        hl_wave_fourier(wave, RIPPLE_HARMONICS, cosine, sine);
        mean = hl_wave_average(wave);
    }
    double rest = hl_wave_mean_square(wave) - mean * mean;
    ripple_of(1, cosine, sine, &rest, square);
}

/* Of one wave, with its weight; returns their number. */
static size_t wave_lines(const hl_wave *wave, double weight, double frequency[], double square[])
{
    double fundamental = 1.0 / hl_wave_period(wave);
    if (!(fundamental > 0 && isfinite(fundamental))) return 0;
    if (!slow_ripple(wave, square) && !chord_ripple(wave, square)) any_ripple(wave, square);
    weigh(1, &fundamental, &weight, frequency, square);
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
    double fundamental[LANES], weight[LANES];
    size_t n = 0;
    if (!straight_ripple(&side->wave[first], fundamental, rms_squared)) {
        for (size_t k = first; k < first + LANES; k++)
            n += cycle_lines(side, k, cycles, frequency + n, rms_squared + n);
        return n;
    }
    for (size_t w = 0; w < LANES; w++) {
        fundamental[w] = 1.0 / fundamental[w];
        weight[w] = weight_of(side, first + w, cycles);
    }
    weigh(LANES, fundamental, weight, frequency, rms_squared);
    return LANES * RIPPLE_WAVE_LINES;
}

size_t ripple_of_cycles(const hl_side *side, double frequency[], double rms_squared[])
{
    size_t cycles = side->cycles < RIPPLE_CYCLES_MAX ? side->cycles : RIPPLE_CYCLES_MAX, k = 0, n = 0;
    if (!side->wave) return 0;
    for (; k + LANES <= cycles; k += LANES) n += four_cycles(side, k, cycles, frequency + n, rms_squared + n);
    for (; k < cycles; k++) n += cycle_lines(side, k, cycles, frequency + n, rms_squared + n);
    return n;
}

size_t ripple_lines(const hl_side *side, double frequency[], double rms_squared[])
{
    size_t n = side->line.n ? wave_lines(&side->line, 1.0, frequency, rms_squared) : 0;
    return n + ripple_of_cycles(side, frequency + n, rms_squared + n);
}
