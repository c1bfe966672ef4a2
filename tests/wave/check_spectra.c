/* check_spectra.c - harmonics of several waves at once against those of each alone. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "heatledger/plugin.h"
#include "story.h"

enum { HARMONICS = 43, STRIDE = 48, PIECES = 12, SHORT_MOST = 4, WAVES = HL_WINDINGS_MAX };

typedef struct chance {
    uint64_t state;
} chance;

/* source: G. Marsaglia, J. Stat. Software 8(14), 2003 (xorshift64) */
static double uniform(chance *c)
{
    c->state ^= c->state << 13;
    c->state ^= c->state >> 7;
    c->state ^= c->state << 17;
    return (double)(c->state >> 11) * 0x1p-53;
}

static double between(chance *c, double low, double high)
{
    return low + (high - low) * uniform(c);
}

/* Waves that switch together, as the windings of one converter do: pieces of common length, most of them of a
 * few common ringings, some straight, idle or very short. */
typedef struct windings {
    hl_segment segment[WAVES][2 * PIECES];
    hl_wave wave[WAVES];
    const hl_wave *shown[WAVES];
    double size[WAVES], period;
} windings;

static hl_segment random_piece(chance *c, double duration, double period)
{
    hl_segment s = {.duration = duration};
    double kind = uniform(c);
    if (kind < 0.15) return s;
    s.offset = between(c, -3, 3);
    s.slope = between(c, -3, 3) / duration;
    if (kind < 0.4) return s;
    int ringing = (int)(3.0 * uniform(c));
    s.decay = ringing * between(c, 1, 1) / period;
    s.omega = (ringing == 2 ? 21.7 : ringing == 1 ? 6.9 : 0.02) / period;
    s.cosine = between(c, -5, 5);
    s.sine = between(c, -5, 5);
    if (kind > 0.97) s.omega = 0.0, s.decay = 30.0 / period;
    return s;
}

static void turn_about(hl_segment *s)
{
    s->offset = -s->offset, s->slope = -s->slope, s->cosine = -s->cosine, s->sine = -s->sine;
}

static double size_of(const hl_wave *wave)
{
    double most = 1e-300;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        most = fmax(most, fabs(s->offset) + fabs(s->slope * s->duration) + hypot(s->cosine, s->sine));
    }
    return most;
}

/* Wave 0 is any, 1 any with half waves alike, 2 mirrored, 3 is wave 1 turned about half a period later. */
static void random_windings(windings *w, uint64_t seed)
{
    chance c = {seed * 0x9e3779b97f4a7c15ull};
    size_t half = 1 + (size_t)(uniform(&c) * (PIECES - 1));
    double duration[PIECES];
    w->period = 0.0;
    for (size_t i = 0; i < half; i++) {
        duration[i] = uniform(&c) < 0.1 ? 1e-8 : between(&c, 0.01, 1.0);
        w->period += 2.0 * duration[i];
    }
    for (size_t v = 0; v < WAVES; v++) {
        for (size_t i = 0; i < 2 * half; i++)
            w->segment[v][i] = random_piece(&c, duration[i % half], w->period);
        w->wave[v] = (hl_wave){2 * half, w->segment[v]};
        w->shown[v] = &w->wave[v];
    }
    for (size_t i = 0; i < half; i++) {
        w->segment[2][half + i] = w->segment[2][i];
        turn_about(&w->segment[2][half + i]);
        w->segment[3][i] = w->segment[1][half + i];
        w->segment[3][half + i] = w->segment[1][i];
        turn_about(&w->segment[3][i]);
        turn_about(&w->segment[3][half + i]);
    }
    w->shown[5] = NULL;
    for (size_t v = 0; v < WAVES; v++) w->size[v] = size_of(&w->wave[v]);
}

/* A wave with so many pieces goes piece by piece; those that take no time change nothing. */
static void fourier_by_pieces(const hl_wave *wave, double cosine[], double sine[])
{
    enum { SILENT = 80 };
    hl_segment padded[SILENT + 200] = {{0}};
    ck_assert(wave->n <= 200);
    memcpy(padded + SILENT, wave->segment, wave->n * sizeof *padded);
    hl_wave_fourier(&(hl_wave){SILENT + wave->n, padded}, HARMONICS, cosine, sine);
}

