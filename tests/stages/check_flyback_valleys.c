/* check_flyback_valleys.c - which valley a quasi-resonant flyback turns on in, and when it pauses between. */
#include <math.h>
#include <stdio.h>

#include "flyback_design.h"
#include "story.h"

/* Any quasi-resonant design, held below a frequency that the least valley exceeds by up to twelve times. */
static bool hold_below(lottery *luck, double *most, int *least)
{
    flyback_design d = flyback_draw(luck, true);
    flyback_lay_out(flyback_bench, &d);
    flyback_bench->part[0].reverse_voltage = 0.9;
    *least = 1 + (int)lottery_below(luck, 2);
    stage_bench_set(flyback_bench, "valley", 0);
    stage_bench_set(flyback_bench, "minimum_valley", *least);
    stage_bench_unset(flyback_bench, "maximum_frequency");
    if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) return false;
    *most = flyback_asked("switching_frequency") / lottery_scale(luck, 1.02, 12.0);
    stage_bench_set(flyback_bench, "maximum_frequency", *most);
    return stage_bench_solve(flyback_bench) == HL_STAGE_SOLVED;
}

/* It is the first that the clamp allows: as the least valley, without a clamp, it gives the same, and the one
 * before comes too soon. */
START_TEST(the_first_valley_that_is_late_enough_is_taken)
{
    enum { RUNS = 400 };
    lottery luck = lottery_open("flyback valleys");
    int tried = 0, highest = 0;
    for (int run = 0; run < RUNS; run++) {
        double most;
        int least;
        if (!hold_below(&luck, &most, &least)) continue;
        int taken = (int)lround(flyback_asked("valley_number"));
        double frequency = flyback_asked("switching_frequency");
        double peak = flyback_asked("primary_current_peak");
        tried++;
        highest = taken > highest ? taken : highest;
        ck_assert_double_le(frequency, most * (1 + 1e-9));
        ck_assert_int_gt(taken, least);
        stage_bench_unset(flyback_bench, "maximum_frequency");
        stage_bench_set(flyback_bench, "minimum_valley", taken);
        flyback_solved();
        ck_near(flyback_asked("switching_frequency"), frequency, 1e-9, 0);
        ck_near(flyback_asked("primary_current_peak"), peak, 1e-9, 0);
        stage_bench_set(flyback_bench, "minimum_valley", taken - 1);
        flyback_solved();
        if (!(flyback_asked("switching_frequency") > most * (1 - 1e-9)))
            ck_abort_msg("seed %llu run %d: valley %d keeps below %g Hz and valley %d was taken", luck.seed,
                         run, taken - 1, most, taken);
    }
    printf("flyback: valleys up to %d, %d designs\n", highest, tried);
    ck_assert(tried > RUNS / 2 && highest > 20);
}
END_TEST

/* Where resistances take most of the input, more peak delivers less: a least peak current beyond that limit
 * delivers too little, which is refused; short of it the pauses leave just the load. */
START_TEST(pulses_beyond_the_power_limit_are_refused)
{
    enum { RUNS = 60, STEPS = 40 };
    lottery luck = lottery_open("flyback power limit");
    int refused = 0, paused = 0;
    for (int run = 0; run < RUNS; run++) {
        flyback_design d = flyback_draw(&luck, run % 2);
        d.channel = 0.05 * d.input * d.input / (d.load * d.output);
        d.winding = d.channel;
        if (!(run % 2)) d.frequency *= 0.3;
        flyback_lay_out(flyback_bench, &d);
        stage_bench_unset(flyback_bench, "burst_peak_current");
        if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) continue;
        double first = flyback_asked("primary_current_peak"), ceiling = d.input / (d.channel + d.winding);
        for (int k = 1; k < STEPS; k++) {
            stage_bench_set(flyback_bench, "burst_peak_current", first + (ceiling - first) * k / STEPS);
            if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) {
                refused++;
                continue;
            }
            stage_bench_check_contract(flyback_bench, 1e-9);
            ck_assert_double_le(flyback_asked("burst_duty"), 1.0);
            ck_near(flyback_asked("secondary_current_average"), d.load, 1e-9, 0);
            paused += flyback_asked("burst_duty") < 1.0;
        }
    }
    printf("flyback: of pulses up to the ceiling %d leave pauses, %d deliver too little\n", paused, refused);
    ck_assert(paused > 100 && refused > 30);
}
END_TEST

/* 60 V below 112 V reflected: the drain comes to zero, and a later valley is waited for through the body
 * path. Two switches of twice the resistance beside each other carry half each, there too. */
START_TEST(switches_share_what_their_body_paths_carry)
{
    flyback_design d = flyback_adapter(60, 1, 0);
    double alone[4];
    for (unsigned count = 1; count <= 2; count++) {
        flyback_lay_out(flyback_bench, &d);
        stage_bench_set(flyback_bench, "valley", 0);
        stage_bench_set(flyback_bench, "minimum_valley", 2);
        flyback_bench->in.slot[0].count = count;
        flyback_bench->part[0].resistance = count * d.channel;
        flyback_bench->part[0].reverse_voltage = 0.8;
        flyback_bench->part[0].reverse_resistance = count * 0.5;
        flyback_solved();
        const hl_stress *s = stage_bench_stress(flyback_bench, "switch");
        double each[4] = {s->reverse_average[0], s->reverse_rms[0], s->current_rms[0], s->total_rms};
        for (int k = 0; k < 4; k++) {
            ck_assert_double_gt(each[k], 0.0);
            if (count == 2) ck_near(each[k], 0.5 * alone[k], 1e-9, 0);
            alone[k] = each[k];
        }
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, flyback_set_up, flyback_tear_down);
    tcase_add_test(tests, the_first_valley_that_is_late_enough_is_taken);
    tcase_add_test(tests, pulses_beyond_the_power_limit_are_refused);
    tcase_add_test(tests, switches_share_what_their_body_paths_carry);
}

int main(void)
{
    return story_main("valleys of a flyback", fill);
}
