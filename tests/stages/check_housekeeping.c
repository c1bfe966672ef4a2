/* check_housekeeping.c - what the adapter takes for itself. */
#include <math.h>

#include "stage_bench.h"
#include "story.h"

static stage_bench *bench;

static void set_up(void)
{
    bench = stage_bench_create("housekeeping", NULL);
    bench->in.input_voltage = 390.0;
}

static void tear_down(void)
{
    stage_bench_destroy(bench);
}

/* A 2 Mohm bleeder at 390 V takes 390^2 / 2e6 = 76.05 mW, Ohm's law. */
START_TEST(bleeder_takes_voltage_squared_over_resistance)
{
    stage_bench_fill(bench, "bleeder", HL_FAMILY_RESISTOR, 1)->resistance = 2e6;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(bench->out.input.power, 0.07605, 1e-12, 0);
    ck_near(stage_bench_stress(bench, "bleeder")->total_rms, 195e-6, 1e-12, 0);
    ck_near(bench->out.own_loss, 0, 0, 1e-15);
}
END_TEST

/* 5 mA at 12 V through a 70 % supply: 60 mW / 0.7; linear from 390 V: 5 mA x 390 V. */
START_TEST(quiescent_current_costs_what_its_supply_makes_of_it)
{
    stage_bench_set(bench, "quiescent_current", 5e-3);
    stage_bench_set(bench, "supply_voltage", 12.0);
    stage_bench_set(bench, "supply_efficiency", 0.7);
    stage_bench_expect_solved(bench);
    ck_near(bench->out.own_loss, 0.06 / 0.7, 1e-12, 0);
    ck_near(bench->out.input.current, 0.06 / 0.7 / 390.0, 1e-12, 0);
    stage_bench_choose(bench, "supply", "linear");
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(bench->out.own_loss, 5e-3 * 390.0, 1e-12, 0);
}
END_TEST

/* Two of 2 Mohm beside each other take twice that, each the same current. */
START_TEST(bleeders_side_by_side_carry_a_share_each)
{
    stage_bench_fill(bench, "bleeder", HL_FAMILY_RESISTOR, 2)->resistance = 2e6;
    stage_bench_expect_solved(bench);
    ck_near(bench->out.input.power, 2 * 0.07605, 1e-12, 0);
    ck_near(stage_bench_stress(bench, "bleeder")->total_rms, 195e-6, 1e-12, 0);
}
END_TEST

START_TEST(a_supply_of_no_stated_efficiency_loses_nothing)
{
    stage_bench_set(bench, "power", 0.3);
    stage_bench_unset(bench, "supply_efficiency");
    stage_bench_expect_solved(bench);
    ck_near(bench->out.own_loss, 0.3, 1e-12, 0);
}
END_TEST

START_TEST(impossible_settings_are_refused_with_a_sentence)
{
    stage_bench_set(bench, "supply_voltage", 500.0);
    stage_bench_choose(bench, "supply", "linear");
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    ck_assert_str_eq(bench->out.reason.text,
                     "a linear supply of 500 V cannot run from a bus of 390 V; lower it or make it switched");
    stage_bench_choose(bench, "supply", "switched");
    bench->in.extra_loss = INFINITY;
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    bench->in.extra_loss = 0.0;
    stage_bench_expect_solved(bench);
    stage_bench_set(bench, "supply_voltage", 0.0);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    ck_assert_str_eq(bench->out.reason.text, "a supply voltage of 0 V is none; state supply_voltage");
    stage_bench_set(bench, "supply_voltage", 12.0);
    stage_bench_set(bench, "power", -1.0);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    stage_bench_set(bench, "power", 0.0);
    bench->in.input_voltage = NAN;
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    bench->in.input_voltage = 0.0;
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
}
END_TEST

START_TEST(extra_loss_is_drawn_from_the_bus)
{
    stage_bench_set(bench, "power", 0.3);
    bench->in.extra_loss = 0.01;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(bench->out.input.power, 0.31, 1e-12, 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, bleeder_takes_voltage_squared_over_resistance);
    tcase_add_test(tests, quiescent_current_costs_what_its_supply_makes_of_it);
    tcase_add_test(tests, bleeders_side_by_side_carry_a_share_each);
    tcase_add_test(tests, a_supply_of_no_stated_efficiency_loses_nothing);
    tcase_add_test(tests, impossible_settings_are_refused_with_a_sentence);
    tcase_add_test(tests, extra_loss_is_drawn_from_the_bus);
}

int main(void)
{
    return story_main("housekeeping", fill);
}
