/* check_wave.c - every closed form of core/wave against adaptive quadrature and at its limits. */
#include <float.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdint.h>
#include <string.h>
#include <time.h>

#include "heatledger/plugin.h"
#include "story.h"

static const double pi = 3.14159265358979323846;

/* ------------------------------------------------------------ the reference -- */

/* The definition of a segment, written out again, so that a wrong value does not agree with itself. */
static double defined_value(const hl_segment *s, double t)
{
    return s->offset + s->slope * t +
           exp(-s->decay * t) * (s->cosine * cos(s->omega * t) + s->sine * sin(s->omega * t));
}

typedef enum kind { VALUE, SQUARE, POWER, COSINE, SINE } kind;

typedef struct integrand {
    const hl_segment *segment;
    kind what;
    double power;   /* POWER */
    double angular; /* COSINE, SINE: k w */
    double begin;   /* start of the segment in the wave */
    double least;   /* an error this small will do; 0: 1e-13 of the integral, out of reach where it cancels */
} integrand;

static double evaluate(double t, void *context)
{
    const integrand *f = context;
    double v = defined_value(f->segment, t);
    switch (f->what) {
    case VALUE:
        return v;
    case SQUARE:
        return v * v;
    case POWER:
        return pow(fabs(v), f->power);
    case COSINE:
        return v * cos(f->angular * (f->begin + t));
    case SINE:
        return v * sin(f->angular * (f->begin + t));
    }
    return NAN;
}

enum { LIMIT = 1000 };
static gsl_integration_cquad_workspace *workspace;
static gsl_integration_workspace *extrapolation;

static double quadrature(integrand *f, double from, double to)
{
    if (!(to > from)) return 0.0;
    gsl_function call = {evaluate, f};
    double result = NAN, error;
    if (f->what == POWER) { /* a branch point at the ends: extrapolation */
        int status = gsl_integration_qags(&call, from, to, 0.0, 1e-12, LIMIT, extrapolation, &result, &error);
        ck_assert_msg(error <= 2e-11 * fabs(result), "quadrature: %s, error %g of %g", gsl_strerror(status),
                      error, result);
    } else {
        size_t evaluations;
        int status =
            gsl_integration_cquad(&call, from, to, f->least, 1e-13, workspace, &result, &error, &evaluations);
        ck_assert_msg(status == GSL_SUCCESS || status == GSL_EDIVERGE, "quadrature: %s",
                      gsl_strerror(status));
    }
    return result;
}

enum { ZEROS_MAX = 400 };

/* Sign changes on a fine grid, each bisected to the last bit. */
static size_t scanned_zeros(const hl_segment *s, double zeros[ZEROS_MAX])
{
    enum { GRID = 1000 };
    size_t n = 0;
    for (int i = 0; i < GRID; i++) {
        double low = s->duration * i / GRID, high = s->duration * (i + 1) / GRID;
        double left = defined_value(s, low), right = defined_value(s, high);
        if (!(left * right < 0.0)) continue;
        for (int step = 0; step < 80; step++) {
            double middle = 0.5 * (low + high);
            if (defined_value(s, middle) * left > 0.0)
                low = middle;
            else
                high = middle;
        }
        if (n < ZEROS_MAX) zeros[n++] = 0.5 * (low + high);
    }
    return n;
}

/* Integral over the wave of what `f` says; cut at zeros when the integrand has a kink there. */
static double integral(const hl_wave *wave, integrand f)
{
    double sum = 0.0;
    f.begin = 0.0;
    for (size_t i = 0; i < wave->n; i++) {
        f.segment = &wave->segment[i];
        double zeros[ZEROS_MAX], from = 0.0;
        size_t n = f.what == POWER ? scanned_zeros(f.segment, zeros) : 0;
        for (size_t z = 0; z < n; z++) {
            sum += quadrature(&f, from, zeros[z]);
            from = zeros[z];
        }
        sum += quadrature(&f, from, f.segment->duration);
        f.begin += f.segment->duration;
    }
    return sum;
}

static double reference_swing(const hl_wave *wave)
{
    double now = 0.0, high = 0.0, low = 0.0;
    for (size_t i = 0; i < wave->n; i++) {
        integrand f = {.segment = &wave->segment[i], .what = VALUE};
        double stops[ZEROS_MAX + 1], from = 0.0;
        size_t n = scanned_zeros(f.segment, stops);
        stops[n] = f.segment->duration;
        for (size_t z = 0; z <= n; z++) {
            now += quadrature(&f, from, stops[z]);
            from = stops[z];
            high = fmax(high, now);
            low = fmin(low, now);
        }
    }
    return high - low;
}

