/* check_steinmetz.c - core loss of any waveform against reference solutions and published points. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "../../plugins/magnetics/steinmetz.h"
#include "lottery.h"
#include "magnetic_bench.h"
#include "published.h"
#include "story.h"

static const double pi = 3.14159265358979324;
static magnetic_bench *bench;
enum { LINE_CYCLES = 400 };

static void set_up(void)
{
    bench = magnetic_bench_create("gapped_inductor");
    magnetic_bench_set(bench, "turns", 10);
    magnetic_bench_set(bench, "core_area", 1e-4);
    magnetic_bench_set(bench, "core_volume", 1.0); /* so that W is W/m^3 */
    magnetic_bench_set(bench, "core_path_length", 0.05);
    magnetic_bench_set(bench, "inductance", 1e-4);
    magnetic_bench_set(bench, "dc_resistance", 0.01);
}

static void tear_down(void)
{
    magnetic_bench_destroy(bench);
}

static double number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (json_is_object(value)) value = json_object_get(value, "value");
    ck_assert_msg(json_is_number(value), "no number %s", key);
    return json_number_value(value);
}

static void material(double k, double alpha, double beta)
{
    magnetic_bench_set(bench, "steinmetz_k", k);
    magnetic_bench_set(bench, "steinmetz_alpha", alpha);
    magnetic_bench_set(bench, "steinmetz_beta", beta);
}

/* Voltage whose flux is given: turns x area = 1e-3 m^2. */
static hl_wave voltage_of(const json_t *in)
{
    const char *shape = json_string_value(json_object_get(in, "waveform"));
    const double linkage = 1e-3;
    double f = number(in, "f");
    if (strcmp(shape, "sine") == 0)
        return magnetic_bench_sine(bench, f, 2 * pi * f * 0.5 * number(in, "Bpp") * linkage / sqrt(2.0));
    hl_segment *s = magnetic_bench_segments(bench, 16);
    hl_wave wave = {0, s};
    if (strcmp(shape, "pwl") == 0) {
        const json_t *points = json_object_get(in, "points");
        for (size_t i = 0; i + 1 < json_array_size(points); i++) {
            const json_t *a = json_array_get(points, i), *b = json_array_get(points, i + 1);
            double t0 = json_number_value(json_array_get(a, 0)), t1 = json_number_value(json_array_get(b, 0));
            double b0 = json_number_value(json_array_get(a, 1)), b1 = json_number_value(json_array_get(b, 1));
            s[wave.n++] =
                (hl_segment){.duration = (t1 - t0) / f, .offset = (b1 - b0) * f / (t1 - t0) * linkage};
        }
    } else if (strcmp(shape, "half_sine_flux") == 0) {
        double lobe = number(in, "dr") / f, omega = pi / lobe, peak = number(in, "Bpp") * linkage * omega / 2;
        for (int half = 0; half < 2; half++) {
            s[wave.n++] = (hl_segment){.duration = lobe, .omega = omega, .sine = half ? -peak : peak};
            if (0.5 / f - lobe > 1e-12 / f) s[wave.n++] = (hl_segment){.duration = 0.5 / f - lobe};
        }
    } else {
        ck_assert_str_eq(shape, "llc_magnetizing");
        double first = 0.5 * number(in, "x") / f, rest = 0.5 / f - first, omega = number(in, "om_rel") / rest;
        double peak = number(in, "Bpp") * linkage / (first + sin(omega * rest) / omega);
        for (int half = 0; half < 2; half++) {
            double v = half ? -peak : peak;
            s[wave.n++] = (hl_segment){.duration = first, .offset = v};
            s[wave.n++] = (hl_segment){.duration = rest, .omega = omega, .cosine = v};
        }
    }
    return wave;
}

/* Boost inductor in continuous conduction along a half line period, midpoints in line angle. */
static void line_stress(const json_t *in)
{
    double f = number(in, "f"), crest = sqrt(2.0) * number(in, "Vac"), out = number(in, "Vo");
    magnetic_bench_set(bench, "turns", number(in, "N"));
    magnetic_bench_set(bench, "core_area", number(in, "Ae"));
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, LINE_CYCLES, 0, f);
    for (size_t k = 0; k < LINE_CYCLES; k++) {
        double v = crest * sin(pi * ((double)k + 0.5) / LINE_CYCLES), duty = 1.0 - v / out;
        bench->flux[k] =
            magnetic_bench_steps(bench, f, 2, (double[]){duty, 1.0 - duty}, (double[]){v, v - out});
    }
}

