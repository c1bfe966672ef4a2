/* check_line_wave.c - the figures of a mains current from its borders against those of any wave. */
#include "../../plugins/stages/line_wave.h"

#include "story.h"

#include <float.h>

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
    double memory[40 * PIECES], high, low, cosine, sine;
    hl_scratch scratch = {(unsigned char *)memory, sizeof memory, 0};
    line_wave l;
    ck_assert_msg(line_wave_fits(wave, omega, &l), "seed %u: does not fit", seed);
    ck_assert_msg(line_wave_read(&scratch, &l), "seed %u: not read", seed);
    line_sums sums = line_wave_sums(&l);
    double rms = hl_wave_rms(wave);
    hl_wave_peaks(wave, &high, &low);
    ck_near(sqrt(sums.mean_square), rms, 1e-13, 0);
    ck_near(sums.average, hl_wave_average(wave), 0, 1e-13 * rms);
    ck_near(line_peak(&l, &l.piece), fmax(high, -low), 1e-13, 0);
    if (!whole_period) return;
    hl_wave_fourier(wave, 1, &cosine, &sine);
    ck_near(sums.cosine, cosine, 0, 1e-12 * rms);
    ck_near(sums.sine, sine, 0, 1e-12 * rms);
}

static hl_segment mirror_of(const hl_segment *s)
{
    return (hl_segment){.duration = s->duration,
                        .offset = -s->offset,
                        .slope = -s->slope,
                        .decay = s->decay,
                        .omega = s->omega,
                        .cosine = -s->cosine,
                        .sine = -s->sine};
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
        for (size_t k = 0; k < n; k++) s[n + k] = mirror_of(&s[k]);
        compare(&(hl_wave){2 * n, s}, true);
    }
}
END_TEST

static void expect_piece(const hl_segment *is, const hl_segment *expected, double factor)
{
    ck_assert(is->duration == expected->duration && is->decay == expected->decay);
    ck_assert(is->offset == factor * expected->offset && is->slope == factor * expected->slope);
    ck_assert(is->cosine == factor * expected->cosine && is->sine == factor * expected->sine);
}

/* Unfolded each piece times a factor and its mirror; written as they were read, all ringing at omega. */
START_TEST(pieces_are_written_and_unfolded_to_the_bit)
{
    hl_segment s[PIECES], full[2 * PIECES + 1], written[2 * PIECES + 1];
    seed = 11;
    for (size_t n = 1; n <= PIECES; n++)
        for (int mirrored = 0; mirrored < 2; mirrored++) {
            double memory[40 * PIECES], factor = any(0.1, 2.0);
            hl_scratch scratch = {(unsigned char *)memory, sizeof memory, 0};
            size_t all = mirrored ? 2 * n : n;
            line_wave l;
            draw_wave(s, n, 3.14159265358979324, n % 2);
            full[2 * n].duration = written[all].duration = -7.0; /* nothing is written beyond */
            mirror_unfold(s, n, factor, full);
            for (size_t k = 0; k < n; k++) {
                ck_assert(full[k].omega == s[k].omega && full[n + k].omega == s[k].omega);
                expect_piece(&full[k], &s[k], factor);
                expect_piece(&full[n + k], &s[k], -factor);
            }
            ck_assert(line_wave_fits(&(hl_wave){all, full}, omega, &l) && line_wave_read(&scratch, &l));
            ck_assert(l.mirrored == mirrored);
            line_write(&l, &l.piece, written);
            for (size_t k = 0; k < all; k++) {
                ck_assert(written[k].omega == omega);
                expect_piece(&written[k], &full[k], 1.0);
            }
            ck_assert(full[2 * n].duration == -7.0 && written[all].duration == -7.0);
        }
}
END_TEST

/* Memcheck counts long double in the 53 bits of double, too few for the check below. */
static bool long_is_longer(void)
{
    volatile long double one = 1.0L;
    return one + LDBL_EPSILON > one;
}

/* Over -y to y of g = 1 - cos x and h = x - sin x, by Gauss's rule of five points over pieces, in more
 * digits: below a half to rounding of their own, above to that of y. source: Abramowitz and Stegun (1964),
 * table 25.4 */