static void ck_same(const windings *w, size_t waves, double tolerance, uint64_t seed)
{
    double cosine[WAVES][STRIDE], sine[WAVES][STRIDE], c[HARMONICS], s[HARMONICS];
    hl_waves_fourier(w->shown, waves, HARMONICS, STRIDE, cosine[0], sine[0]);
    for (size_t v = 0; v < waves; v++) {
        memset(c, 0, sizeof c);
        memset(s, 0, sizeof s);
        if (w->shown[v]) fourier_by_pieces(w->shown[v], c, s);
        for (int k = 0; k < HARMONICS; k++) {
            double off = hypot(cosine[v][k] - c[k], sine[v][k] - s[k]);
            ck_assert_msg(off <= tolerance * w->size[v],
                          "seed %llu, wave %zu, harmonic %d: (%.17g, %.17g), expected (%.17g, %.17g)",
                          (unsigned long long)seed, v, k + 1, cosine[v][k], sine[v][k], c[k], s[k]);
        }
    }
}

/* Amplitudes to 10 and slopes over 1e-8 of the period: 1e-10 of the size is what the steepest leave. */
START_TEST(together_as_alone)
{
    for (uint64_t seed = 1; seed <= 400; seed++) {
        windings w;
        random_windings(&w, seed);
        ck_same(&w, 1 + seed % WAVES, 1e-10, seed);
    }
}
END_TEST

static void ck_lines(const hl_wave *wave, int lines, double size, uint64_t seed, size_t v)
{
    double cosine[HARMONICS], sine[HARMONICS], c[HARMONICS], s[HARMONICS];
    hl_wave_fourier(wave, (size_t)lines, cosine, sine);
    fourier_by_pieces(wave, c, s);
    for (int k = 0; k < lines; k++)
        ck_assert_msg(hypot(cosine[k] - c[k], sine[k] - s[k]) <= 1e-12 * size,
                      "seed %llu, wave %zu, harmonic %d: (%.17g, %.17g), expected (%.17g, %.17g)",
                      (unsigned long long)seed, v, k + 1, cosine[k], sine[k], c[k], s[k]);
}

/* All of them, and as few as a bus asks for. */
static void ck_one(const hl_wave *wave, double size, uint64_t seed, size_t v)
{
    ck_lines(wave, HARMONICS, size, seed, v);
    ck_lines(wave, 9 + (int)(seed % 8), size, seed, v);
}

/* What a ringing leaves of a straight part in a piece as brief as a tank's current takes to turn. */
static void slight_slopes(windings *w, chance *c)
{
    for (size_t v = 0; v < WAVES; v++)
        for (size_t i = 0; i < w->wave[v].n; i++) {
            hl_segment *s = &w->segment[v][i];
            if (s->duration < 1e-3) s->slope *= 1e-8 * between(c, 0.0, 10.0);
        }
}

/* One wave by its corners: a hundred times closer than together. */
START_TEST(one_as_by_pieces)
{
    for (uint64_t seed = 1; seed <= 800; seed++) {
        chance c = {seed};
        windings w;
        random_windings(&w, seed);
        if (seed > 400) slight_slopes(&w, &c);
        for (size_t v = 0; v < WAVES; v++) ck_one(&w.wave[v], w.size[v], seed, v);
    }
}
END_TEST

/* Pieces too brief for a slope to keep its digits, and not brief enough to be level. */
START_TEST(a_few_lines_of_brief_pieces)
{
    for (uint64_t seed = 1; seed <= 400; seed++) {
        chance c = {seed};
        windings w;
        random_windings(&w, seed);
        for (size_t v = 0; v < WAVES; v++) {
            for (size_t i = 0; i < w.wave[v].n; i++) {
                hl_segment *s = &w.segment[v][i];
                if (s->duration > 1e-3) continue;
                s->duration = between(&c, 1e-5, 1e-4);
                s->slope = between(&c, -10.0, 10.0) / s->duration;
            }
            ck_one(&w.wave[v], size_of(&w.wave[v]), seed, v);
        }
    }
}
END_TEST

