/* check_wave_units.c - no figure of a wave or curve knows in which unit time and values are counted.
 *
 * With units smaller by a power of two every product and sum scales without rounding, so all figures do to
 * the bit, and where one formula gives way to another is the same place too: a term that lacks its duration,
 * or a border that compares an amplitude with a number, shows at once. */
#include <math.h>
#include <string.h>

#include "heatledger/plugin.h"
#include "lottery.h"
#include "story.h"

enum { PIECES = 6, HARMONICS = 40, TRIALS = 3000 };

static const double exponents[] = {0.5, 1, 1.4, 2, 2.2, 3};
enum { EXPONENTS = sizeof exponents / sizeof *exponents };

/* Everything a wave tells: in units of time, of values, and of both. */
typedef struct figures {
    double period, average, square, highest, lowest, swing, at[5];
    double cosine[HARMONICS], sine[HARMONICS], power[EXPONENTS];
} figures;

static figures tell(const hl_wave *wave)
{
    figures f;
    memset(&f, 0, sizeof f);
    f.period = hl_wave_period(wave);
    f.average = hl_wave_average(wave);
    f.square = hl_wave_mean_square(wave);
    hl_wave_peaks(wave, &f.highest, &f.lowest);
    f.swing = hl_wave_integral_swing(wave);
    for (int i = 0; i < 5; i++) f.at[i] = hl_wave_at(wave, f.period * (0.03 + 0.23 * i));
    hl_wave_fourier(wave, HARMONICS, f.cosine, f.sine);
    for (int i = 0; i < EXPONENTS; i++) f.power[i] = hl_wave_power_mean(wave, exponents[i]);
    return f;
}

/* Level, ramp, and ringings: beside a level, alone, through zero, of all lengths and dampings. */
static hl_segment piece(lottery *luck)
{
    hl_segment s = {.duration = lottery_scale(luck, 1e-3, 1)};
    size_t kind = lottery_below(luck, 8);
    double size = lottery_scale(luck, 0.02, 5), phase = lottery_between(luck, 0, 6.2831853);
    double turn = lottery_scale(luck, 0.05, kind == 7 ? 400 : 20);
    if (kind != 3) s.offset = lottery_between(luck, -3, 3);
    if (kind % 2 && kind != 3) s.slope = lottery_between(luck, -2, 2) / s.duration;
    if (kind < 2) return s;
    s.omega = (kind == 6 && lottery_below(luck, 2) ? 0 : turn) / s.duration;
    s.decay = (lottery_below(luck, 3) ? lottery_between(luck, -1, 4) : (double)lottery_below(luck, 3) * 9.0) /
              s.duration;
    if (kind == 4) size = 0.4 * fabs(s.offset);
    s.cosine = size * cos(phase);
    s.sine = size * sin(phase);
    if (kind == 5) s.offset = -s.cosine - 0.3 * s.sine * fmin(turn, 1);
    return s;
}

static hl_wave draw(lottery *luck, hl_segment s[2 * PIECES])
{
    size_t n = 1 + lottery_below(luck, PIECES);
    for (size_t i = 0; i < n; i++) s[i] = piece(luck);
    if (lottery_below(luck, 4)) return (hl_wave){n, s};
    for (size_t i = 0; i < n; i++) {
        s[n + i] = s[i];
        s[n + i].offset = -s[i].offset, s[n + i].slope = -s[i].slope;
        s[n + i].cosine = -s[i].cosine, s[n + i].sine = -s[i].sine;
    }
    return (hl_wave){2 * n, s};
}

static void count_in(hl_segment *s, double second, double volt)
{
    s->duration *= second;
    s->decay /= second, s->omega /= second;
    s->offset *= volt, s->cosine *= volt, s->sine *= volt;
    s->slope *= volt / second;
}

static void ck_figure(double said, double expected, double room, const char *what, int trial, int k)
{
    ck_assert_msg(fabs(said - expected) <= room || said == expected, "%s %d, wave %d: %.17g, expected %.17g",
                  what, k, trial, said, expected);
}

static void ck_scaled(const figures *is, const figures *was, double second, double volt, int trial)
{
    ck_figure(is->period, was->period * second, 0, "period", trial, 0);
    ck_figure(is->average, was->average * volt, 0, "average", trial, 0);
    ck_figure(is->square, was->square * volt * volt, 0, "mean square", trial, 0);
    ck_figure(is->highest, was->highest * volt, 0, "highest", trial, 0);
    ck_figure(is->lowest, was->lowest * volt, 0, "lowest", trial, 0);
    ck_figure(is->swing, was->swing * volt * second, 0, "swing", trial, 0);
    for (int i = 0; i < 5; i++) ck_figure(is->at[i], was->at[i] * volt, 0, "value", trial, i);
    for (int k = 0; k < HARMONICS; k++) {
        ck_figure(is->cosine[k], was->cosine[k] * volt, 0, "cosine amplitude", trial, k + 1);
        ck_figure(is->sine[k], was->sine[k] * volt, 0, "sine amplitude", trial, k + 1);
    }
    for (int i = 0; i < EXPONENTS; i++) { /* a power is rounded, unless it is of the same value */
        double expected = was->power[i] * pow(volt, exponents[i]);
        ck_figure(is->power[i], expected, volt == 1 ? 0 : 2e-14 * expected, "power mean", trial, i);
    }
}

