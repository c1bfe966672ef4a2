/* check_line_wave.c - the figures of a mains current from its borders against those of any wave. */
#include "../../plugins/stages/line_wave.h"

#include "story.h"

enum { PIECES = 40, SEEDS = 40, WAVES = 12 }; /* the seed is the number of the loop, which a failure names */

static const double omega = 314.15926535897932;
static unsigned seed;

static double any(double low, double high)
{
    seed = seed * 1664525u + 1013904223u;
    return low + (high - low) * (double)(seed >> 8) / 16777216.0;
}

/* n pieces over `angle` radians of the mains; `large`: offset and ringing all but cancel, as in the pulses of
 * a rectifier onto a capacitor. */
static void draw_wave(hl_segment s[], size_t n, double angle, bool large)
{
    double share[PIECES], sum = 0.0;
    for (size_t k = 0; k < n; k++) sum += share[k] = k % 7 == 3 ? 0.0 : any(0.05, 1.0);
    for (size_t k = 0; k < n; k++) {
        double size = large ? 30.0 : 1.0, sine = k % 5 == 1 ? 0.0 : any(-size, size);
        double cosine = k % 5 == 1 ? 0.0 : any(-size, size);
        s[k] = (hl_segment){.duration = share[k] / sum * angle / omega,
                            .offset = any(-1, 1) - (large ? cosine : 0.0),
                            .slope = any(-1, 1) * omega - (large ? omega * sine : 0.0),
                            .omega = k % 5 == 1 ? 0.0 : omega,
                            .cosine = cosine,
                            .sine = sine};
    }
}

static void compare(const hl_wave *wave, bool whole_period)
{
    double memory[4 * PIECES], high, low, cosine, sine;
    hl_scratch scratch = {(unsigned char *)memory, sizeof memory, 0};
    line_wave l;
    ck_assert_msg(line_wave_read(wave, omega, &scratch, &l), "seed %u: not read", seed);
    line_sums sums = line_wave_sums(&l);
    double rms = hl_wave_rms(wave);
    hl_wave_peaks(wave, &high, &low);
    ck_near(sqrt(sums.mean_square), rms, 1e-13, 0);
    ck_near(sums.average, hl_wave_average(wave), 0, 1e-13 * rms);
    ck_near(line_wave_peak(&l), fmax(high, -low), 1e-13, 0);
    if (!whole_period) return;
    hl_wave_fourier(wave, 1, &cosine, &sine);
    ck_near(sums.cosine, cosine, 0, 1e-12 * rms);
    ck_near(sums.sine, sine, 0, 1e-12 * rms);
}

START_TEST(pieces_on_the_mains_sine_measure_as_any_wave)
{
    hl_segment s[2 * PIECES];
    seed = (unsigned)_i;
    for (unsigned w = 0; w < WAVES; w++) {
        size_t n = 1 + (size_t)any(0, PIECES - 0.5);
        double angle = w % 3 == 0 ? 2.0 * 3.14159265358979324 : any(0.3, 3.2);
        draw_wave(s, n, angle, w % 2);
        compare(&(hl_wave){n, s}, w % 3 == 0);
        if (w % 3 == 1) continue;
        draw_wave(s, n, 3.14159265358979324, w % 2);
        for (size_t k = 0; k < n; k++) s[n + k] = line_mirror(&s[k]);
        compare(&(hl_wave){2 * n, s}, true);
    }
}
END_TEST

START_TEST(a_wave_of_another_kind_is_left_alone)
{
    double memory[8];
    hl_scratch scratch = {(unsigned char *)memory, sizeof memory, 0};
    hl_segment s = {.duration = 0.02, .omega = 2.0 * omega, .sine = 1.0};
    line_wave l;
    ck_assert(!line_wave_read(&(hl_wave){1, &s}, omega, &scratch, &l));
    s.omega = omega;
    s.decay = 1.0;
    ck_assert(!line_wave_read(&(hl_wave){1, &s}, omega, &scratch, &l));
    s.decay = 0.0;
    s.duration = NAN;
    ck_assert(!line_wave_read(&(hl_wave){1, &s}, omega, &scratch, &l));
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, pieces_on_the_mains_sine_measure_as_any_wave, 0, SEEDS);
    tcase_add_test(tests, a_wave_of_another_kind_is_left_alone);
}

int main(void)
{
    return story_main("line_wave", fill);
}