/* The same where its ringings meet a harmonic, one of them undamped, as the slow current of a bus does. */
START_TEST(one_that_meets_harmonics)
{
    static const double off[] = {0.0, 1e-15, -1e-9, 1e-5, -3e-3, 0.0099, 0.0101, 0.02};
    for (uint64_t seed = 1; seed <= 400; seed++) {
        windings w;
        random_windings(&w, seed);
        double turn = 6.28318530717958648 / w.period, away = off[seed % 8];
        for (size_t v = 0; v < WAVES; v++) {
            for (size_t i = 0; i < w.wave[v].n; i++) {
                hl_segment *s = &w.segment[v][i];
                if (s->omega * w.period > 1.0)
                    s->omega = (s->omega * w.period > 10.0 ? 5.0 + away : 1.0) * turn;
                bool damped = s->omega > 2.0 * turn && seed % 16 < 8;
                if (s->omega * w.period > 1.0) s->decay = damped ? 1e-3 * turn : 0.0;
            }
            ck_one(&w.wave[v], w.size[v], seed, v);
        }
    }
}
END_TEST

/* Nearer a harmonic than the quotient can go, too many pieces, another period: each goes alone. */
START_TEST(what_does_not_fit_goes_alone)
{
    for (int way = 0; way < 4; way++) {
        windings w;
        random_windings(&w, 7);
        hl_segment many[200];
        if (way == 0) {
            w.segment[0][0].decay = 0.0;
            w.segment[0][0].omega = 6.28318530717958648 * 3.0 / w.period * (1.0 + 1e-9);
            w.segment[0][0].cosine = 2.0;
        } else if (way == 1) {
            for (int i = 0; i < 200; i++) many[i] = (hl_segment){w.period / 200, i % 7, i % 3, 0, 0, 0, 0};
            w.wave[0] = (hl_wave){200, many};
        } else if (way == 2) {
            w.segment[0][0].duration *= 1.5;
        } else {
            w.segment[0][0].omega = 1e7 / w.period;
            w.segment[0][0].sine = 1.0;
        }
        for (size_t v = 0; v < WAVES; v++) w.size[v] = fmax(size_of(&w.wave[v]), 10.0);
        ck_same(&w, WAVES, 1e-11, 7);
    }
}
END_TEST

/* As close to a harmonic as the quotient goes, it is off by no more than its rounding. */
START_TEST(near_a_harmonic)
{
    for (double off = 0.3; off > 1e-8; off *= 0.5) {
        hl_segment s[] = {
            {.duration = 0.4, .cosine = 3.0, .sine = -4.0, .omega = 6.28318530717958648 * (2 + off)},
            {.duration = 0.6, .offset = 1.0}};
        windings w = {.wave = {{2, s}}};
        w.shown[0] = &w.wave[0];
        w.size[0] = 5.0;
        ck_same(&w, 1, 1e-11, 0);
    }
}
END_TEST

/* A wave that is another half a period later, with or without turned sign, has its mean square and its
 * harmonics but for their signs; however many pieces its halves have. One that is nearly so goes by itself.
 */
START_TEST(half_a_period_later)
{
    for (int way = 0; way < 3; way++) {
        hl_segment first[] = {{.duration = 0.5},
                              {.duration = 0.2, .offset = 1.0, .cosine = 3.0, .sine = -4.0, .omega = 9.0},
                              {.duration = 0.3, .offset = 2.0, .slope = -6.0}};
        hl_segment second[] = {first[1], first[2], first[0]};
        for (int i = 0; i < 3 && way == 0; i++) turn_about(&second[i]);
        if (way == 2) second[1].slope *= 1.01;
        windings w = {
            .wave = {{3, first}, {3, second}}, .shown = {&w.wave[0], &w.wave[1]}, .size = {6.0, 6.0}};
        ck_same(&w, 2, 1e-12, 0);
        double square[2], own = hl_wave_mean_square(&w.wave[1]);
        hl_waves_mean_square(w.shown, 2, square);
        ck_assert(square[0] == hl_wave_mean_square(&w.wave[0]));
        ck_assert_msg(fabs(square[1] - own) <= 1e-15 * own && (square[1] == square[0]) == (way < 2),
                      "way %d: mean squares %.17g and %.17g, alone %.17g", way, square[0], square[1], own);
    }
}
END_TEST