/* Largest of sign * value between low and high, where it has one hump: golden section. */
static double hump(const hl_segment *s, double sign, double low, double high)
{
    double top = -INFINITY;
    for (int step = 0; step < 80; step++) {
        double a = low + 0.381966011250105 * (high - low), b = high - 0.381966011250105 * (high - low);
        double va = sign * defined_value(s, a), vb = sign * defined_value(s, b);
        top = fmax(top, fmax(va, vb));
        if (va > vb)
            high = b;
        else
            low = a;
    }
    return top;
}

/* Largest (sign 1) or smallest (sign -1) value: every hump of a fine grid, refined. */
static double reference_peak(const hl_wave *wave, double sign)
{
    enum { GRID = 1000 };
    double best = -INFINITY;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        double step = s->duration / GRID, left = sign * defined_value(s, 0.0), middle = left;
        best = fmax(best, fmax(left, sign * defined_value(s, s->duration)));
        best = fmax(best, fmax(hump(s, sign, 0.0, step), hump(s, sign, step * (GRID - 1), s->duration)));
        for (int k = 1; k <= GRID; k++) {
            double right = sign * defined_value(s, step * k);
            if (middle >= left && middle >= right)
                best = fmax(best, hump(s, sign, step * (k >= 2 ? k - 2 : 0), step * k));
            left = middle;
            middle = right;
        }
    }
    return sign * best;
}

/* ------------------------------------------------------------- random waves -- */

typedef struct chance {
    uint64_t state;
} chance;

/* xorshift64*, from memory; only its repeatability matters. */
static double uniform(chance *c)
{
    c->state ^= c->state >> 12;
    c->state ^= c->state << 25;
    c->state ^= c->state >> 27;
    return (double)((c->state * 2685821657736338717ull) >> 11) / 9007199254740992.0;
}

static double between(chance *c, double low, double high)
{
    return low + (high - low) * uniform(c);
}

enum { SEGMENTS = 6 };

/* Shapes that occur in converters, times of about a second so that tolerances read plainly.  A third of the
 * curved ones are put where the closed forms are 0/0: no damping, no turning, ringing exactly on a harmonic,
 * a very short stretch. */
static hl_wave random_wave(chance *c, hl_segment s[SEGMENTS])
{
    size_t n = 1 + (size_t)(uniform(c) * SEGMENTS);
    memset(s, 0, SEGMENTS * sizeof *s);
    double period = 0.0;
    for (size_t i = 0; i < n; i++) {
        s[i].duration = uniform(c) < 0.2 ? pow(10.0, between(c, -9.0, -2.0)) : between(c, 0.05, 1.0);
        period += s[i].duration;
    }
    for (size_t i = 0; i < n; i++) {
        s[i].offset = uniform(c) < 0.3 ? 0.0 : between(c, -3.0, 3.0);
        s[i].slope = uniform(c) < 0.4 ? 0.0 : between(c, -4.0, 4.0);
        if (uniform(c) < 0.35) continue;
        s[i].cosine = between(c, -3.0, 3.0);
        s[i].sine = between(c, -3.0, 3.0);
        s[i].decay = uniform(c) < 0.3 ? 0.0 : between(c, -2.0, 6.0);
        s[i].omega = uniform(c) < 0.2 ? 0.0 : between(c, 0.1, 40.0);
        double special = uniform(c);
        if (special < 0.12)
            s[i].decay = between(c, -1e-9, 1e-9);
        else if (special < 0.24)
            s[i].omega = 2.0 * pi / period * floor(between(c, 1.0, 8.0));
        else if (special < 0.30)
            s[i].omega = 1e-9;
        if (special > 0.15 && special < 0.24) s[i].decay = between(c, -1e-8, 1e-8);
    }
    return (hl_wave){n, s};
}

static double size_of(const hl_wave *wave)
{
    return fmax(fabs(reference_peak(wave, 1.0)), fabs(reference_peak(wave, -1.0)));
}

/* |actual - expected| <= 1e-10 of the scale, with the seed in the message. */
static void near_scale(const char *what, uint64_t seed, double actual, double expected, double scale)
{
    ck_assert_msg(fabs(actual - expected) <= 1e-10 * scale,
                  "%s, seed %llu: %.17g, expected %.17g (%.2g of scale)", what, (unsigned long long)seed,
                  actual, expected, fabs(actual - expected) / scale);
}

