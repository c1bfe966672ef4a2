/* check_bridge_rectifier.c - two diodes of four in the path of a current shaped elsewhere. */
#include <math.h>
#include <string.h>

#include "stage_bench.h"
#include "story.h"

static stage_bench *bench;
static hl_segment half_sine;

/* A load that draws `power` with a current shaped like the voltage. */
static void resistive_load(double voltage, double frequency, double current, double power)
{
    half_sine = (hl_segment){.duration = 0.5 / frequency,
                             .omega = 2.0 * 3.14159265358979324 * frequency,
                             .sine = sqrt(2.0) * current};
    bench->in.input_voltage = voltage;
    bench->in.input_frequency = frequency;
    bench->in.load = (hl_side){.voltage = voltage,
                               .current = current,
                               .power = power,
                               .line_frequency = frequency,
                               .line = {1, &half_sine}};
}

static void set_up(void)
{
    bench = stage_bench_create("bridge_rectifier", NULL);
}

static void tear_down(void)
{
    stage_bench_destroy(bench);
}

/* Constant drop. Infineon, PFC boost converter design guide, 1200 W example, rev 1.1 (2016), eq. 14-15:
 * printed 12.71 A and 25.4 W at 85 V, 1200 W, 1 V per diode.  The guide takes 1200 W / 85 V as the line
 * current, so it is set. */
START_TEST(constant_drop_matches_published_example)
{
    stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1)->voltage = 1.0;
    resistive_load(85.0, 50.0, 1200.0 / 85.0, 1200.0);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(2.0 * stage_bench_quantity(bench, "rectifier_current_average"), 12.71, 0, 0.005);
    ck_near(stage_bench_quantity(bench, "rectifier_loss"), 25.4, 0, 0.05);
}
END_TEST

/* Threshold and slope, two packages: P = 2 V <i> + 2 r/2 <i^2>, with <i> = 0.9003 I of a sine. */
START_TEST(parallel_packages_halve_the_slope_and_share_the_current)
{
    hl_terminal *part = stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 2);
    part->voltage = 0.75;
    part->resistance = 0.02;
    resistive_load(230.0, 50.0, 2.0, 455.0);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    double mean = 2.0 * 2.0 * sqrt(2.0) / 3.14159265358979324;
    ck_near(stage_bench_quantity(bench, "rectifier_loss"), 2 * 0.75 * mean + 2 * 0.01 * 4.0, 1e-12, 0);
    const hl_stress *stress = stage_bench_stress(bench, "rectifier");
    ck_near(stress->current_average[0], 0.5 * mean, 1e-12, 0);
    ck_near(stress->current_rms[0], 1.0, 1e-12, 0);
    ck_near(stress->current_peak[0], sqrt(2.0), 1e-12, 0);
    ck_near(hl_wave_rms(&bench->out.input.line), 2.0, 1e-12, 0);
    ck_near(hl_wave_average(&bench->out.input.line), 0.0, 0, 1e-12);
    ck_near(hl_wave_period(&bench->out.input.line), 0.02, 1e-12, 0);
}
END_TEST

/* Passing the offered voltage to a load of constant power and asking again must settle on a closed book:
 * 230 V x I = P + loss(I). */
START_TEST(voltage_and_current_settle_so_that_the_mains_book_closes)
{
    hl_terminal *part = stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1);
    part->voltage = 0.8;
    part->resistance = 0.03;
    double behind = 100.0;
    for (int pass = 0; pass < 30; pass++) {
        resistive_load(100.0, 50.0, 150.0 / behind, 150.0);
        stage_bench_expect_solved(bench);
        behind = bench->out.output.voltage;
    }
    ck_near(100.0 * bench->out.input.current, bench->out.input.power, 1e-12, 0);
    double i = bench->out.input.current, mean = i * 2.0 * sqrt(2.0) / 3.14159265358979324;
    ck_near(100.0 * i, 150.0 + 1.6 * mean + 0.06 * i * i, 1e-12, 0);
}
END_TEST

START_TEST(synchronous_switches_replace_the_threshold_by_resistance)
{
    stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1)->voltage = 0.8;
    stage_bench_fill(bench, "synchronous_switch", HL_FAMILY_SWITCH, 1)->resistance = 0.05;
    resistive_load(115.0, 60.0, 1.5, 170.0);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(bench->out.circuit_loss, 2 * 0.05 * 2.25, 1e-12, 0);
    ck_near(stage_bench_stress(bench, "synchronous_switch")->current_rms[0], 1.5 * sqrt(0.5), 1e-12, 0);
    ck_near(stage_bench_stress(bench, "rectifier")->current_rms[0], 0.0, 0, 1e-15);
}
END_TEST

/* A triangle ripple of 2 A peak to peak has 2 / sqrt(12) A rms; it loads the bridge only when nothing
 * bypasses it. */
START_TEST(ripple_counts_only_without_a_film_capacitor)
{
    hl_segment ripple[2] = {{.duration = 5e-6, .offset = 0, .slope = 4e5},
                            {.duration = 5e-6, .offset = 2, .slope = -4e5}};
    hl_wave wave = {2, ripple};
    double weight = 1.0, frequency = 1e5;
    stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1)->resistance = 0.1;
    resistive_load(115.0, 60.0, 1.5, 170.0);
    bench->in.load.cycles = 1;
    bench->in.load.weight = &weight;
    bench->in.load.frequency = &frequency;
    bench->in.load.wave = &wave;
    stage_bench_expect_solved(bench);
    ck_near(bench->out.circuit_loss, 0.2 * 2.25, 1e-12, 0);
    stage_bench_choose(bench, "ripple_path", "through");
    stage_bench_expect_solved(bench);
    ck_near(bench->out.circuit_loss, 0.2 * (2.25 + 4.0 / 12.0), 1e-10, 0);
    stage_bench_check_contract(bench, 1e-12);
}
END_TEST

START_TEST(no_load_and_nonsense_are_answered)
{
    stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1)->voltage = 1.0;
    resistive_load(230.0, 50.0, 0.0, 0.0);
    bench->in.load.line.n = 0;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(bench->out.output.voltage, 230.0 - 2.0 * 2.0 * sqrt(2.0) / 3.14159265358979324, 1e-12, 0);
    bench->in.extra_loss = 0.46; /* alone: the mains feed it with a current in phase, W over V */
    stage_bench_expect_solved(bench);
    ck_near(bench->out.input.power, 0.46, 1e-12, 0);
    ck_near(bench->out.input.current, 0.46 / 230.0, 1e-12, 0);
    bench->in.extra_loss = 0;
    bench->in.load.power = NAN;
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    bench->in.load.power = 0;
    bench->in.input_voltage = -3;
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    bench->in.input_voltage = 1.5;
    stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1)->voltage = 0.9;
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    ck_assert_ptr_nonnull(strstr(bench->out.reason.text, "drop of 1.8 V leaves nothing of 1.5 V rms"));
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, constant_drop_matches_published_example);
    tcase_add_test(tests, parallel_packages_halve_the_slope_and_share_the_current);
    tcase_add_test(tests, voltage_and_current_settle_so_that_the_mains_book_closes);
    tcase_add_test(tests, synchronous_switches_replace_the_threshold_by_resistance);
    tcase_add_test(tests, ripple_counts_only_without_a_film_capacitor);
    tcase_add_test(tests, no_load_and_nonsense_are_answered);
}

int main(void)
{
    return story_main("bridge_rectifier", fill);
}