/* Waves that are each other but for 0.52 of the period are not half a period apart. */
START_TEST(hardly_half_a_period_later)
{
    hl_segment first[] = {{.duration = 0.52},
                          {.duration = 0.2, .offset = 1.0, .cosine = 3.0, .sine = -4.0, .omega = 9.0},
                          {.duration = 0.28, .offset = 2.0, .slope = -6.0}};
    hl_segment second[] = {first[1], first[2], first[0]};
    windings w = {.wave = {{3, first}, {3, second}}, .shown = {&w.wave[0], &w.wave[1]}, .size = {6.0, 6.0}};
    ck_same(&w, 2, 1e-12, 0);
}
END_TEST

/* A mirrored wave is known as one: its average and even harmonics are nought to the bit.  One with any member
 * of any piece off by a thousandth is not. */
START_TEST(mirrored_to_the_bit)
{
    chance c = {99};
    for (int trial = 0; trial < 200; trial++) {
        hl_segment s[8];
        size_t half = 1 + (size_t)(trial % 4);
        double cosine[HARMONICS], sine[HARMONICS];
        for (size_t i = 0; i < half; i++) {
            s[i] = (hl_segment){.duration = between(&c, 0.1, 1),
                                .offset = between(&c, 0.5, 3),
                                .slope = between(&c, 0.5, 3),
                                .decay = between(&c, 0.1, 2),
                                .omega = between(&c, 1, 9),
                                .cosine = between(&c, 0.5, 3),
                                .sine = between(&c, 0.5, 3)};
            s[half + i] = s[i];
            turn_about(&s[half + i]);
        }
        hl_wave wave = {2 * half, s};
        ck_assert(hl_wave_average(&wave) == 0.0);
        hl_wave_fourier(&wave, HARMONICS, cosine, sine);
        for (int k = 1; k < HARMONICS; k += 2) ck_assert(cosine[k] == 0.0 && sine[k] == 0.0);
        hl_segment *off = &s[(size_t)trial / 4 % (2 * half)];
        double *members[] = {&off->duration, &off->offset, &off->slope, &off->decay,
                             &off->omega,    &off->cosine, &off->sine};
        for (int m = 0; m < 7; m++) {
            double kept = *members[m];
            *members[m] *= 1.001;
            ck_assert_msg(fabs(hl_wave_average(&wave)) > 1e-9, "trial %d, member %d", trial, m);
            *members[m] = kept;
        }
    }
}
END_TEST

/* Values no circuit has must neither hang nor crash; the figures may be anything. */
START_TEST(wild_numbers_end)
{
    static const double wild[] = {0.0, 1e-300, 1.0, -1.0, 1e9, -1e9, 1e300, -1e300, INFINITY, -INFINITY, NAN};
    enum { N = sizeof wild / sizeof *wild };
    chance c = {12345};
    for (int i = 0; i < 400; i++) {
        hl_segment s[2][2];
        hl_wave wave[2] = {{2, s[0]}, {2, s[1]}};
        const hl_wave *shown[2] = {&wave[0], &wave[1]};
        for (int k = 0; k < 4; k++) {
            double v[7];
            for (int m = 0; m < 7; m++) v[m] = wild[(size_t)(uniform(&c) * N)];
            s[k / 2][k % 2] = (hl_segment){fabs(v[0]), v[1], v[2], v[3], fabs(v[4]), v[5], v[6]};
        }
        double cosine[2][8], sine[2][8];
        hl_waves_fourier(shown, 2, 7, 8, cosine[0], sine[0]);
    }
}
END_TEST