/* An excursion that misses its way back by rounding is a loop of its own all the same. */
START_TEST(rounding_opens_no_loop)
{
    double loss[2], swing, short_of[2] = {0, 1e-12};
    for (int k = 0; k < 2; k++) {
        double back = 0.3e-6 * (1 - short_of[k]);
        hl_segment s[] = {{.duration = 1e-6, .offset = 10},
                          {.duration = 1e-6, .offset = -10},
                          {.duration = 0.3e-6, .offset = 10},
                          {.duration = back, .offset = -10}};
        hl_wave wave = {4, s};
        loss[k] = steinmetz_cycle(&wave, 1.4, 2.5, &swing);
        ck_near(swing, 1e-5, 1e-9, 0);
    }
    ck_near(loss[1], loss[0], 1e-9, 0);
    /* ten volts all the time; a swing of 10 uV s for 2 us, one of 3 uV s for 0.6 us */
    double share = (2 * pow(1e-5, 1.1) + 0.6 * pow(0.3e-5, 1.1)) / 2.6;
    ck_near(loss[0], pow(10, 1.4) * share, 1e-9, 0);
}
END_TEST

/* Reference: quadrature of the same law, good to 1e-12; the line case by its own quadrature. */
START_TEST(every_reference_wave_matches)
{
    json_error_t error;
    json_t *reference = json_load_file(HL_TEST_SOURCE "/reference/F_igse_open.json", 0, &error), *test;
    if (!reference) ck_abort_msg("F_igse_open.json: %s", error.text);
    size_t i;
    json_array_foreach(json_object_get(reference, "cases"), i, test)
    {
        json_t *in = json_object_get(test, "inputs"), *out = json_object_get(test, "outputs");
        double k = number(in, "k"), alpha = number(in, "alpha"), beta = number(in, "beta");
        ck_near(steinmetz_ki(k, alpha, beta), number(out, "ki"), 1e-11, 0);
        bool line = strcmp(json_string_value(json_object_get(in, "waveform")), "pfc_line") == 0;
        material(k, alpha, beta);
        magnetic_bench_prepare(bench);
        if (line) {
            line_stress(in);
        } else {
            magnetic_bench_stress(bench, 1, 0, number(in, "f"));
            bench->flux[0] = voltage_of(in);
            double swing;
            steinmetz_cycle(&bench->flux[0], alpha, beta, &swing);
            ck_near(swing / 1e-3, number(out, "Bpp"), 1e-12, 0);
        }
        hl_loss loss = magnetic_bench_loss(bench, 320.0);
        ck_near(loss.watts[HL_CORE], number(out, "Pv"), line ? 1e-4 : 1e-9, 0);
    }
    ck_assert_uint_eq(i, 9);
    json_decref(reference);
}
END_TEST

/* J. Muehlethaler, J. Biela, J. W. Kolar, A. Ecklebe, APEC 2011, table I: ki 8.41, alpha 1.09, beta 2.16,
 * measured and calculated at symmetric triangles; printed 5.98, 16.2 and (a slip: 7.28 for 72.8) kW/m^3. The
 * parameters are printed with three digits, which is worth 1.3 %. */
START_TEST(published_triangle_losses)
{
    const double swing[] = {0.1, 0.1, 0.2}, f[] = {20e3, 50e3, 50e3}, printed[] = {5980, 16200, 72800};
    double alpha = 1.09, beta = 2.16;
    for (size_t i = 0; i < 3; i++) {
        material(8.41 / steinmetz_ki(1.0, alpha, beta), alpha, beta);
        magnetic_bench_prepare(bench);
        magnetic_bench_stress(bench, 1, 0, f[i]);
        double v = 2.0 * f[i] * swing[i] * 1e-3;
        bench->flux[0] = magnetic_bench_steps(bench, f[i], 2, (double[]){0.5, 0.5}, (double[]){v, -v});
        ck_published("J. Muehlethaler and others, APEC 2011, table I: triangles, W/m^3",
                     magnetic_bench_watts(bench, 300.0), printed[i], 0.013, 0);
    }
}
END_TEST

