/* check_ripple.c - lines of a bus ripple: cycles four at a time tell what each tells alone, whatever their
 * shape; and shapes whose series every textbook has. */
#include <complex.h>
#include <math.h>

#include "lottery.h"
#include "solve/ripple.h"
#include "story.h"

enum { CYCLES = 11, PIECES = 4, TRIALS = 2000 };
static const double pi = 3.14159265358979323846;

typedef struct waves {
    hl_segment piece[CYCLES][PIECES];
    hl_wave wave[CYCLES];
    double weight[CYCLES];
} waves;

/* Straight pieces, some level, some with a step, some of no duration or hardly any; one wave in ten rings. */
static void draw(waves *w, lottery *luck)
{
    for (size_t k = 0; k < CYCLES; k++) {
        size_t n = 1 + (size_t)(PIECES * lottery_between(luck, 0, 1));
        double value = 0, total = 0;
        for (size_t i = 0; i < n; i++) {
            hl_segment *s = &w->piece[k][i];
            double kind = lottery_between(luck, 0, 1), duration = 1e-6 * (0.01 + lottery_between(luck, 0, 1));
            *s = (hl_segment){.duration = i > 0 && kind < 0.1 ? 0 : kind < 0.2 ? 1e-3 * duration : duration};
            s->offset = lottery_between(luck, 0, 1) < 0.5 ? value : 4 * lottery_between(luck, 0, 1) - 2;
            if (lottery_between(luck, 0, 1) < 0.7) s->slope = 1e6 * (4 * lottery_between(luck, 0, 1) - 2);
            if (lottery_between(luck, 0, 1) < 0.03)
                s->sine = 1, s->omega = 3e6 * lottery_between(luck, 0, 1), s->decay = 1e5;
            value = s->offset + s->slope * s->duration;
            total += s->duration;
        }
        w->wave[k] = (hl_wave){n, w->piece[k]};
        w->weight[k] = lottery_between(luck, 0, 1);
        ck_assert(total > 0);
    }
}

START_TEST(four_cycles_at_once_tell_what_each_tells_alone)
{
    static waves w;
    lottery luck = lottery_open("ripple");
    for (int trial = 0; trial < TRIALS; trial++) {
        double f[CYCLES * RIPPLE_WAVE_LINES], square[CYCLES * RIPPLE_WAVE_LINES];
        draw(&w, &luck);
        hl_side all = {.cycles = CYCLES, .weight = w.weight, .wave = w.wave};
        ck_assert_uint_eq(ripple_lines(&all, f, square), CYCLES * RIPPLE_WAVE_LINES);
        for (size_t k = 0; k < CYCLES; k++) {
            double alone_f[RIPPLE_WAVE_LINES], alone[RIPPLE_WAVE_LINES];
            hl_side one = {.cycles = 1, .weight = &w.weight[k], .wave = &w.wave[k]};
            ck_assert_uint_eq(ripple_lines(&one, alone_f, alone), RIPPLE_WAVE_LINES);
            double rms = hl_wave_rms(&w.wave[k]), near = 1e-12 * rms * rms + 1e-300;
            for (size_t i = 0; i < RIPPLE_WAVE_LINES; i++) {
                ck_assert(f[k * RIPPLE_WAVE_LINES + i] == alone_f[i]);
                double off = fabs(square[k * RIPPLE_WAVE_LINES + i] - alone[i]);
                ck_assert_msg(off <= near, "trial %d, cycle %zu, line %zu: off by %g of %g", trial, k, i + 1,
                              off, rms * rms);
            }
        }
    }
}
END_TEST

/* Mean square above the last harmonic, of one wave. */
static double tail_of(const double lines[RIPPLE_WAVE_LINES])
{
    double sum = 0;
    for (size_t k = RIPPLE_HARMONICS; k < RIPPLE_WAVE_LINES; k++) sum += lines[k];
    return sum;
}

/* Lines of a wave against the sums over pieces of core/wave, within `most` of its mean square. */
static void compare_with_pieces(hl_wave wave, double most, int trial)
{
    const hl_side side = {.line = wave};
    double f[RIPPLE_WAVE_LINES], lines[RIPPLE_WAVE_LINES], cosine[RIPPLE_HARMONICS], sine[RIPPLE_HARMONICS];
    double rms = hl_wave_rms(&wave), mean = hl_wave_average(&wave), rest = rms * rms - mean * mean;
    ck_assert_uint_eq(ripple_lines(&side, f, lines), RIPPLE_WAVE_LINES);
    hl_wave_fourier(&wave, RIPPLE_HARMONICS, cosine, sine);
    for (size_t k = 0; k < RIPPLE_HARMONICS; k++) {
        double said = 0.5 * (cosine[k] * cosine[k] + sine[k] * sine[k]);
        rest -= said;
        ck_near(f[k], (double)(k + 1) / hl_wave_period(&wave), 1e-12, 0);
        ck_assert_msg(fabs(lines[k] - said) <= most * rms * rms, "trial %d, %zu pieces, line %zu: off by %g",
                      trial, wave.n, k + 1, (lines[k] - said) / (rms * rms));
    }
    ck_near(tail_of(lines), fmax(rest, 0), 0, most * rms * rms);
}