/* Integral of value e^(-j k w t) over the wave, each piece in `parts` pieces of eight points: no closed form.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4 */
static void fourier_by_points(const hl_wave *wave, int k, double *cosine, double *sine)
{
    static const double node[4] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267,
                                   0.9602898564975363};
    static const double weight[4] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745,
                                     0.1012285362903763};
    double period = hl_wave_period(wave), omega = 2.0 * acos(-1.0) * k / period, time = 0.0;
    *cosine = *sine = 0.0;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        int parts = 2 + (int)(3.0 * k * s->duration / period);
        double half = 0.5 * s->duration / parts;
        for (int m = 0; m < 8 * parts; m++) {
            double at = half * (2 * (m / 8) + 1 + (m % 2 ? node[m % 8 / 2] : -node[m % 8 / 2]));
            double part = weight[m % 8 / 2] * half * 2.0 / period * hl_segment_at(s, at);
            *cosine += part * cos(omega * (time + at));
            *sine += part * sin(omega * (time + at));
        }
        time += s->duration;
    }
}

/* Triangles, trapezoids and pulses, each with a period of its own, some with a piece too steep or one corner
 * too many for the lanes, some missing: as cycles along the mains have them. What slopes over 1e-5 of the
 * period keeps fewer digits. */
START_TEST(straight_cycles_of_any_period)
{
    enum { MOST = 5 };
    for (uint64_t seed = 1; seed <= 200; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s[WAVES][MOST];
        hl_wave wave[WAVES];
        const hl_wave *shown[WAVES];
        double cosine[WAVES][STRIDE], sine[WAVES][STRIDE], size[WAVES];
        size_t waves = 1 + seed % WAVES;
        for (size_t v = 0; v < waves; v++) {
            wave[v] = (hl_wave){1 + (size_t)(uniform(&c) * (seed % 3 ? MOST - 1 : MOST)), s[v]};
            shown[v] = uniform(&c) < 0.1 ? NULL : &wave[v];
            double scale = between(&c, 1e-6, 1e-5);
            for (size_t i = 0; i < wave[v].n; i++) {
                double duration = scale * (seed % 5 == 0 && i == 2 ? 1e-5 : between(&c, 0.05, 1.0));
                s[v][i] = (hl_segment){.duration = duration,
                                       .offset = between(&c, -3, 3),
                                       .slope = uniform(&c) < 0.3 ? 0.0 : between(&c, -3, 3) / duration};
            }
            size[v] = size_of(&wave[v]);
        }
        hl_waves_fourier(shown, waves, HARMONICS, STRIDE, cosine[0], sine[0]);
        for (size_t v = 0; v < waves; v++)
            for (int k = 1; k <= HARMONICS; k++) {
                double a = 0.0, b = 0.0, off;
                if (shown[v]) fourier_by_points(shown[v], k, &a, &b);
                off = hypot(cosine[v][k - 1] - a, sine[v][k - 1] - b);
                ck_assert_msg(off <= (seed % 5 ? 1e-12 : 1e-10) * size[v],
                              "seed %llu, wave %zu of %zu, harmonic %d: off by %.3g",
                              (unsigned long long)seed, v, waves, k, off);
            }
    }
}
END_TEST

/* The squares of triangles with two or three corners, each with a period of its own, against the harmonics,
 * and their mean squares; a wave with a step is refused. */
START_TEST(squares_of_triangles)
{
    enum { LANES = 4 };
    for (uint64_t seed = 1; seed <= 200; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s[LANES][3];
        hl_wave wave[LANES];
        const hl_wave *shown[LANES];
        double cosine[LANES][STRIDE], sine[LANES][STRIDE], square[LANES][STRIDE], alone[LANES][STRIDE];
        double mean[LANES];
        for (size_t v = 0; v < LANES; v++) {
            double value = between(&c, -3, 3), first = value, scale = between(&c, 1e-6, 1e-5);
            wave[v] = (hl_wave){seed % 2 ? 3 : 2, s[v]};
            shown[v] = &wave[v];
            for (size_t i = 0; i < wave[v].n; i++) {
                double duration = scale * between(&c, 0.05, 1.0);
                double end = i + 1 == wave[v].n ? first : between(&c, -3, 3);
                s[v][i] =
                    (hl_segment){.duration = duration, .offset = value, .slope = (end - value) / duration};
                value = end;
            }
        }
        ck_assert(hl_triangles(shown, LANES, HARMONICS, STRIDE, NULL, alone[0]));
        ck_assert(hl_triangles(shown, LANES, HARMONICS, STRIDE, mean, square[0]));
        hl_waves_fourier(shown, LANES, HARMONICS, STRIDE, cosine[0], sine[0]);
        for (size_t v = 0; v < LANES; v++) {
            ck_near(mean[v], hl_wave_mean_square(&wave[v]), 1e-13, 0);
            for (size_t k = 0; k < HARMONICS; k++) {
                double a = cosine[v][k], b = sine[v][k], size = size_of(&wave[v]);
                ck_assert_double_le(fabs(square[v][k] - (a * a + b * b)), 1e-12 * size * size);
                ck_assert(alone[v][k] == square[v][k]);
            }
        }
        s[1][0].offset += 1e-6;
        ck_assert(!hl_triangles(shown, LANES, HARMONICS, STRIDE, mean, square[0]));
    }
}
END_TEST