enum { WAVES = STORY_DRAWS(150), HARMONICS = 12 };

START_TEST(average_and_rms_match_quadrature)
{
    for (uint64_t seed = 1; seed <= WAVES; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s[SEGMENTS];
        hl_wave wave = random_wave(&c, s);
        double period = hl_wave_period(&wave), size = size_of(&wave);
        near_scale("average", seed, hl_wave_average(&wave),
                   integral(&wave, (integrand){.what = VALUE, .least = 1e-13 * size * period}) / period,
                   size);
        double mean_square = integral(&wave, (integrand){.what = SQUARE}) / period;
        near_scale("rms", seed, hl_wave_rms(&wave), sqrt(mean_square), sqrt(mean_square));
        near_scale("mean square", seed, hl_wave_mean_square(&wave), mean_square, mean_square);
    }
}
END_TEST

START_TEST(harmonics_match_quadrature)
{
    for (uint64_t seed = 1; seed <= WAVES / 3; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s[SEGMENTS];
        hl_wave wave = random_wave(&c, s);
        double period = hl_wave_period(&wave), size = size_of(&wave), least = 1e-13 * size * period;
        double cosine[HARMONICS], sine[HARMONICS];
        hl_wave_fourier(&wave, HARMONICS, cosine, sine);
        for (int k = 1; k <= HARMONICS; k++) {
            double w = 2.0 * pi * k / period;
            double a =
                integral(&wave, (integrand){.what = COSINE, .angular = w, .least = least}) * 2.0 / period;
            double b =
                integral(&wave, (integrand){.what = SINE, .angular = w, .least = least}) * 2.0 / period;
            near_scale("cosine term", seed, cosine[k - 1], a, size);
            near_scale("sine term", seed, sine[k - 1], b, size);
        }
    }
}
END_TEST

START_TEST(power_mean_matches_quadrature)
{
    static const double powers[] = {1.0, 1.31, 1.7, 2.0, 2.6, 3.0};
    for (uint64_t seed = 1; seed <= WAVES / 3; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s[SEGMENTS];
        hl_wave wave = random_wave(&c, s);
        double period = hl_wave_period(&wave);
        for (size_t i = 0; i < sizeof powers / sizeof *powers; i++) {
            double mean = integral(&wave, (integrand){.what = POWER, .power = powers[i]}) / period;
            near_scale("power mean", seed, hl_wave_power_mean(&wave, powers[i]), mean, mean);
        }
    }
}
END_TEST

/* Values that stay near a level take a shorter way; here they go up to its border and beyond, at every
 * |lambda| T and with damping of both signs.  1e-11: the quadrature's own 1e-12 and the 6e-13 of eq. 15a. */
START_TEST(power_mean_of_a_steady_value_matches_quadrature)
{
    for (uint64_t seed = 1; seed <= WAVES / 3; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        double size = 0.3 * between(&c, 0, 1), phase = between(&c, 0, 2 * pi), p = between(&c, 0.5, 3);
        hl_segment s = {.duration = between(&c, 0.1, 1),
                        .offset = between(&c, 0, 1) < 0.5 ? 1 : -1,
                        .slope = between(&c, -0.1, 0.1),
                        .decay = between(&c, -1, 4),
                        .omega = between(&c, 0, 6),
                        .cosine = size * cos(phase),
                        .sine = size * sin(phase)};
        if (seed % 5 == 0) s.decay = 1.01 * s.omega; /* as fast as it turns */
        hl_wave wave = {1, &s};
        double mean = integral(&wave, (integrand){.what = POWER, .power = p}) / s.duration;
        ck_assert_msg(fabs(hl_wave_power_mean(&wave, p) - mean) <= 1e-11 * mean,
                      "seed %llu: %.17g, not %.17g", (unsigned long long)seed, hl_wave_power_mean(&wave, p),
                      mean);
    }
}
END_TEST

/* Ringings about zero go half wave by half wave, pure decays in closed form; damped in a half wave by little,
 * much, and more than that way takes. */