/* Chords of any steps and slopes, and a ringing of some harmonic, as each piece tells it: against the sums
 * over pieces of core/wave.  Now and then the ringing breaks off, and is of no harmonic: that goes the other
 * way. */
START_TEST(a_slow_wave_tells_what_its_pieces_tell)
{
    enum { MOST = 40 };
    lottery luck = lottery_open("slow ripple");
    for (int trial = 0; trial < TRIALS; trial++) {
        hl_segment piece[MOST];
        size_t n = 1 + lottery_below(&luck, MOST), met = 1 + lottery_below(&luck, RIPPLE_HARMONICS);
        double duration[MOST], period = 0, time = 0;
        double a = lottery_between(&luck, -2, 2), b = lottery_between(&luck, -2, 2);
        for (size_t i = 0; i < n; i++) period += duration[i] = lottery_scale(&luck, 1e-7, 1e-3);
        double rings = lottery_below(&luck, 4) ? (double)met : lottery_between(&luck, 0, 12);
        double omega = lottery_below(&luck, 4) ? 2 * pi * rings / period : 0;
        for (size_t i = 0; i < n; i++) {
            double turn = omega * time + (lottery_below(&luck, 400) ? 0 : 1e-3);
            piece[i] = (hl_segment){.duration = duration[i],
                                    .offset = lottery_between(&luck, -1, 1),
                                    .slope = lottery_between(&luck, -1, 1) / duration[i],
                                    .omega = omega,
                                    .cosine = a * cos(turn) + b * sin(turn),
                                    .sine = b * cos(turn) - a * sin(turn)};
            time += duration[i];
        }
        compare_with_pieces((hl_wave){n, piece}, 2e-11, trial);
    }
}
END_TEST

/* Up to four pieces whose ringing hardly turns, with large parts that all but cancel, as those of an inductor
 * between capacitors have; one in some rings on for long, or is brief, and goes the other way. */
START_TEST(pieces_that_hardly_ring_tell_the_same)
{
    lottery luck = lottery_open("hardly ringing");
    for (int trial = 0; trial < TRIALS; trial++) {
        hl_segment piece[PIECES];
        size_t n = 1 + lottery_below(&luck, PIECES);
        for (size_t i = 0; i < n; i++) {
            double duration = 1e-6 * lottery_scale(&luck, lottery_below(&luck, 30) ? 0.02 : 1e-4, 1);
            double turns = lottery_below(&luck, 20) ? lottery_between(&luck, 0, 0.05) : 0.5;
            piece[i] = (hl_segment){.duration = duration, .offset = lottery_between(&luck, -3, 3)};
            if (lottery_below(&luck, 3)) piece[i].slope = lottery_between(&luck, -1, 1) / duration;
            if (!lottery_below(&luck, 4)) continue; /* level, or straight */
            piece[i].omega = turns / duration;
            piece[i].decay = lottery_between(&luck, -0.02, 0.05) / duration;
            piece[i].cosine = lottery_between(&luck, -1, 1);
            piece[i].sine = lottery_between(&luck, -1, 1) / fmax(turns, 1e-3);
        }
        compare_with_pieces((hl_wave){n, piece}, 1e-11, trial);
    }
}
END_TEST

/* Fourier series of a square wave of 1 A, 4/pi sum sin(k x)/k over odd k, and of a triangle of 1 A crest,
 * 8/pi^2 sum over odd k of 1/k^2: Bronstein, Taschenbuch der Mathematik, table of series; from memory.  The
 * tail holds the rest of the mean square, 1 and 1/3. */