/* L. H. Dixon, Magnetics Design Handbook, 2001, section 5, discontinuous flyback: 0.16 W/cm^3 at 0.13 T peak,
 * 3.48 cm^3, printed 560 mW. A. Bouziani, LLC report, 2026: 700 kW/m^3 at 222.3 mT, 67.745 cm^3, 47.42 W. A
 * sine of the same peak flux as the curve was read at, so the loss point alone decides. */
START_TEST(published_core_losses_from_a_loss_point)
{
    const double density[] = {160e3, 700e3}, flux[] = {0.13, 0.2223}, volume[] = {3.48e-6, 67.745e-6};
    const double printed[] = {0.56, 47.42};
    magnetic_bench_set(bench, "steinmetz_alpha", 1.4);
    magnetic_bench_set(bench, "steinmetz_beta", 2.5);
    magnetic_bench_set(bench, "loss_frequency", 100e3);
    for (size_t i = 0; i < 2; i++) {
        magnetic_bench_set(bench, "loss_density", density[i]);
        magnetic_bench_set(bench, "loss_flux", flux[i]);
        magnetic_bench_set(bench, "core_volume", volume[i]);
        magnetic_bench_prepare(bench);
        magnetic_bench_stress(bench, 1, 0, 100e3);
        bench->flux[0] = magnetic_bench_sine(bench, 100e3, 2 * pi * 100e3 * flux[i] * 1e-3 / sqrt(2.0));
        ck_published("L. H. Dixon, 2001, discontinuous flyback; A. Bouziani, LLC report, 2026: core loss, W",
                     magnetic_bench_watts(bench, 373.15), printed[i], 0.006, 0);
    }
}
END_TEST

/* R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 3rd ed. 2020, section 12.3.2: 0.143 T by
 * 22 turns on 1.27 cm^2 at 800 uVs, then 7.6 W/cm^3/T^2.6 on 9.78 cm^3 gives 0.47 W. They take half the
 * swing of the square wave for the peak of a sine; a sine of that flux is used here. */
START_TEST(published_full_bridge_core_loss)
{
    double f = 75e3, area = 1.27e-4, turns = 22;
    magnetic_bench_set(bench, "turns", turns);
    magnetic_bench_set(bench, "core_area", area);
    magnetic_bench_set(bench, "core_volume", area * 7.7e-2);
    material(7.6e6 / pow(f, 1.3), 1.3, 2.6);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 0, f);
    double peak = 0.5 * 800e-6 / (turns * area);
    ck_published("R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 3rd ed. 2020, section "
                 "12.3.2: peak flux density, T",
                 peak, 0.143, 0.002, 0);
    bench->flux[0] = magnetic_bench_sine(bench, f, 2 * pi * f * peak * turns * area / sqrt(2.0));
    ck_published("R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 3rd ed. 2020, section "
                 "12.3.2: core loss, W",
                 magnetic_bench_watts(bench, 300.0), 0.47, 0.012, 0);
}
END_TEST

/* A triangle with one dip of its rising side: the dip and the way back to where it began are a loop of their
 * own (K. Venkatachalam et al., 2002, section IV). The same when the period starts elsewhere, or time runs
 * backwards. */
START_TEST(minor_loops_count_by_themselves)
{
    const double a = 1.4, b = 2.5, us = 1e-6;
    const double major = (10 * us * 1.0 + 5 * us * pow(2.0, a)) * pow(10 * us, b - a);
    const double minor = (2 * us + 2 * us) * pow(2 * us, b - a);
    const hl_segment s[4] = {{.duration = 6 * us, .offset = 1},
                             {.duration = 2 * us, .offset = -1},
                             {.duration = 6 * us, .offset = 1},
                             {.duration = 5 * us, .offset = -2}};
    for (size_t start = 0; start < 4; start++)
        for (int back = 0; back < 2; back++) {
            hl_segment turned[4];
            for (size_t i = 0; i < 4; i++) {
                turned[i] = s[back ? (start + 4 - i) % 4 : (start + i) % 4];
                if (back) turned[i].offset = -turned[i].offset;
            }
            double swing;
            hl_wave wave = {4, turned};
            ck_near(steinmetz_cycle(&wave, a, b, &swing), (major + minor) / (19 * us), 1e-12, 0);
            ck_near(swing, 10 * us, 1e-12, 0);
        }
}
END_TEST