START_TEST(power_mean_of_a_ringing_about_zero_matches_quadrature)
{
    for (uint64_t seed = 1; seed <= WAVES / 3; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        double phase = between(&c, 0, 2 * pi), p = between(&c, 1, 3);
        hl_segment s = {.duration = between(&c, 0.1, 1),
                        .decay = between(&c, -0.5, 1) * (seed % 3 ? 1 : 10),
                        .omega = seed % 5 ? between(&c, 1, 40) : 0,
                        .cosine = 3 * cos(phase),
                        .sine = 3 * sin(phase)};
        if (seed % 7 == 0) s.cosine = s.omega > 0 ? 0 : s.cosine;
        hl_wave wave = {1, &s};
        double mean = integral(&wave, (integrand){.what = POWER, .power = p}) / s.duration;
        ck_assert_msg(fabs(hl_wave_power_mean(&wave, p) - mean) <= 1e-10 * mean,
                      "seed %llu: %.17g, not %.17g", (unsigned long long)seed, hl_wave_power_mean(&wave, p),
                      mean);
    }
}
END_TEST

START_TEST(peaks_and_swing_match_a_dense_scan)
{
    for (uint64_t seed = 1; seed <= WAVES; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s[SEGMENTS];
        hl_wave wave = random_wave(&c, s);
        double high, low, swing = reference_swing(&wave), size = size_of(&wave);
        hl_wave_peaks(&wave, &high, &low);
        near_scale("highest", seed, high, reference_peak(&wave, 1.0), size);
        near_scale("lowest", seed, low, reference_peak(&wave, -1.0), size);
        near_scale("swing", seed, hl_wave_integral_swing(&wave), swing,
                   fmax(swing, size * hl_wave_period(&wave)));
    }
}
END_TEST

START_TEST(value_follows_the_segments)
{
    hl_segment s[] = {{.duration = 1.0, .offset = 2.0, .slope = 3.0},
                      {.duration = 0.5, .cosine = 4.0, .sine = 1.0, .decay = 0.7, .omega = 9.0}};
    hl_wave wave = {2, s};
    ck_near(hl_wave_at(&wave, 0.0), 2.0, 1e-15, 0.0);
    ck_near(hl_wave_at(&wave, 0.5), 3.5, 1e-15, 0.0);
    ck_near(hl_wave_at(&wave, 1.0), 4.0, 1e-15, 0.0);
    ck_near(hl_wave_at(&wave, 1.2), defined_value(&s[1], 0.2), 0.0, 1e-14); /* 1.2 - 1 is rounded */
    ck_near(hl_wave_at(&wave, 1.5), defined_value(&s[1], 0.5), 1e-14, 0.0);
    ck_near(hl_wave_at(&wave, 9.0), defined_value(&s[1], 0.5), 1e-14, 0.0);
    ck_near(hl_wave_period(&wave), 1.5, 1e-15, 0.0);
}
END_TEST

/* -------------------------------------------------------------- degenerate -- */

START_TEST(damping_and_turning_may_vanish)
{
    /* each tends to the same wave: 3 + 2 cos-part at rest */
    static const double small[] = {0.0, 1e-300, 1e-18, 1e-12, 1e-9};
    for (size_t i = 0; i < sizeof small / sizeof *small; i++) {
        hl_segment s = {.duration = 1.0,
                        .offset = 3.0,
                        .slope = 1.0,
                        .cosine = 2.0,
                        .decay = small[i],
                        .omega = small[i]};
        hl_wave wave = {1, &s};
        double cosine[3], sine[3];
        hl_wave_fourier(&wave, 3, cosine, sine);
        ck_near(hl_wave_average(&wave), 5.5, 2e-9, 0.0);
        ck_near(hl_wave_rms(&wave), sqrt(91.0 / 3.0), 2e-9, 0.0);
        ck_near(sine[1], -1.0 / (2.0 * pi), 1e-8, 0.0); /* ramp of 1: -1/(k pi) */
        ck_near(hl_wave_power_mean(&wave, 3.0), (1296.0 - 625.0) / 4.0, 6e-9, 0.0);
    }
}
END_TEST

/* A short stretch of a large ringing near its zero: sin(u) over 0..h has mean square
 * 1/2 - sin(2h)/(4h) = h^2/3 - h^4/15 + ..., which the closed form cannot give for small h. */
