/* check_measured_transformer.c - a transformer by measured values. */
#include <math.h>
#include <string.h>

#include "magnetic_bench.h"
#include "magnetic_properties.h"
#include "published.h"
#include "story.h"

static const double pi = 3.14159265358979324;
static magnetic_bench *bench;

static void set_up(void)
{
    bench = magnetic_bench_create("measured_transformer");
    magnetic_bench_set(bench, "turns_ratio", 16);
    magnetic_bench_set(bench, "inductance", 600e-6);
    magnetic_bench_set(bench, "leakage_inductance", 80e-6);
    magnetic_bench_list(bench, "dc_resistance", 3, (double[]){0.12, 1.5e-3, 1.6e-3});
}

static void tear_down(void)
{
    magnetic_bench_destroy(bench);
}

/* Resonant half-bridge: sine in the first winding, half sines in the two halves of the second. */
static void resonant_stress(void)
{
    double f = 90e3, w = 2 * pi * f;
    magnetic_bench_stress(bench, 1, 3, f);
    bench->current[0][0] = magnetic_bench_sine(bench, f, 1.2);
    for (int half = 0; half < 2; half++) {
        hl_segment *s = magnetic_bench_segments(bench, 2);
        hl_segment lobe = {.duration = 0.5 / f, .omega = w, .sine = 20.0}, rest = {.duration = 0.5 / f};
        s[half] = lobe;
        s[1 - half] = rest;
        bench->current[1 + half][0] = (hl_wave){2, s};
    }
    bench->flux[0] = magnetic_bench_steps(bench, f, 2, (double[]){0.5, 0.5}, (double[]){196, -196});
}

START_TEST(terminal_shows_what_was_measured)
{
    magnetic_bench_prepare(bench);
    hl_terminal t = magnetic_bench_terminal(bench, 293.15);
    ck_near(t.turns_ratio, 16, 0, 0);
    ck_near(t.inductance, 600e-6, 0, 0);
    ck_near(t.leakage, 80e-6, 0, 0);
    ck_near(t.windings, 3, 0, 0);
    ck_near(t.winding_resistance[2], 1.6e-3, 1e-12, 0);
    ck_near(magnetic_bench_terminal(bench, 393.15).winding_resistance[0], 0.12 * 1.393, 1e-12, 0);
}
END_TEST

/* R I^2 of each winding: a half sine of 20 A has the square 400 / 4. */
START_TEST(required_values_alone_are_resistances)
{
    magnetic_bench_prepare(bench);
    resonant_stress();
    hl_loss loss = magnetic_bench_loss(bench, 293.15);
    ck_near(loss.watts[HL_WINDING_DC], 0.12 * 1.44 + 3.1e-3 * 100.0, 1e-12, 0);
    ck_near(magnetic_bench_watts(bench, 293.15), loss.watts[HL_WINDING_DC], 1e-15, 0);
    ck_assert(loss.flags & HL_FALLBACK);
    magnetic_bench_check_slope(bench, 1e-6);
}
END_TEST

/* A. Bouziani, LLC report, 2026: 4 turns, 534.2 mm^2, 190 V for half a period of 100 kHz: 445 mT from peak to
 * peak, 222.3 mT peak. */
START_TEST(published_flux_swing)
{
    magnetic_bench_set(bench, "turns", 4);
    magnetic_bench_set(bench, "core_area", 534.2e-6);
    magnetic_bench_set(bench, "saturation_flux", 0.4);
    magnetic_bench_set(bench, "saturation_current", 7.0);
    magnetic_bench_set(bench, "inductance", 83e-6);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 3, 100e3);
    bench->flux[0] = magnetic_bench_steps(bench, 100e3, 2, (double[]){0.5, 0.5}, (double[]){190, -190});
    ck_published("A. Bouziani, 1200 W 400/48 V LLC design file, 2026, peak flux density, T",
                 magnetic_bench_limit(bench, "peak flux density", 350.0).value, 0.222295, 1e-4, 0);
    /* the printed 11.446 A is from peak to peak */
    ck_published("A. Bouziani, 1200 W 400/48 V LLC design file, 2026, magnetizing current, half its swing, A",
                 magnetic_bench_limit(bench, "magnetizing current", 350.0).value, 11.446 / 2, 1e-4, 0);
    bench->stress.flux_bias = 50e-6;
    ck_near(magnetic_bench_limit(bench, "peak flux density", 350.0).value, 0.222295 + 50e-6 / (4 * 534.2e-6),
            1e-4, 0);
}
END_TEST

START_TEST(ratio_and_core_add_their_losses)
{
    magnetic_bench_curve(bench, "resistance_ratio", 3, (double[]){1e3, 1e5, 1e7}, (double[]){1, 3, 30});
    magnetic_bench_set(bench, "turns", 32);
    magnetic_bench_set(bench, "core_area", 1.2e-4);
    magnetic_bench_set(bench, "core_path_length", 0.06);
    magnetic_bench_set(bench, "steinmetz_k", 3.1);
    magnetic_bench_set(bench, "steinmetz_alpha", 1.38);
    magnetic_bench_set(bench, "steinmetz_beta", 2.52);
    magnetic_bench_prepare(bench);
    resonant_stress();
    hl_loss loss = magnetic_bench_loss(bench, 350.0);
    ck_assert(loss.watts[HL_CORE] > 0.0 && loss.watts[HL_WINDING_AC] > 0.0);
    ck_assert_uint_eq(loss.flags & HL_FALLBACK, 0);
    magnetic_bench_check_slope(bench, 1e-6);
}
END_TEST

START_TEST(one_winding_is_refused)
{
    magnetic_bench_list(bench, "dc_resistance", 1, (double[]){0.1});
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "2 to 8"));
}
END_TEST

START_TEST(random_transformers_behave)
{
    magnetic_properties("measured_transformer", 200, 3);
}
END_TEST

START_TEST(cost_per_cycle)
{
    magnetic_bench_prepare(bench);
    resonant_stress();
    magnetic_cost(bench, "measured_transformer, LLC, required values alone");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, terminal_shows_what_was_measured);
    tcase_add_test(tests, required_values_alone_are_resistances);
    tcase_add_test(tests, published_flux_swing);
    tcase_add_test(tests, ratio_and_core_add_their_losses);
    tcase_add_test(tests, one_winding_is_refused);
    tcase_add_test(tests, random_transformers_behave);
    tcase_add_test(tests, cost_per_cycle);
}

int main(void)
{
    return story_main("measured transformer", fill);
}
