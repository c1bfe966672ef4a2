/* check_lc_output_filter.c - the output filter: drop, ripple and attenuation. */
#include <complex.h>
#include <math.h>
#include <string.h>

#include "stage_bench.h"
#include "story.h"

static stage_bench *twenty_volt_filter(double load)
{
    stage_bench *bench = stage_bench_create("lc_output_filter", NULL);
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    choke->inductance = 1.5e-6;
    choke->winding_resistance[0] = choke->resistance = 6e-3;
    stage_bench_load(bench, 0.0, load);
    bench->in.input_voltage = 20.0;
    bench->in.input_capacitance = 470e-6;
    bench->in.output_capacitance = 100e-6;
    bench->in.output_esr = 15e-3;
    stage_bench_set(bench, "ripple_voltage", 0.12);
    stage_bench_set(bench, "ripple_frequency", 130e3);
    return bench;
}

/* The same divider in complex arithmetic, by hand. */
START_TEST(direct_current_drops_and_ripple_is_divided)
{
    stage_bench *bench = twenty_volt_filter(3.25);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    double w = 2 * acos(-1.0) * 130e3;
    double complex zc = 15e-3 + 1.0 / (I * w * 100e-6), z = 6e-3 + I * w * 1.5e-6 + zc;
    ck_near(bench->out.output.voltage, 20.0 - 3.25 * 6e-3, 1e-15, 0);
    ck_near(stage_bench_quantity(bench, "ripple_attenuation"), cabs(zc / z), 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "output_voltage_ripple"), 0.12 * cabs(zc / z), 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "inductor_current_ripple"), 0.12 / cabs(z), 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "resonant_frequency"),
            1 / (2 * acos(-1.0) * sqrt(1.5e-6 * 470e-6 / 5.7)), 1e-12, 0);
    const hl_stress *choke = stage_bench_stress(bench, "inductor");
    ck_near(hl_wave_rms(choke->winding_current[0]), stage_bench_quantity(bench, "inductor_current_rms"),
            1e-12, 0);
    ck_near(bench->out.circuit_loss, 6e-3 * pow(hl_wave_rms(choke->winding_current[0]), 2), 1e-12, 0);
    ck_near(hl_wave_integral_swing(choke->flux_voltage), 1.5e-6 * 0.12 / cabs(z), 1e-9, 0);
    ck_near(choke->flux_bias, 1.5e-6 * 3.25, 1e-15, 0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(without_stated_ripple_it_is_a_wire_with_resistance)
{
    stage_bench *bench = twenty_volt_filter(3.25);
    stage_bench_unset(bench, "ripple_voltage");
    stage_bench_unset(bench, "ripple_frequency");
    bench->in.extra_loss = 0.01;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_assert_ptr_null(bench->out.output.wave);
    for (size_t i = 0; i < bench->out.quantities; i++) /* what is not known is not told as nought */
        ck_assert_ptr_null(strstr(bench->out.quantity[i].name, "ripple"));
    ck_assert_ptr_nonnull(strstr(bench->out.note.text, "ripple_voltage and ripple_frequency are not both"));
    ck_near(bench->out.circuit_loss, 6e-3 * 3.25 * 3.25, 1e-14, 0);
    bench->part[0].winding_resistance[0] = 0.0;
    bench->in.extra_loss = 0.0;
    stage_bench_expect_solved(bench);
    ck_near(bench->out.input.power, bench->out.output.power, 0, 0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(two_inductors_in_parallel_share)
{
    stage_bench *bench = twenty_volt_filter(3.25);
    stage_bench_expect_solved(bench);
    double one = bench->out.stress[0].total_rms;
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 2);
    choke->inductance = 3e-6;
    choke->winding_resistance[0] = 12e-3;
    stage_bench_expect_solved(bench);
    ck_near(bench->out.stress[0].total_rms, 0.5 * one, 1e-12, 0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(what_cannot_be_is_refused_in_words)
{
    const double bad[][4] = {{0, 1, 1e-3, 1e-6},   {NAN, 1, 1e-3, 1e-6}, {5, -1, 1e-3, 1e-6},
                             {5, NAN, 1e-3, 1e-6}, {5, 1, NAN, 1e-6},    {5, 1, -1, 1e-6},
                             {5, 1, 6, 1e-6},      {5, 1, 1e-3, NAN},    {5, 1, 1e-3, -1}};
    for (size_t k = 0; k < sizeof bad / sizeof *bad; k++) {
        stage_bench *bench = twenty_volt_filter(bad[k][1]);
        bench->in.input_voltage = bad[k][0];
        bench->part[0].winding_resistance[0] = bad[k][2];
        bench->part[0].inductance = bad[k][3];
        ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
        ck_assert_uint_gt(strlen(bench->out.reason.text), 20);
        stage_bench_destroy(bench);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, direct_current_drops_and_ripple_is_divided);
    tcase_add_test(tests, without_stated_ripple_it_is_a_wire_with_resistance);
    tcase_add_test(tests, two_inductors_in_parallel_share);
    tcase_add_test(tests, what_cannot_be_is_refused_in_words);
}

int main(void)
{
    return story_main("lc_output_filter", fill);
}