START_TEST(moments_of_a_piece_are_integrals)
{
    static const long double node[] = {0.0L, 0.538469310105683091036L, 0.906179845938663992798L};
    static const long double weight[] = {0.568888888888888888889L, 0.478628670499366468041L,
                                         0.236926885056189087514L};
    if (!long_is_longer()) return;
    for (double y = 0.02; y < 3.2; y += y < 0.6 ? 0.02 : 0.1) {
        enum { EACH = 40 };
        long double g = 0, g_square = 0, xh = 0, h_square = 0, half = y / (2.0L * EACH);
        for (int k = 0; k < EACH; k++)
            for (int j = -2; j <= 2; j++) {
                long double x = half * (2 * k + 1 + (j < 0 ? -node[-j] : node[j])),
                            w = 2 * half * weight[abs(j)];
                long double s = sinl(0.5L * x), a = 2 * s * s, b = x - sinl(x);
                g += w * a;
                g_square += w * a * a;
                xh += w * x * b;
                h_square += w * b * b;
            }
        line_moments m = line_moments_of(y, cos(y), sin(y));
        bool series = y <= 0.5;
        double relative = series ? 2e-15 : 0.0, absolute = series ? 0.0 : 1e-14;
        ck_near(m.g, (double)g, relative, absolute);
        ck_near(m.g_square, (double)g_square, relative, absolute);
        ck_near(m.xh, (double)xh, relative, absolute);
        ck_near(m.h_square, (double)h_square, relative, absolute);
    }
}
END_TEST

/* Where a piece turns, also where it does so twice or thrice, its largest magnitude there is that of a fine
 * comb, which misses 4e-6 at most; where it turns nowhere there is none. */
START_TEST(a_piece_reaches_its_top_where_it_turns)
{
    enum { TEETH = 4000 };
    int turning = 0, twice = 0, still = 0;
    seed = 7;
    for (int run = 0; run < 3000; run++) {
        double angle = any(0.1, 9), A = any(-1, 1), B = any(-1, 1), p = any(-1, 1), offset = any(-1, 1),
               top = 0;
        int turns = 0;
        for (int k = 0; k < TEETH; k++) {
            double x = angle * k / TEETH, then = angle * (k + 1) / TEETH;
            bool turns_here = (p + B * cos(x) - A * sin(x) > 0) != (p + B * cos(then) - A * sin(then) > 0);
            if (turns_here) top = fmax(top, fabs(offset + p * x + A * cos(x) + B * sin(x)));
            turns += turns_here;
        }
        double found = line_piece_top(offset, p, A, B, angle, cos(angle));
        ck_near(found, top, 0, 4e-6);
        ck_assert(turns || found == 0.0);
        turning += turns == 1;
        twice += turns > 1;
        still += turns == 0;
    }
    ck_assert(turning > 300 && twice > 300 && still > 300);
}
END_TEST

START_TEST(a_wave_of_another_kind_is_left_alone)
{
    hl_segment s = {.duration = 0.02, .omega = 2.0 * omega, .sine = 1.0};
    const hl_wave wave = {1, &s};
    line_wave l;
    ck_assert(!line_wave_fits(&wave, omega, &l));
    s.omega = omega * (1.0 + 1e-8);
    ck_assert(!line_wave_fits(&wave, omega, &l));
    s.omega = omega * (1.0 - 1e-10); /* the mains' own, but for rounding */
    ck_assert(line_wave_fits(&wave, omega, &l));
    s.omega = omega;
    ck_assert(!line_wave_fits(&wave, 0.0, &l));
    ck_assert(!line_wave_fits(&(hl_wave){0, NULL}, omega, &l));
    s.decay = 1.0;
    ck_assert(!line_wave_fits(&wave, omega, &l));
    s.decay = 0.0;
    s.duration = NAN;
    ck_assert(!line_wave_fits(&wave, omega, &l));
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, pieces_on_the_mains_sine_measure_as_any_wave, 0, SEEDS);
    tcase_add_test(tests, pieces_are_written_and_unfolded_to_the_bit);
    tcase_add_test(tests, moments_of_a_piece_are_integrals);
    tcase_add_test(tests, a_piece_reaches_its_top_where_it_turns);
    tcase_add_test(tests, a_wave_of_another_kind_is_left_alone);
}

int main(void)
{
    return story_main("line_wave", fill);
}