START_TEST(short_ringing_keeps_its_digits)
{
    for (double h = 1.0; h > 1e-9; h /= 3.0) {
        hl_segment s = {.duration = h, .sine = 1.0, .omega = 1.0};
        double h2 = h * h;
        double series =
            h2 / 3.0 *
            (1.0 - h2 / 5.0 * (1.0 - 2.0 * h2 / 21.0 * (1.0 - h2 / 18.0 * (1.0 - 2.0 * h2 / 55.0))));
        double exact = h > 0.1 ? 0.5 - sin(2.0 * h) / (4.0 * h) : series;
        ck_near(hl_wave_mean_square(&(hl_wave){1, &s}), exact, 1e-12, 0.0);
    }
}
END_TEST

START_TEST(ringing_on_a_harmonic_is_exact)
{
    for (int k = 1; k <= 5; k++) {
        for (double off = 1e-3; off > 1e-17; off /= 10.0) {
            hl_segment s = {.duration = 2.0,
                            .cosine = 3.0,
                            .sine = -4.0,
                            .omega = pi * k * (1.0 + (off > 1e-16 ? off : 0.0))};
            double cosine[6], sine[6];
            hl_wave_fourier(&(hl_wave){1, &s}, 6, cosine, sine);
            integrand f = {.segment = &s, .what = COSINE, .angular = pi * k}, g = f;
            g.what = SINE;
            ck_near(cosine[k - 1], quadrature(&f, 0.0, 2.0), 1e-12, 0.0);
            ck_near(sine[k - 1], quadrature(&g, 0.0, 2.0), 1e-12, 0.0);
        }
    }
}
END_TEST

START_TEST(zero_waves_give_zero)
{
    hl_segment nothing[] = {{.duration = 0.0, .offset = 5.0}, {.duration = NAN, .offset = 5.0}};
    hl_wave waves[] = {{0, NULL}, {1, nothing}, {2, nothing}};
    for (size_t i = 0; i < 3; i++) {
        double high = 1, low = 1, cosine[2] = {1, 1}, sine[2] = {1, 1};
        hl_wave_peaks(&waves[i], &high, &low);
        hl_wave_fourier(&waves[i], 2, cosine, sine);
        ck_assert(high == 0.0 && low == 0.0 && cosine[1] == 0.0 && sine[0] == 0.0);
        ck_assert(hl_wave_average(&waves[i]) == 0.0 && hl_wave_rms(&waves[i]) == 0.0);
        ck_assert(hl_wave_power_mean(&waves[i], 1.5) == 0.0 && hl_wave_integral_swing(&waves[i]) == 0.0);
        ck_assert(hl_wave_at(&waves[i], 0.5) == 0.0 && hl_wave_period(&waves[i]) == 0.0);
    }
}
END_TEST

/* Values no circuit has must neither hang nor crash; the figures may be anything. */
START_TEST(wild_numbers_end)
{
    static const double wild[] = {0.0, 1e-300, 1.0, -1.0, 1e9, -1e9, 1e300, -1e300, INFINITY, -INFINITY, NAN};
    enum { N = sizeof wild / sizeof *wild };
    chance c = {12345};
    for (int i = 0; i < STORY_DRAWS(400); i++) {
        double v[7];
        for (int k = 0; k < 7; k++) v[k] = wild[(size_t)(uniform(&c) * N)];
        hl_segment s = {fabs(v[0]), v[1], v[2], v[3], fabs(v[4]), v[5], v[6]};
        hl_wave wave = {1, &s};
        double high, low, cosine[4], sine[4];
        hl_wave_peaks(&wave, &high, &low);
        hl_wave_fourier(&wave, 4, cosine, sine);
        (void)hl_wave_power_mean(&wave, 1.6);
        (void)hl_wave_integral_swing(&wave);
        (void)hl_wave_rms(&wave);
    }
}
END_TEST

/* Long ringing is walked window by window: 10000 periods, each with the same swing. */
START_TEST(long_ringing_is_followed)
{
    hl_segment s = {.duration = 5000.0, .sine = 2.0, .omega = 2.0 * pi, .offset = 0.5};
    hl_wave wave = {1, &s};
    double high, low;
    hl_wave_peaks(&wave, &high, &low);
    ck_near(high, 2.5, 1e-12, 0.0);
    ck_near(low, -1.5, 1e-12, 0.0);
    hl_segment one = s;
    one.duration = 1.0;
    ck_near(hl_wave_power_mean(&wave, 1.6), hl_wave_power_mean(&(hl_wave){1, &one}, 1.6), 1e-9, 0.0);
    ck_near(hl_wave_integral_swing(&wave), 2500.0, 2e-3, 0.0);
}
END_TEST