/* integral of |v|^p dt over a voltage that goes straight from a to b: T (b^(p+1) - a^(p+1)) / ((p + 1) (b -
 * a)). */
START_TEST(sloped_pieces_have_their_closed_form)
{
    static const struct {
        double a, b, duration, p;
    } cases[] = {{3, 7, 2e-6, 1.5}, {7, 3, 2e-6, 1.5},  {-3, -7, 1, 1.38},    {0, 7, 1, 1.7},
                 {5, 0, 3, 2.0},    {0.2, 0.9, 1, 1.1}, {300, 310, 1e-6, 1.6}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double a = cases[i].a, b = cases[i].b, T = cases[i].duration, p = cases[i].p;
        flux_piece piece = {a, (b - a) / T, T, 0.5 * (a + b) * T};
        double exact = T * (pow(fabs(b), p + 1) - pow(fabs(a), p + 1)) / ((p + 1) * (fabs(b) - fabs(a)));
        ck_near(piece_power(&piece, p), exact, 1e-12, 0);
    }
    flux_piece flat = {-4, 0, 0.5, -2};
    ck_near(piece_power(&flat, 1.5), 8 * 0.5, 1e-12, 0);
}
END_TEST

/* Any staircase: never more than one loop of the full swing would give, finite, and scaled as flux^beta and
 * as f^alpha. */
START_TEST(random_staircases_scale_and_stay_bounded)
{
    lottery luck = lottery_open("staircases");
    for (int round = 0; round < 3000; round++) {
        double alpha = lottery_between(&luck, 1.0, 2.0), beta = lottery_between(&luck, 2.0, 3.0), swing,
               other;
        hl_segment s[24], faster[24], larger[24];
        size_t n = 2 + lottery_below(&luck, 22);
        double flux = 0.0;
        for (size_t i = 0; i < n; i++) {
            s[i] = (hl_segment){.duration = lottery_between(&luck, 0.1, 1.0) * 1e-6,
                                .offset = lottery_between(&luck, -3.0, 3.0),
                                .slope = lottery_below(&luck, 3) ? 0.0 : lottery_between(&luck, -5e6, 5e6)};
            if (i + 1 == n) {
                s[i].slope = 0.0;
                s[i].offset = -flux / s[i].duration;
            }
            flux += s[i].duration * (s[i].offset + 0.5 * s[i].slope * s[i].duration);
            faster[i] = larger[i] = s[i];
            faster[i].duration *= 0.5;
            faster[i].offset *= 2.0;
            faster[i].slope *= 4.0;
            larger[i].offset *= 3.0;
            larger[i].slope *= 3.0;
        }
        double loss = steinmetz_cycle(&(hl_wave){n, s}, alpha, beta, &swing);
        double whole = hl_wave_power_mean(&(hl_wave){n, s}, alpha) * pow(swing, beta - alpha);
        ck_assert_msg(loss > 0.0 && loss <= whole * (1 + 1e-9), "seed %llu round %d: %g of %g", luck.seed,
                      round, loss, whole);
        ck_near(steinmetz_cycle(&(hl_wave){n, faster}, alpha, beta, &other), loss * pow(2.0, alpha), 1e-7, 0);
        ck_near(steinmetz_cycle(&(hl_wave){n, larger}, alpha, beta, &other), loss * pow(3.0, beta), 1e-7, 0);
    }
}
END_TEST

/* Four cycles at once against each alone: pulses of one to four pieces, some idle or of no time, some waves
 * that are none; by a fit and by a table. */