START_TEST(figures_scale_with_the_units)
{
    static const double units[][2] = {{0x1p-20, 1}, {0x1p10, 1}, {1, 0x1p-9}, {1, 0x1p8}, {0x1p-17, 0x1p7}};
    lottery luck = lottery_open("figures_scale_with_the_units");
    for (int trial = 0; trial < TRIALS; trial++) {
        hl_segment s[2 * PIECES], other[2 * PIECES];
        hl_wave wave = draw(&luck, s);
        const double *unit = units[trial % 5];
        figures was = tell(&wave);
        for (size_t i = 0; i < wave.n; i++) {
            other[i] = s[i];
            count_in(&other[i], unit[0], unit[1]);
        }
        hl_wave scaled = {wave.n, other};
        figures is = tell(&scaled);
        ck_scaled(&is, &was, unit[0], unit[1], trial);
    }
}
END_TEST

/* Windings at once likewise. */
START_TEST(windings_scale_with_the_units)
{
    enum { WINDINGS = 3 };
    lottery luck = lottery_open("windings_scale_with_the_units");
    for (int trial = 0; trial < 300; trial++) {
        hl_segment s[2][WINDINGS][PIECES];
        hl_wave wave[2][WINDINGS];
        const hl_wave *shown[2][WINDINGS];
        double cosine[2][WINDINGS * HARMONICS], sine[2][WINDINGS * HARMONICS], square[2][WINDINGS];
        double second = 0x1p-18, volt = 0x1p6;
        for (int v = 0; v < WINDINGS; v++) {
            for (int i = 0; i < PIECES; i++) {
                s[0][v][i] = piece(&luck);
                s[0][v][i].duration = s[0][0][i].duration;
                s[1][v][i] = s[0][v][i];
                count_in(&s[1][v][i], second, volt);
            }
            for (int k = 0; k < 2; k++) {
                wave[k][v] = (hl_wave){PIECES, s[k][v]};
                shown[k][v] = &wave[k][v];
            }
        }
        for (int k = 0; k < 2; k++) {
            hl_waves_fourier(shown[k], WINDINGS, HARMONICS, HARMONICS, cosine[k], sine[k]);
            hl_waves_mean_square(shown[k], WINDINGS, square[k]);
        }
        for (int i = 0; i < WINDINGS * HARMONICS; i++) {
            ck_figure(cosine[1][i], cosine[0][i] * volt, 0, "cosine amplitude", trial, i);
            ck_figure(sine[1][i], sine[0][i] * volt, 0, "sine amplitude", trial, i);
        }
        for (int v = 0; v < WINDINGS; v++)
            ck_figure(square[1][v], square[0][v] * volt * volt, 0, "mean square", trial, v);
    }
}
END_TEST

START_TEST(curves_scale_with_the_units)
{
    enum { KNOTS = 7 };
    lottery luck = lottery_open("curves_scale_with_the_units");
    for (int trial = 0; trial < 600; trial++) {
        double x[2][KNOTS], y[2][KNOTS], wide = 0x1p-7, high = 0x1p11;
        for (int i = 0; i < KNOTS; i++) {
            x[0][i] = (i ? x[0][i - 1] : -1) + lottery_scale(&luck, 0.05, 2);
            y[0][i] = lottery_below(&luck, 5) || !i ? lottery_between(&luck, -3, 3) : y[0][i - 1];
            x[1][i] = wide * x[0][i], y[1][i] = high * y[0][i];
        }
        size_t n = 2 + lottery_below(&luck, KNOTS - 1);
        bool cubic = trial % 2;
        hl_curve was = {n, x[0], y[0], cubic}, is = {n, x[1], y[1], cubic};
        for (int k = 0; k < 20; k++) {
            double a = lottery_between(&luck, -2, 9), b = lottery_between(&luck, -2, 9), slope[2];
            double before = hl_curve_at(&was, a, &slope[0], NULL),
                   now = hl_curve_at(&is, wide * a, &slope[1], NULL);
            ck_figure(now, before * high, 0, "value", trial, k);
            ck_figure(slope[1], slope[0] * (high / wide), 0, "slope", trial, k);
            ck_figure(hl_curve_integral(&is, wide * a, wide * b), hl_curve_integral(&was, a, b) * wide * high,
                      0, "integral", trial, k);
        }
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, figures_scale_with_the_units);
    tcase_add_test(tests, windings_scale_with_the_units);
    tcase_add_test(tests, curves_scale_with_the_units);
}

int main(void)
{
    return story_main("wave units", fill);
}