START_TEST(squares_and_triangles_have_their_series)
{
    const hl_segment square[] = {{.duration = 1, .offset = 1}, {.duration = 1, .offset = -1}},
                     triangle[] = {{.duration = 1, .offset = -1, .slope = 2},
                                   {.duration = 1, .offset = 1, .slope = -2}};
    const hl_wave waves_of[] = {{2, square}, {2, triangle}, {2, square}, {2, triangle}};
    double f[4 * RIPPLE_WAVE_LINES], lines[4 * RIPPLE_WAVE_LINES], one[] = {1, 1, 1, 1};
    hl_side side = {.cycles = 4, .weight = one, .wave = waves_of};
    ck_assert_uint_eq(ripple_lines(&side, f, lines), 4 * RIPPLE_WAVE_LINES);
    for (int w = 0; w < 4; w++) {
        double rest = w % 2 ? 1.0 / 3 : 1;
        for (int k = 1; k <= RIPPLE_HARMONICS; k++) {
            double crest = k % 2 == 0 ? 0 : w % 2 ? 8 / (pi * pi * k * k) : 4 / (pi * k);
            double expected = 0.5 * crest * crest;
            rest -= expected;
            ck_near(lines[w * RIPPLE_WAVE_LINES + k - 1], expected, 1e-13, 1e-15);
            ck_near(f[w * RIPPLE_WAVE_LINES + k - 1], 0.5 * k, 1e-15, 0);
        }
        ck_near(tail_of(lines + w * RIPPLE_WAVE_LINES), rest, 1e-11, 0);
    }
}
END_TEST

/* What a wet capacitor and the ceramic beside it lose to one line, W: the current divides as the admittances
 * (Kirchhoff). The ceramic's capacitance and both inductances ring at `resonance` times 65 kHz. */
static double pair_loss(double order, double rms_squared, double resonance)
{
    double w = 2 * pi * 65e3 * order, at = 2 * pi * 65e3 * resonance, farads = 1 / (at * at * 8.3e-9);
    double complex wet = 5.7e-3 + I * (w * 7.5e-9 - 1 / (w * 1.36e-3));
    double complex ceramic = 4e-3 + 0.025 / (w * farads) + I * (w * 0.8e-9 - 1 / (w * farads));
    double through_wet = cabs(ceramic / (wet + ceramic)), through_ceramic = cabs(wet / (wet + ceramic));
    return rms_squared *
           (through_wet * through_wet * creal(wet) + through_ceramic * through_ceramic * creal(ceramic));
}

/* The current of a flyback's rectifier, up in 0.3 % of the period and down in 57 %, shared by two capacitors
 * that ring together: what the lines tell of the loss, beside the sum over 4000 harmonics of a piecewise
 * straight wave, c_k = sum over corners of the step in slope e^(-jkwt) / (kw)^2. source: Fourier's theorem.
 * 2 % where the harmonics told singly hold the resonance; above them eight places stand for all, 15 %. */
START_TEST(the_tail_neither_feeds_nor_hides_a_resonance)
{
    static const double resonance[] = {5, 8, 10, 11, 12, 13, 15, 18, 22, 27, 35, 50};
    const double up = 0.003, down = 0.57;
    const hl_segment piece[] = {{.duration = up, .slope = 1 / up},
                                {.duration = down, .offset = 1, .slope = -1 / down},
                                {.duration = 1 - up - down}};
    const hl_wave wave = {3, piece};
    double f[RIPPLE_WAVE_LINES], lines[RIPPLE_WAVE_LINES];
    hl_side side = {.cycles = 1, .wave = &wave};
    ck_assert_uint_eq(ripple_lines(&side, f, lines), RIPPLE_WAVE_LINES);
    for (size_t i = 0; i < sizeof resonance / sizeof *resonance; i++) {
        double told = 0, exact = 0;
        for (size_t k = 0; k < RIPPLE_WAVE_LINES; k++) told += pair_loss(f[k], lines[k], resonance[i]);
        for (int k = 1; k <= 4000; k++) {
            double w = 2 * pi * k;
            double complex c =
                (1 / up - (1 / up + 1 / down) * cexp(-I * w * up) + cexp(-I * w * (up + down)) / down) /
                (w * w);
            exact += pair_loss(k, 2 * cabs(c) * cabs(c), resonance[i]);
        }
        ck_near(told, exact, resonance[i] <= RIPPLE_HARMONICS ? 0.02 : 0.15, 0);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_slow_wave_tells_what_its_pieces_tell);
    tcase_add_test(tests, pieces_that_hardly_ring_tell_the_same);
    tcase_add_test(tests, four_cycles_at_once_tell_what_each_tells_alone);
    tcase_add_test(tests, squares_and_triangles_have_their_series);
    tcase_add_test(tests, the_tail_neither_feeds_nor_hides_a_resonance);
}

int main(void)
{
    return story_main("ripple", fill);
}