START_TEST(four_cycles_are_as_each_alone)
{
    lottery luck = lottery_open("four cycles");
    double flux[] = {0.01, 0.1, 0.3}, density[] = {10.0, 3e3, 6e4};
    hl_curve curve = {.n = 3, .x = flux, .y = density};
    loss_table table = {&curve};
    for (int round = 0; round < 3000; round++) {
        flux_law law = {1.5, lottery_between(&luck, 0.5, 1.5), round % 2 ? &table : NULL, 1e4};
        hl_segment s[LANES][PULSES + 1];
        hl_wave wave[LANES];
        size_t n = 1 + lottery_below(&luck, PULSES + 1);
        double loss[LANES], swing[LANES], alone;
        for (size_t w = 0; w < LANES; w++) {
            double linkage = 0.0;
            wave[w] = (hl_wave){n, s[w]};
            for (size_t i = 0; i < n; i++) {
                s[w][i] = (hl_segment){.duration = lottery_between(&luck, 0.1, 1.0) * 1e-6};
                if (lottery_below(&luck, 4)) s[w][i].offset = lottery_between(&luck, -9.0, 9.0);
                if (i + 1 == n && n > 1) s[w][i].offset = -linkage / s[w][i].duration;
                linkage += s[w][i].offset * s[w][i].duration;
            }
        }
        hl_segment *odd = &s[lottery_below(&luck, LANES)][lottery_below(&luck, n)];
        double *members[] = {&odd->slope, &odd->cosine, &odd->sine, &odd->duration};
        if (round % 5 == 0) *members[lottery_below(&luck, 4)] = round % 3 ? 0.0 : 0.3;
        if (odd->sine != 0.0) odd->omega = 1e6;
        flux_cycles(wave, LANES, &law, loss, swing);
        for (size_t w = 0; w < LANES; w++) {
            double want = flux_cycle(&wave[w], &law, &alone);
            ck_near(swing[w], alone, 1e-13, 1e-22);
            if (alone > 1e-20) ck_near(loss[w], want, 1e-12, 0);
        }
    }
}
END_TEST

/* Temperature: normalised at the fit's temperature, slope exact, held where the polynomial fails. */
START_TEST(temperature_polynomial_is_one_where_the_fit_holds)
{
    material(3.1, 1.38, 2.52);
    magnetic_bench_set(bench, "steinmetz_ct0", 2.0);
    magnetic_bench_set(bench, "steinmetz_ct1", 0.02);
    magnetic_bench_set(bench, "steinmetz_ct2", 1.25e-4);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 0, 1e5);
    bench->flux[0] = magnetic_bench_sine(bench, 1e5, 2 * pi * 1e5 * 0.1 * 1e-3 / sqrt(2.0));
    double at_fit = 3.1 * pow(1e5, 1.38) * pow(0.1, 2.52);
    ck_near(magnetic_bench_watts(bench, 373.15), at_fit, 1e-9, 0);
    ck_near(magnetic_bench_watts(bench, 353.15), at_fit * 1.2 / 1.25, 1e-9, 0);
    magnetic_bench_check_slope(bench, 1e-6);
    magnetic_bench_set(bench, "steinmetz_ct0", -1.0);
    ck_assert_ptr_nonnull(magnetic_bench_refusal(bench));
}
END_TEST

/* Below a twentieth of the loss at the fit's temperature the polynomial is not believed: the loss is held,
 * and it says so. */
START_TEST(temperature_polynomial_is_held_at_a_twentieth)
{
    material(3.1, 1.38, 2.52);
    magnetic_bench_set(bench, "steinmetz_ct0", 1.0);
    magnetic_bench_set(bench, "steinmetz_ct1", 0.0208);
    magnetic_bench_set(bench, "steinmetz_ct2", 1.1e-4);
    magnetic_bench_set(bench, "fit_temperature", 298.15);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 0, 1e5);
    bench->flux[0] = magnetic_bench_sine(bench, 1e5, 2 * pi * 1e5 * 0.1 * 1e-3 / sqrt(2.0));
    double at_fit = magnetic_bench_watts(bench, 298.15), whole = 1.0 - 0.0208 * 25.0 + 1.1e-4 * 625.0;
    double near = (1.0 - 0.0208 * 84.0 + 1.1e-4 * 84.0 * 84.0) / whole; /* 0.0528 */
    hl_loss kept = magnetic_bench_loss(bench, 273.15 + 84.0),
            held = magnetic_bench_loss(bench, 273.15 + 94.5);
    ck_near(kept.watts[HL_CORE], near * at_fit, 1e-9, 0);
    ck_assert_uint_eq(kept.flags & HL_OUTSIDE_FIT, 0);
    ck_near(held.watts[HL_CORE], 0.05 * at_fit, 1e-12, 0);
    ck_assert_double_eq(held.slope, 0.0);
    ck_assert_uint_ne(held.flags & HL_OUTSIDE_FIT, 0);
}
END_TEST

