/* check_common_mode_choke.c - two windings in the line, their flux cancelled. */
#include <math.h>
#include <string.h>

#include "magnetic_bench.h"
#include "magnetic_properties.h"
#include "story.h"

static magnetic_bench *bench;

static void set_up(void)
{
    bench = magnetic_bench_create("common_mode_choke");
    magnetic_bench_set(bench, "inductance", 10e-3);
    magnetic_bench_set(bench, "turns", 50);
    magnetic_bench_set(bench, "dc_resistance", 0.1);
}

static void tear_down(void)
{
    magnetic_bench_destroy(bench);
}

/* Both windings carry the line current: 2 R I^2, whether it comes as a wave or as a total. */
START_TEST(both_windings_lose)
{
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 2, 50.0);
    bench->stress.total_rms = 1.5;
    bench->current[0][0] = bench->current[1][0] = magnetic_bench_sine(bench, 50.0, 1.5);
    ck_near(magnetic_bench_watts(bench, 333.15), 2 * 0.1 * (1 + 0.00393 * 40) * 2.25, 1e-12, 0);
    magnetic_bench_check_slope(bench, 1e-6);
    bench->stress.n = bench->stress.windings = 0;
    ck_near(magnetic_bench_watts(bench, 333.15), 2 * 0.1 * (1 + 0.00393 * 40) * 2.25, 1e-12, 0);
    magnetic_bench_check_slope(bench, 1e-6);
}
END_TEST

/* Leakage of 1 % stands in when none is stated, and is flagged. */
START_TEST(leakage_is_guessed_and_flagged)
{
    magnetic_bench_prepare(bench);
    hl_terminal t = magnetic_bench_terminal(bench, 293.15);
    ck_near(t.leakage, 100e-6, 1e-12, 0);
    ck_near(t.windings, 2, 0, 0);
    ck_near(t.winding_resistance[1], 0.1, 1e-12, 0);
    ck_assert(magnetic_bench_loss(bench, 300.0).flags & HL_FALLBACK);
    magnetic_bench_set(bench, "leakage_inductance", 60e-6);
    magnetic_bench_prepare(bench);
    ck_near(magnetic_bench_terminal(bench, 293.15).leakage, 60e-6, 0, 0);
}
END_TEST

/* B = leakage I / (2 N A). */
START_TEST(leakage_flux_can_saturate_the_core)
{
    magnetic_bench_set(bench, "leakage_inductance", 100e-6);
    magnetic_bench_set(bench, "core_area", 40e-6);
    magnetic_bench_set(bench, "saturation_flux", 0.38);
    magnetic_bench_set(bench, "rated_current", 1.6);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 2, 50.0);
    bench->stress.total_peak = 4.0;
    bench->stress.total_rms = 1.2;
    ck_near(magnetic_bench_limit(bench, "peak flux density", 330.0).value, 100e-6 * 4.0 / (2 * 50 * 40e-6),
            1e-12, 0);
    ck_near(magnetic_bench_limit(bench, "rated current", 330.0).value, 1.2, 0, 0);
    bench->stress.flux_bias = 1e-4; /* V s of common mode besides */
    ck_near(magnetic_bench_limit(bench, "peak flux density", 330.0).value,
            (0.5 * 100e-6 * 4.0 + 1e-4) / (50 * 40e-6), 1e-12, 0);
}
END_TEST

START_TEST(random_chokes_behave)
{
    magnetic_properties("common_mode_choke", 200, 2);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, both_windings_lose);
    tcase_add_test(tests, leakage_is_guessed_and_flagged);
    tcase_add_test(tests, leakage_flux_can_saturate_the_core);
    tcase_add_test(tests, random_chokes_behave);
}

int main(void)
{
    return story_main("common-mode choke", fill);
}