/* Powers four at a time against those of the C library, also of numbers that are not for the lanes. */
START_TEST(powers_of_many)
{
    enum { MANY = 7 };
    const double value[MANY] = {1e-9, 0.3, 1.0, 17.5, 4e5, 0.0, 1e-310};
    const double exponent[MANY] = {2.7, -1.3, 5.0, 1.62, 0.9, 1.5, 0.5};
    double power[MANY];
    for (size_t n = 1; n <= MANY; n++) {
        hl_powers(value, exponent, n, power);
        for (size_t i = 0; i < n; i++) {
            double want = pow(value[i], exponent[i]);
            ck_assert_double_le(fabs(power[i] - want), 1e-13 * want);
        }
    }
}
END_TEST

/* Pieces short against what rings in them, as an inductor between capacitors has them: one to four, and some
 * that are a little too long or too brief for that. */
START_TEST(pieces_that_hardly_ring)
{
    for (uint64_t seed = 1; seed <= 300; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s[SHORT_MOST];
        hl_wave wave = {1 + (size_t)(uniform(&c) * SHORT_MOST), s};
        double cosine[HARMONICS], sine[HARMONICS], scale = between(&c, 1e-6, 1e-5);
        for (size_t i = 0; i < wave.n; i++) {
            double duration = scale * (seed % 7 == 0 && i == 1 ? 1e-3 : between(&c, 0.05, 1.0));
            double rings = uniform(&c) < 0.1 ? 0.2 : 0.05;
            s[i] = (hl_segment){.duration = duration,
                                .offset = between(&c, -3, 3),
                                .slope = between(&c, -3, 3) / duration,
                                .cosine = between(&c, -3, 3),
                                .sine = between(&c, -60, 60),
                                .decay = between(&c, -rings, rings) / duration,
                                .omega = between(&c, 0, rings) / duration};
            if (uniform(&c) < 0.1) s[i] = (hl_segment){.duration = duration, .offset = s[i].offset};
        }
        hl_wave_fourier(&wave, HARMONICS, cosine, sine);
        for (int k = 1; k <= HARMONICS; k++) {
            double a, b, off;
            fourier_by_points(&wave, k, &a, &b);
            off = hypot(cosine[k - 1] - a, sine[k - 1] - b);
            ck_assert_msg(off <= (seed % 7 ? 1e-12 : 1e-11) * size_of(&wave),
                          "seed %llu, harmonic %d: off by %.3g", (unsigned long long)seed, k, off);
        }
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, pieces_that_hardly_ring);
    tcase_add_test(tests, squares_of_triangles);
    tcase_add_test(tests, powers_of_many);
    tcase_add_test(tests, straight_cycles_of_any_period);
    tcase_add_test(tests, together_as_alone);
    tcase_add_test(tests, one_as_by_pieces);
    tcase_add_test(tests, a_few_lines_of_brief_pieces);
    tcase_add_test(tests, one_that_meets_harmonics);
    tcase_add_test(tests, what_does_not_fit_goes_alone);
    tcase_add_test(tests, near_a_harmonic);
    tcase_add_test(tests, half_a_period_later);
    tcase_add_test(tests, hardly_half_a_period_later);
    tcase_add_test(tests, mirrored_to_the_bit);
    tcase_add_test(tests, wild_numbers_end);
}

int main(void)
{
    return story_main("spectra", fill);
}
