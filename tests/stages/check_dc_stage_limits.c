/* check_dc_stage_limits.c - how much the dc-fed stages deliver before their resistances forbid it, and what
 * one pulse carries where that is too much: each as the textbook has it. */
#include <math.h>
#include <string.h>

#include "lottery.h"
#include "stage_bench.h"
#include "story.h"

typedef enum kind { BUCK, BOOST, FOUR_SWITCH, SIMULTANEOUS, KINDS } kind;

/* Both of a leg show `ohms`, the coil `winding`; no drops, no dead time, next to no ripple. */
static stage_bench *lay_out(kind k, double input, double output, double ohms, double winding, double henry)
{
    static const char *const model[KINDS] = {"synchronous_buck", "boost", "four_switch_buck_boost",
                                             "four_switch_buck_boost"};
    stage_bench *bench = stage_bench_create(model[k], NULL);
    const hl_stage *stage = bench->model->stage;
    for (size_t s = 0; s < stage->n_slots; s++)
        if (stage->slots[s].families & HL_FITS(HL_FAMILY_SWITCH))
            stage_bench_fill(bench, stage->slots[s].name, HL_FAMILY_SWITCH, 1)->resistance = ohms;
    hl_terminal *coil = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    coil->inductance = henry;
    coil->winding_resistance[0] = winding;
    stage_bench_set(bench, "switching_frequency", 200e3);
    stage_bench_set(bench, k == BUCK ? "dead_time_fall" : "dead_time", 0.0);
    if (k == BUCK) stage_bench_set(bench, "dead_time_rise", 0.0);
    if (k == SIMULTANEOUS) stage_bench_choose(bench, "modulation", "simultaneous");
    bench->in.input_voltage = input;
    stage_bench_load(bench, output, 0.0);
    return bench;
}

/* Largest load current in continuous conduction, every part with the mean current of the coil I / D'; D' = 1
 * - D: buck           V = D Vin - I R                       at the largest D boost          V D'^2 - Vin D' +
 * I R = 0             at its double root, Vin^2 / 4 V R, or at the largest D simultaneous   (V + Vin) D'^2 -
 * Vin D' + I R = 0     likewise source: Erickson and Maksimovic (2001), sect. 3.2, with R in both states */
static double largest_load(kind k, double vin, double vo, double resistance, double most)
{
    double off = 1 - most, all = k == SIMULTANEOUS ? vo + vin : vo, best = 0.5 * vin / all;
    if (k == BUCK) return (most * vin - vo) / resistance;
    return (vin * fmax(off, best) - all * fmax(off, best) * fmax(off, best)) / resistance;
}

/* All that is below is delivered, at an on-time that rises with the load, and nothing above. */
START_TEST(a_stage_delivers_up_to_what_its_resistances_allow)
{
    lottery luck = lottery_open("dc limits");
    for (int run = 0; run < 120; run++) {
        kind k = (kind)(run % KINDS);
        double vin = lottery_between(&luck, 4, 40),
               most = k == BUCK ? 0.95 : lottery_between(&luck, 0.6, 0.95);
        double vo =
            vin * (k == BUCK ? lottery_between(&luck, 0.2, 0.9)
                             : lottery_between(&luck, k == SIMULTANEOUS ? 0.4 : 1.3, 0.8 / (1 - most)));
        double ohms = lottery_scale(&luck, 1e-3, 0.1), winding = lottery_scale(&luck, 1e-3, 0.3);
        double resistance = (k == FOUR_SWITCH || k == SIMULTANEOUS ? 2 : 1) * ohms + winding, before = 0;
        double limit = largest_load(k, vin, vo, resistance, most);
        if (limit * resistance < 0.01 * vin) continue;
        stage_bench *bench = lay_out(k, vin, vo, ohms, winding, 0.05 * vin / limit * 1e-3);
        stage_bench_set(bench, "maximum_duty", most);
        if (run % 8 < 4) stage_bench_choose(bench, "light_load", "diode_emulation");
        for (double share = 0.05; share < 0.999; share += 0.0521) {
            stage_bench_load(bench, vo, share * limit);
            ck_assert_msg(stage_bench_solve(bench) == HL_STAGE_SOLVED, "run %d: %.3f of %g A, kind %d: %s",
                          run, share, limit, k, bench->out.reason.text);
            double duty = stage_bench_quantity(bench, "duty_ratio");
            ck_assert_msg(duty > before && duty <= most * (1 + 1e-9), "run %d: at %.3f of %g A duty %g", run,
                          share, limit, duty);
            before = duty;
        }
        stage_bench_load(bench, vo, 1.01 * limit);
        ck_assert_msg(stage_bench_solve(bench) == HL_STAGE_INFEASIBLE, "run %d: kind %d gives 1.01 of %g A",
                      run, k, limit);
        stage_bench_destroy(bench);
    }
}
END_TEST

/* Ideal parts: a pulse of `on` brings the coil to a peak, and it falls over what the output leaves. A boost
 * passes only the fall on, a buck both. Three digits are told. */
START_TEST(a_pulse_too_great_for_the_capacitor_is_told_by_its_charge)
{
    const double on = 1.5e-6, l = 4.7e-6, c = 0.1e-6, vin = 12.0;
    for (int k = BUCK; k <= BOOST; k++) {
        double vo = k == BUCK ? 5.0 : 20.0, lift = NAN, drop = 0.8;
        stage_bench *bench = lay_out((kind)k, vin, vo, 0.0, 0.0, l);
        stage_bench_choose(bench, "light_load", "pulse_skipping");
        stage_bench_set(bench, "skip_on_time", on);
        stage_bench_fill(bench, k == BUCK ? "low_switch" : "rectifier", HL_FAMILY_DIODE, 1)->voltage = drop;
        bench->in.output_capacitance = c;
        stage_bench_load(bench, vo, 0.001);
        ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
        const char *by = strstr(bench->out.reason.text, "by ");
        ck_assert_msg(by && sscanf(by, "by %lf V", &lift) == 1, "%s", bench->out.reason.text);
        double peak = (k == BUCK ? vin - vo : vin) * on / l,
               fall = peak * l / (k == BUCK ? vo + drop : vo + drop - vin);
        double expected = 0.5 * peak * (k == BUCK ? on + fall : fall) / c;
        ck_near(lift, expected, 5e-3, 0);
        stage_bench_destroy(bench);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_stage_delivers_up_to_what_its_resistances_allow);
    tcase_add_test(tests, a_pulse_too_great_for_the_capacitor_is_told_by_its_charge);
}

int main(void)
{
    return story_main("dc stage limits", fill);
}