/* Without those of the winding, whose wire is not stated here. */
static uint32_t core_flags(void)
{
    return magnetic_bench_loss(bench, 350.0).flags & ~(uint32_t)HL_FALLBACK;
}

/* Outside the fit, and with bias, the figure is given and flagged. */
START_TEST(use_outside_the_fit_is_flagged)
{
    material(3.1, 1.38, 2.52);
    magnetic_bench_set(bench, "fit_frequency_low", 50e3);
    magnetic_bench_set(bench, "fit_frequency_high", 200e3);
    magnetic_bench_set(bench, "fit_flux_high", 0.2);
    magnetic_bench_prepare(bench);
    const double f[] = {1e5, 4e4, 3e5, 1e5}, b[] = {0.1, 0.1, 0.1, 0.3};
    for (size_t i = 0; i < 4; i++) {
        magnetic_bench_stress(bench, 1, 0, f[i]);
        bench->flux[0] = magnetic_bench_sine(bench, f[i], 2 * pi * f[i] * b[i] * 1e-3 / sqrt(2.0));
        ck_assert_uint_eq(core_flags(), i ? HL_OUTSIDE_FIT : 0);
    }
    magnetic_bench_stress(bench, 1, 0, 1e5);
    bench->flux[0] = magnetic_bench_sine(bench, 1e5, 2 * pi * 1e5 * 0.1 * 1e-3 / sqrt(2.0));
    bench->stress.flux_bias = 0.05e-3;
    ck_assert_uint_eq(core_flags(), HL_BIASED_CORE);
    bench->stress.flux_bias = -1.02e-5; /* a tenth of the peak of 1e-4 V s is the border */
    ck_assert_uint_eq(core_flags(), HL_BIASED_CORE);
    bench->stress.flux_bias = 0.98e-5;
    ck_assert_uint_eq(core_flags(), 0);
}
END_TEST

/* No fit reaches beyond saturation. */
START_TEST(use_beyond_saturation_is_flagged)
{
    material(3.1, 1.38, 2.52);
    const double b[] = {0.48, 0.5};
    for (int stated = 0; stated < 2; stated++) {
        if (stated)
            magnetic_bench_curve(bench, "saturation_flux", 2, (double[]){298.15, 373.15},
                                 (double[]){0.49, 0.39});
        magnetic_bench_prepare(bench);
        for (int i = 0; i < 2; i++) {
            magnetic_bench_stress(bench, 1, 0, 1e5);
            bench->flux[0] = magnetic_bench_sine(bench, 1e5, 2 * pi * 1e5 * b[i] * 1e-3 / sqrt(2.0));
            ck_assert_uint_eq(core_flags(), stated && i ? HL_OUTSIDE_FIT : 0);
        }
    }
}
END_TEST

/* A table read off a Steinmetz material gives that material back for any wave, between its points too; other
 * tables give their own figure for a sine. Beyond the ends, and only there, it says so. */
