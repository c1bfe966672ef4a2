/* check_output_switch.c - the output switch stage: drops, the port and the far end. */
#include <math.h>
#include <string.h>

#include "stage_bench.h"
#include "story.h"

static stage_bench *three_ampere_port(double load)
{
    stage_bench *bench = stage_bench_create("output_switch", NULL);
    stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1)->resistance = 8e-3;
    stage_bench_fill(bench, "sense_resistor", HL_FAMILY_RESISTOR, 2)->resistance = 10e-3;
    stage_bench_fill(bench, "cable", HL_FAMILY_RESISTOR, 1)->resistance = 120e-3;
    stage_bench_load(bench, 0.0, load);
    bench->in.input_voltage = 5.2;
    return bench;
}

/* By hand: 3 A through 2 x 8 + 10/2 + 120 mohm drops 0.423 V. */
START_TEST(two_switches_a_shunt_and_a_cable_drop_what_ohm_says)
{
    stage_bench *bench = three_ampere_port(3.0);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(bench->out.output.voltage, 5.2 - 0.423, 1e-14, 0);
    ck_near(stage_bench_quantity(bench, "port_voltage"), 5.2 - 0.063, 1e-14, 0);
    ck_near(stage_bench_quantity(bench, "switch_voltage_drop"), 0.048, 1e-14, 0);
    ck_near(bench->out.circuit_loss, 9 * 0.141, 1e-14, 0);
    ck_near(stage_bench_stress(bench, "switch")->current_rms[0], 3.0, 1e-15, 0);
    ck_near(stage_bench_stress(bench, "sense_resistor")->total_rms, 1.5, 1e-15, 0);
    ck_assert_uint_eq(bench->model->stage->positions(bench->values, 0), 2);
    stage_bench_choose(bench, "arrangement", "single");
    stage_bench_expect_solved(bench);
    ck_near(bench->out.output.voltage, 5.2 - 0.399, 1e-14, 0);
    ck_assert_uint_eq(bench->model->stage->positions(bench->values, 0), 1);
    stage_bench_destroy(bench);
}
END_TEST

/* Two parts with 0.1 V besides their resistance: 0.2 V while current flows, and none before. */
START_TEST(a_part_that_drops_a_voltage_drops_it_with_current_alone)
{
    for (int k = 0; k < 2; k++) {
        stage_bench *bench = three_ampere_port(k ? 3.0 : 0.0);
        bench->part[0].voltage = 0.1;
        stage_bench_expect_solved(bench);
        stage_bench_check_contract(bench, 1e-12);
        ck_near(bench->out.output.voltage, k ? 5.2 - 0.423 - 0.2 : 5.2, 1e-14, 0);
        ck_near(bench->out.circuit_loss, k ? 9 * 0.141 + 3 * 0.2 : 0.0, 1e-14, 0);
        stage_bench_destroy(bench);
    }
}
END_TEST

START_TEST(losses_beyond_the_circuit_are_drawn_at_the_input)
{
    stage_bench *bench = three_ampere_port(3.0);
    bench->in.extra_loss = 0.05;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(bench->out.input.current, 3.0 + 0.05 / 5.2, 1e-14, 0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(empty_slots_and_no_load_drop_nothing)
{
    stage_bench *bench = three_ampere_port(0.0);
    stage_bench_expect_solved(bench);
    ck_near(bench->out.output.voltage, 5.2, 0, 0);
    stage_bench_load(bench, 0.0, 3.0);
    const char *const slot[] = {"switch", "sense_resistor", "cable"};
    const hl_family family[] = {HL_FAMILY_SWITCH, HL_FAMILY_RESISTOR, HL_FAMILY_RESISTOR};
    for (int s = 0; s < 3; s++) stage_bench_fill(bench, slot[s], family[s], 0);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 0.0);
    ck_near(bench->out.output.voltage, 5.2, 0, 0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(what_cannot_be_is_refused_in_words)
{
    const double bad[][3] = {{0, 1, 1e-3}, {-5, 1, 1e-3}, {NAN, 1, 1e-3}, {5, -1, 1e-3},      {5, NAN, 1e-3},
                             {5, 1, NAN},  {5, 1, -1},    {5, 1, 6},      {5, INFINITY, 1e-3}};
    for (size_t k = 0; k < sizeof bad / sizeof *bad; k++) {
        stage_bench *bench = three_ampere_port(bad[k][1]);
        bench->in.input_voltage = bad[k][0];
        bench->part[2].resistance = bad[k][2];
        ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
        ck_assert_uint_gt(strlen(bench->out.reason.text), 20);
        stage_bench_destroy(bench);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, two_switches_a_shunt_and_a_cable_drop_what_ohm_says);
    tcase_add_test(tests, a_part_that_drops_a_voltage_drops_it_with_current_alone);
    tcase_add_test(tests, losses_beyond_the_circuit_are_drawn_at_the_input);
    tcase_add_test(tests, empty_slots_and_no_load_drop_nothing);
    tcase_add_test(tests, what_cannot_be_is_refused_in_words);
}

int main(void)
{
    return story_main("output_switch", fill);
}