/* Only the first and last windows of a long ringing are searched for its peaks: they must be the true ones
 * with any slope, growth or decay. */
START_TEST(peaks_of_long_ringing_match_a_scan)
{
    for (uint64_t seed = 1; seed <= 200; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s = {.duration = 1.0,
                        .omega = between(&c, 30.0, 400.0),
                        .decay = between(&c, -3.0, 3.0),
                        .slope = between(&c, -8.0, 8.0),
                        .cosine = between(&c, -1.0, 1.0),
                        .sine = between(&c, -1.0, 1.0)};
        hl_wave wave = {1, &s};
        double high, low, size = size_of(&wave);
        hl_wave_peaks(&wave, &high, &low);
        near_scale("highest", seed, high, reference_peak(&wave, 1.0), size);
        near_scale("lowest", seed, low, reference_peak(&wave, -1.0), size);
    }
}
END_TEST

/* A wave followed by its mirror is worked out from one half; with an empty piece behind it, from all of it.
 */
START_TEST(a_mirrored_wave_is_what_its_pieces_make_it)
{
    for (uint64_t seed = 1; seed <= 2 * WAVES; seed++) {
        chance c = {seed * 0x9e3779b97f4a7c15ull};
        hl_segment s[2 * SEGMENTS + 1] = {{0}};
        size_t n = random_wave(&c, s).n;
        for (size_t i = 0; i < n; i++) {
            s[n + i] = s[i];
            s[n + i].offset = -s[i].offset, s[n + i].slope = -s[i].slope;
            s[n + i].cosine = -s[i].cosine, s[n + i].sine = -s[i].sine;
        }
        hl_wave half = {2 * n, s}, whole = {2 * n + 1, s};
        double size = size_of(&whole), high[2], low[2], cosine[2][HARMONICS], sine[2][HARMONICS];
        near_scale("average", seed, hl_wave_average(&half), hl_wave_average(&whole), size);
        near_scale("mean square", seed, hl_wave_mean_square(&half), hl_wave_mean_square(&whole), size * size);
        double mean = hl_wave_power_mean(&whole, 1.7);
        near_scale("power mean", seed, hl_wave_power_mean(&half, 1.7), mean, mean);
        hl_wave_peaks(&half, &high[0], &low[0]);
        hl_wave_peaks(&whole, &high[1], &low[1]);
        near_scale("highest", seed, high[0], high[1], size);
        near_scale("lowest", seed, low[0], low[1], size);
        hl_wave_fourier(&half, HARMONICS, cosine[0], sine[0]);
        hl_wave_fourier(&whole, HARMONICS, cosine[1], sine[1]);
        for (int k = 0; k < HARMONICS; k++) {
            near_scale("cosine term", seed, cosine[0][k], cosine[1][k], size);
            near_scale("sine term", seed, sine[0][k], sine[1][k], size);
        }
    }
}
END_TEST

static void fill(TCase *tests)
{
    gsl_set_error_handler_off();
    workspace = gsl_integration_cquad_workspace_alloc(500);
    extrapolation = gsl_integration_workspace_alloc(LIMIT);
    tcase_add_test(tests, average_and_rms_match_quadrature);
    tcase_add_test(tests, harmonics_match_quadrature);
    tcase_add_test(tests, power_mean_matches_quadrature);
    tcase_add_test(tests, power_mean_of_a_steady_value_matches_quadrature);
    tcase_add_test(tests, power_mean_of_a_ringing_about_zero_matches_quadrature);
    tcase_add_test(tests, peaks_and_swing_match_a_dense_scan);
    tcase_add_test(tests, value_follows_the_segments);
    tcase_add_test(tests, damping_and_turning_may_vanish);
    tcase_add_test(tests, short_ringing_keeps_its_digits);
    tcase_add_test(tests, ringing_on_a_harmonic_is_exact);
    tcase_add_test(tests, zero_waves_give_zero);
    tcase_add_test(tests, wild_numbers_end);
    tcase_add_test(tests, long_ringing_is_followed);
    tcase_add_test(tests, peaks_of_long_ringing_match_a_scan);
    tcase_add_test(tests, a_mirrored_wave_is_what_its_pieces_make_it);
}

int main(void)
{
    int failed = story_main("wave", fill);
    gsl_integration_cquad_workspace_free(workspace);
    gsl_integration_workspace_free(extrapolation);
    return failed;
}
