/* check_buck_node.c - the switch node of a buck stage: what dead times, a resting current and its ring leave
 * the switches, and that nothing jumps where one way of running goes over into another. */
#include <math.h>

#include "dc_stage.h"
#include "plain_buck.h"
#include "story.h"

/* What the devices are told: hard turn-on with positive current, from rest what the ring leaves, and soft
 * when the current has reversed and lifts the node within the dead time. */
START_TEST(turn_on_is_hard_from_rest_or_soft)
{
    stage_bench *bench = plain_buck("forced_continuous", 3.0);
    stage_bench_expect_solved(bench);
    const hl_stress *high = stage_bench_stress(bench, "high_switch"),
                    *low = stage_bench_stress(bench, "low_switch");
    ck_near(high->voltage_on[0], 24.0, 0, 0);
    ck_near(high->charge_on[0], 24.0, 0, 0);
    ck_near(high->current_on[0], stage_bench_quantity(bench, "inductor_current_valley"), 1e-12, 0);
    ck_near(low->current_off[0], high->current_on[0], 1e-12, 0);
    ck_assert(low->slope_off[0] > 0 && low->voltage_on[0] == 0);
    stage_bench_load(bench, 5.0, 0.1);
    stage_bench_expect_solved(bench);
    ck_near(high->voltage_on[0], 0.0, 0, 0);
    ck_near(high->current_on[0], 0.0, 0, 0);
    ck_assert(low->slope_off[0] == 0 && low->current_off[0] > 0);
    bench->part[0].output_charge = 40e-9; /* too much charge for so little current: part of the way */
    stage_bench_expect_solved(bench);
    ck_assert(high->voltage_on[0] > 0 && high->voltage_on[0] < 24.0);
    stage_bench_choose(bench, "light_load", "diode_emulation");
    stage_bench_expect_solved(bench);
    double charge = bench->part[0].output_charge + bench->part[1].output_charge;
    node_ring ring = dc_stage_ring(bench, "low_switch", 24.0, 5.0, bench->part[2].inductance, charge);
    ck_assert(ring.left > 19.0 && ring.left < 24.0); /* it still rings about 19 V */
    ck_near(high->voltage_on[0], ring.left, 1e-9, 0);
    ck_near(high->current_on[0], 0.0, 0, 1e-12);
    stage_bench_fill(bench, "low_switch", HL_FAMILY_DIODE, 1)->voltage = 0.4; /* books its own charge */
    stage_bench_load(bench, 5.0, 3.0);
    stage_bench_expect_solved(bench);
    ck_near(high->voltage_on[0], 24.0, 0, 0);
    ck_near(high->charge_on[0], 0.0, 0, 0);
    ck_assert(low->slope_off[0] > 0 && low->reverse_average[0] == 0);
    stage_bench_destroy(bench);
}
END_TEST

/* Where the current begins to rest for a moment the node has hardly moved: turn-on is as hard as before, and
 * becomes softer with the load by degrees; so does what the ring has lost. */
START_TEST(nothing_jumps_where_the_current_begins_to_rest)
{
    stage_bench *bench = plain_buck("diode_emulation", 3.0);
    bench->part[0].output_charge = bench->part[1].output_charge = 8e-9;
    double before = NAN, ring = 0, most = 0, softest = 24, load = 2.0;
    while (load > 0.1) {
        stage_bench_load(bench, 5.0, load);
        stage_bench_expect_solved(bench);
        double now = stage_bench_stress(bench, "high_switch")->voltage_on[0], lost = bench->out.node_loss[2];
        ck_assert_msg(!(fabs(now - before) > 0.25), "%g A: %g V after %g", load, now, before);
        ck_assert(lost >= 0 && fabs(lost - ring) < 2e-4);
        if (load == 2.0) ck_near(now, 24.0, 0, 0);
        before = now, ring = lost;
        most = fmax(most, lost);
        softest = fmin(softest, now);
        load *= 0.9995;
    }
    ck_assert_msg(softest < 19.0 && before > 18.0, "%g V at the softest, %g V in the end", softest, before);
    double whole = 0.5 * 16e-9 / 24 * 25 * stage_bench_quantity(bench, "switching_frequency");
    ck_assert_msg(most > 0.9 * whole && most < whole, "%g W of %g W", most, whole);
    stage_bench_destroy(bench);
}
END_TEST

/* Across the border of continuous and discontinuous conduction nothing jumps; above it the light-load mode
 * does not matter. */
START_TEST(nothing_jumps_at_the_border_of_conduction)
{
    stage_bench *emulating = plain_buck("diode_emulation", 1.0),
                *forced = plain_buck("forced_continuous", 1.0);
    stage_bench_expect_solved(forced);
    double border = 0.5 * stage_bench_quantity(forced, "inductor_current_ripple"), before = 0.0, step = 1e-4;
    double i = 0.9 * border;
    while (i < 1.1 * border) {
        stage_bench_load(emulating, 5.0, i);
        stage_bench_load(forced, 5.0, i);
        stage_bench_expect_solved(emulating);
        stage_bench_expect_solved(forced);
        double on = stage_bench_quantity(emulating, "on_time");
        if (before > 0) ck_near(on, before, 1.5 * step, 0);
        before = on;
        if (stage_bench_quantity(forced, "inductor_current_valley") > 0)
            ck_near(on, stage_bench_quantity(forced, "on_time"), 1e-9, 0);
        i += step * border;
    }
    stage_bench_destroy(emulating);
    stage_bench_destroy(forced);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, turn_on_is_hard_from_rest_or_soft);
    tcase_add_test(tests, nothing_jumps_where_the_current_begins_to_rest);
    tcase_add_test(tests, nothing_jumps_at_the_border_of_conduction);
}

int main(void)
{
    return story_main("buck node", fill);
}