START_TEST(loss_table_serves_in_place_of_the_fit)
{
    const double x[] = {0.02, 0.05, 0.1, 0.3}, alpha = 1.38, beta = 2.52, k = 3.1, f = 1e5;
    double y[4], bent[4] = {1e3, 2e4, 9e4, 2e6};
    const double share[] = {0.3, 0.25, 0.45}, value[] = {150.0, 0.0, -100.0};
    for (size_t i = 0; i < 4; i++) y[i] = k * pow(f, alpha) * pow(x[i], beta);
    material(k, alpha, beta);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 0, 2 * f);
    bench->flux[0] = magnetic_bench_steps(bench, 2 * f, 3, share, value);
    double fit = magnetic_bench_watts(bench, 373.15);
    magnetic_bench_unset(bench, "steinmetz_k");
    magnetic_bench_unset(bench, "steinmetz_beta");
    magnetic_bench_curve(bench, "loss_over_flux", 4, x, y);
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "loss_frequency"));
    magnetic_bench_set(bench, "loss_frequency", f);
    magnetic_bench_prepare(bench);
    ck_near(magnetic_bench_watts(bench, 373.15), fit, 1e-12, 0);
    magnetic_bench_curve(bench, "loss_over_flux", 4, x, bent);
    magnetic_bench_prepare(bench);
    for (size_t i = 0; i < 4; i++) {
        magnetic_bench_stress(bench, 1, 0, f);
        bench->flux[0] = magnetic_bench_sine(bench, f, 2 * pi * f * x[i] * 1e-3 / sqrt(2.0));
        ck_near(magnetic_bench_watts(bench, 373.15), bent[i], 1e-9, 0);
    }
    for (int i = 0; i < 3; i++) {
        const double b[] = {0.01, 0.2, 0.4};
        magnetic_bench_stress(bench, 1, 0, f);
        bench->flux[0] = magnetic_bench_sine(bench, f, 2 * pi * f * b[i] * 1e-3 / sqrt(2.0));
        ck_assert_uint_eq(core_flags(), i == 1 ? 0 : HL_OUTSIDE_CURVE);
    }
    magnetic_bench_curve(bench, "loss_over_flux", 1, x, bent);
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "two points"));
}
END_TEST

/* A cycle beyond the table's end is told from a hundredth of the loss on: its share is that of its weight
 * times (flux over flux)^beta. */
START_TEST(little_loss_beyond_the_table_is_not_told)
{
    const double x[] = {0.05, 0.2}, y[] = {1e4, 1e4 * pow(4.0, 2.5)}, b[] = {0.1, 0.3}, f = 1e5;
    material(3.1, 1.38, 2.5);
    magnetic_bench_unset(bench, "steinmetz_k");
    magnetic_bench_unset(bench, "steinmetz_beta");
    magnetic_bench_curve(bench, "loss_over_flux", 2, x, y);
    magnetic_bench_set(bench, "loss_frequency", f);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 2, 0, f);
    for (size_t k = 0; k < 2; k++)
        bench->flux[k] = magnetic_bench_sine(bench, f, 2 * pi * f * b[k] * 1e-3 / sqrt(2.0));
    for (int i = 0; i < 2; i++) {
        const double share[] = {0.0097, 0.0103};
        bench->weight[1] = share[i] / (share[i] + (1.0 - share[i]) * pow(3.0, 2.5));
        bench->weight[0] = 1.0 - bench->weight[1];
        ck_assert_uint_eq(core_flags(), i == 0 ? 0 : HL_OUTSIDE_CURVE);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, rounding_opens_no_loop);
    tcase_add_test(tests, every_reference_wave_matches);
    tcase_add_test(tests, published_triangle_losses);
    tcase_add_test(tests, published_core_losses_from_a_loss_point);
    tcase_add_test(tests, published_full_bridge_core_loss);
    tcase_add_test(tests, minor_loops_count_by_themselves);
    tcase_add_test(tests, sloped_pieces_have_their_closed_form);
    tcase_add_test(tests, random_staircases_scale_and_stay_bounded);
    tcase_add_test(tests, four_cycles_are_as_each_alone);
    tcase_add_test(tests, temperature_polynomial_is_one_where_the_fit_holds);
    tcase_add_test(tests, temperature_polynomial_is_held_at_a_twentieth);
    tcase_add_test(tests, use_outside_the_fit_is_flagged);
    tcase_add_test(tests, use_beyond_saturation_is_flagged);
    tcase_add_test(tests, loss_table_serves_in_place_of_the_fit);
    tcase_add_test(tests, little_loss_beyond_the_table_is_not_told);
}

int main(void)
{
    return story_main("generalised Steinmetz", fill);
}
