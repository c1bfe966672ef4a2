/* check_synchronous_buck.c - the buck stage against time-domain solutions, published designs and itself. */
#include <math.h>
#include <string.h>

#include "dc_stage.h"
#include "inductor_course.h"
#include "plain_buck.h"
#include "reference_circuit.h"
#include "story.h"

/* ------------------------------------------------------------- reference -- */

static void lay_out(stage_bench *bench, json_t *one)
{
    stage_bench_set(bench, "switching_frequency", reference_input(one, "fs"));
    stage_bench_set(bench, "dead_time_fall", reference_input(one, "td1"));
    stage_bench_set(bench, "dead_time_rise", reference_input(one, "td2"));
    stage_bench_choose(bench, "light_load",
                       strcmp(reference_word(one, "mode"), "dem") ? "forced_continuous" : "diode_emulation");
    hl_terminal *high = stage_bench_fill(bench, "high_switch", HL_FAMILY_SWITCH, 1);
    hl_terminal *low = stage_bench_fill(bench, "low_switch", HL_FAMILY_SWITCH, 1);
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    high->resistance = reference_input(one, "Rhs");
    low->resistance = reference_input(one, "Rls");
    high->reverse_voltage = low->reverse_voltage = reference_input(one, "Vf");
    choke->inductance = reference_input(one, "L");
    choke->winding_resistance[0] = choke->resistance = reference_input(one, "DCR");
    bench->in.input_voltage = reference_input(one, "Vin");
    bench->in.output_capacitance = reference_input(one, "Cout");
    bench->in.output_esr = reference_input(one, "esr");
    stage_bench_load(bench, reference_input(one, "Vout"), reference_input(one, "Iout"));
}

static double wave_rms_without_mean(const hl_wave *wave)
{
    double rms = hl_wave_rms(wave), mean = hl_wave_average(wave);
    return sqrt(fmax(rms * rms - mean * mean, 0.0));
}

/* What the waves say must be what the figures say. */
static void check_waves(const stage_bench *bench)
{
    const hl_stage_output *out = &bench->out;
    ck_near(hl_wave_average(out->output.wave), bench->in.load.current, 1e-9, 1e-9);
    ck_near(hl_wave_average(out->input.wave), stage_bench_quantity(bench, "input_current_average"), 1e-8,
            1e-9);
    ck_near(wave_rms_without_mean(out->output.wave),
            stage_bench_quantity(bench, "output_capacitor_current_rms"), 1e-6, 1e-9);
    ck_near(wave_rms_without_mean(out->input.wave),
            stage_bench_quantity(bench, "input_capacitor_current_rms"), 1e-6, 1e-9);
    const hl_stress *choke = stage_bench_stress(bench, "inductor");
    ck_near(hl_wave_period(choke->flux_voltage), 1.0 / stage_bench_quantity(bench, "switching_frequency"),
            1e-12, 0);
    double swing = hl_wave_integral_swing(choke->flux_voltage) / bench->part[2].inductance;
    ck_near(swing, stage_bench_quantity(bench, "inductor_current_ripple"), 1e-7, 0);
}

static double ask(void *bench, const char *quantity)
{
    return stage_bench_quantity(bench, quantity);
}

static void check_case(json_t *one, void *context)
{
    reference_asking *asking = context;
    stage_bench *bench = stage_bench_create("synchronous_buck", NULL);
    lay_out(bench, one);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    check_waves(bench);
    asking->who = bench;
    ck_assert_uint_eq(reference_compare(one, &reference_buck, asking), 25);
    stage_bench_destroy(bench);
}

/* Time-domain solutions of seven synchronous bucks, each output stated to about 1e-10. The design allows 0.5
 * %; what is below 1e-6 of its unit is held to 1e-14. */
START_TEST(every_output_of_the_reference_cases_is_met)
{
    reference_asking asking = {.asked = ask, .relative = 1e-8, .absolute = 1e-14};
    reference_each(&reference_buck, check_case, &asking);
    printf("buck: %zu reference cases, worst output off by %.2g\n", reference_buck.cases, asking.worst);
}
END_TEST

/* ---------------------------------------------------------- random bucks -- */

/* A plausible buck: sizes spread over decades, ripple from small to several times the load. */
static void deal(stage_bench *bench, lottery *luck)
{
    double f = lottery_scale(luck, 50e3, 3e6), in = lottery_scale(luck, 3.0, 60.0);
    double out = in * lottery_between(luck, 0.03, 0.97), i = lottery_scale(luck, 1e-3, 20.0);
    double full = lottery_scale(luck, fmax(i, 0.5), 20.0 * fmax(i, 0.5));
    double choke_h = out * (1 - out / in) / (f * full * lottery_scale(luck, 0.1, 3.0));
    const char *const mode[] = {"forced_continuous", "diode_emulation", "pulse_skipping"};
    stage_bench_set(bench, "switching_frequency", f);
    stage_bench_set(bench, "dead_time_fall", lottery_between(luck, 0.0, 0.02) / f);
    stage_bench_set(bench, "dead_time_rise", lottery_between(luck, 0.0, 0.02) / f);
    stage_bench_choose(bench, "light_load", mode[lottery_below(luck, 3)]);
    stage_bench_set(bench, "phases", lottery_below(luck, 4) ? 1 : 1 + (double)lottery_below(luck, 4));
    stage_bench_unset(bench, "skip_on_time");
    stage_bench_unset(bench, "skip_peak_current");
    if (lottery_below(luck, 2)) stage_bench_set(bench, "skip_on_time", lottery_between(luck, 0.0, 0.5) / f);
    if (lottery_below(luck, 2))
        stage_bench_set(bench, "skip_peak_current", full * lottery_between(luck, 0.0, 0.5));
    hl_terminal *high = stage_bench_fill(bench, "high_switch", HL_FAMILY_SWITCH, 1);
    hl_family family = lottery_below(luck, 3) ? HL_FAMILY_SWITCH : HL_FAMILY_DIODE;
    hl_terminal *low = stage_bench_fill(bench, "low_switch", family, 1 + (unsigned)lottery_below(luck, 2));
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    double scale = out / full;
    high->resistance = scale * lottery_scale(luck, 1e-4, 0.02);
    low->resistance = scale * lottery_scale(luck, 1e-4, 0.02);
    choke->winding_resistance[0] = lottery_below(luck, 4) ? scale * lottery_scale(luck, 1e-4, 0.02) : 0.0;
    choke->inductance = choke_h;
    high->reverse_voltage = lottery_between(luck, 0.0, 1.8);
    low->reverse_voltage = lottery_between(luck, 0.0, 1.8);
    high->reverse_resistance = scale * 0.005 * (double)lottery_below(luck, 2);
    if (family == HL_FAMILY_DIODE) low->voltage = lottery_between(luck, 0.0, 0.9);
    high->output_charge = lottery_scale(luck, 1e-11, 1e-7);
    bench->in.input_voltage = in;
    bench->in.output_capacitance =
        lottery_below(luck, 4) ? full / (f * out * lottery_scale(luck, 1e-4, 0.3)) : 0.0;
    bench->in.output_esr = lottery_below(luck, 3) ? scale * lottery_scale(luck, 1e-4, 0.3) : 0.0;
    stage_bench_load(bench, out, lottery_below(luck, 12) ? i : 0.0);
}

static double circulating_voltage(const stage_bench *bench)
{
    return bench->in.input_voltage;
}

START_TEST(no_random_buck_breaks_the_books)
{
    const dc_stage stage = {"synchronous_buck", deal, circulating_voltage};
    dc_stage_try(&stage);
}
END_TEST

/* ----------------------------------------------------------- time domain -- */

/* The same circuit written down for the integrator. */
static course_circuit course_of(const stage_bench *bench, bool forced)
{
    const hl_terminal *high = &bench->part[0], *low = &bench->part[1];
    double extra = bench->part[2].winding_resistance[0], n = bench->in.slot[1].count;
    bool diode = bench->in.slot[1].device->family == HL_FAMILY_DIODE;
    double period = 1.0 / bench->values[0].number;
    double fall = diode ? 0.0 : bench->values[3].number, rise = diode ? 0.0 : bench->values[4].number;
    course_path on = {bench->in.input_voltage, high->resistance + extra, true, 0};
    course_path body = {-low->reverse_voltage, low->reverse_resistance / n + extra, true, 2};
    course_path back = {bench->in.input_voltage + high->reverse_voltage, high->reverse_resistance + extra,
                        true, 3};
    course_path off = {-low->voltage, low->resistance / n + extra, true, 1};
    course_circuit c = {.inductance = bench->part[2].inductance,
                        .capacitance = bench->in.output_capacitance,
                        .esr = bench->in.output_esr,
                        .load = bench->in.load.current,
                        .voltage = bench->in.output_voltage,
                        .states = 4};
    c.state[0] = (course_state){on, on, true, 0.0, 1.0};
    c.state[1] = (course_state){body, back, false, fall, 0.0};
    c.state[2] = (course_state){off, back, forced && !diode, period - fall - rise, -1.0};
    c.state[3] = (course_state){body, back, false, rise, 0.0};
    return c;
}

static void compare(const stage_bench *bench, const course_result *r, const char *what)
{
    const dc_figure rows[] = {
        {"on_time", r->control},
        {"inductor_current_rms", r->rms},
        {"high_switch_current_average", r->average[0]},
        {"high_switch_current_rms", r->tag_rms[0]},
        {"low_switch_current_rms", r->tag_rms[1]},
        {"low_body_current_average", r->average[2]},
        {"high_body_current_average", -r->average[3]},
        {"output_capacitor_current_rms", r->ripple_rms},
    };
    dc_stage_compare(bench, rows, sizeof rows / sizeof *rows, r->rms, what);
}

/* Five random bucks of each kind, followed by an integrator that shares no formula with the stage. */
START_TEST(random_bucks_agree_with_a_numerical_integrator)
{
    enum { CONTINUOUS, DISCONTINUOUS, REVERSED, KINDS };
    static const char *const kind[] = {"continuous", "discontinuous", "reversed"};
    lottery luck = lottery_open("buck in time");
    stage_bench *bench = stage_bench_create("synchronous_buck", NULL);
    int left[KINDS] = {5, 5, 5};
    for (int k = 0; k < 2000 && left[0] + left[1] + left[2] > 0; k++) {
        deal(bench, &luck);
        if (bench->values[9].number > 1 || bench->values[2].number > 1.5 ||
            !(bench->in.output_capacitance > 0) || !(bench->in.load.current > 0))
            continue;
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED) continue;
        double valley = stage_bench_quantity(bench, "inductor_current_valley");
        int is = valley > 0                                                              ? CONTINUOUS
                 : valley < -1e-6 * stage_bench_quantity(bench, "inductor_current_peak") ? REVERSED
                                                                                         : DISCONTINUOUS;
        if (!left[is]) continue;
        left[is]--;
        course_circuit c = course_of(bench, bench->values[2].number < 0.5);
        course_result r;
        double rest = course_settle(&c, stage_bench_quantity(bench, "on_time"),
                                    stage_bench_quantity(bench, "turn_on_current"), c.voltage, &r);
        char what[96];
        snprintf(what, sizeof what, "seed %llu, deal %d (%s, rest %.1g)", luck.seed, k, kind[is], rest);
        ck_assert_msg(rest < 1e-9, "%s", what);
        compare(bench, &r, what);
    }
    ck_assert_int_eq(left[0] + left[1] + left[2], 0);
    stage_bench_destroy(bench);
}
END_TEST

/* ------------------------------------------------------------- behaviour -- */

START_TEST(ideal_parts_lose_nothing)
{
    stage_bench *bench = plain_buck("forced_continuous", 3.0);
    stage_bench_set(bench, "dead_time_fall", 0.0);
    stage_bench_set(bench, "dead_time_rise", 0.0);
    for (int s = 0; s < 2; s++) bench->part[s].resistance = bench->part[s].reverse_voltage = 0.0;
    bench->part[2].winding_resistance[0] = 0.0;
    bench->in.output_capacitance = 0.0;
    stage_bench_expect_solved(bench);
    ck_near(bench->out.input.power, 15.0, 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "conduction_efficiency"), 1.0, 0, 0);
    ck_near(stage_bench_quantity(bench, "duty_ratio"), 5.0 / 24.0, 1e-12, 0);
    double ripple = 5.0 * (1 - 5.0 / 24.0) / (420e3 * 4.4e-6);
    ck_near(stage_bench_quantity(bench, "inductor_current_ripple"), ripple, 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "inductor_current_rms"), sqrt(9.0 + ripple * ripple / 12), 1e-12, 0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(losses_beyond_the_circuit_are_drawn_at_the_input)
{
    stage_bench *bench = plain_buck("forced_continuous", 3.0);
    stage_bench_expect_solved(bench);
    double before = bench->out.input.power, on = stage_bench_quantity(bench, "on_time");
    bench->in.extra_loss = 0.35;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    ck_near(bench->out.input.power - before, 0.35, 1e-12, 0);
    ck_near(bench->out.input.current, bench->out.input.power / 24.0, 1e-15, 0);
    ck_near(stage_bench_quantity(bench, "on_time"), on, 0, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* Below the threshold every pulse is the same and their number follows the load. */
START_TEST(pulse_skipping_lowers_the_frequency_with_the_load)
{
    stage_bench *bench = plain_buck("pulse_skipping", 0.05), *emulating = plain_buck("diode_emulation", 0.05);
    bench->in.output_capacitance = emulating->in.output_capacitance = 0.0;
    stage_bench_set(bench, "skip_on_time", 250e-9);
    double charge = 0.0;
    for (double i = 0.05; i > 1e-6; i *= 0.3) {
        stage_bench_load(bench, 5.0, i);
        stage_bench_expect_solved(bench);
        stage_bench_check_contract(bench, 1e-9);
        double f = stage_bench_quantity(bench, "switching_frequency");
        ck_assert_double_lt(f, 420e3);
        if (charge > 0) ck_near(i / f, charge, 1e-9, 0);
        charge = i / f;
        ck_near(stage_bench_quantity(bench, "on_time"), 250e-9, 1e-12, 0);
    }
    stage_bench_load(bench, 5.0, charge * 420e3 * (1 - 1e-9)); /* where skipping begins */
    stage_bench_load(emulating, 5.0, charge * 420e3 * (1 - 1e-9));
    stage_bench_expect_solved(bench);
    stage_bench_expect_solved(emulating);
    ck_near(stage_bench_quantity(bench, "switching_frequency"), 420e3, 1e-6, 0);
    ck_near(stage_bench_quantity(emulating, "on_time"), 250e-9, 1e-6, 0);
    stage_bench_load(bench, 5.0, 0.0);
    stage_bench_expect_solved(bench);
    ck_near(bench->out.input.power, 0.0, 0, 0);
    stage_bench_destroy(bench);
    stage_bench_destroy(emulating);
}
END_TEST

/* Two phases half a period apart: at half duty their ripple cancels; elsewhere the sum is that of two single
 * phases written side by side. */
START_TEST(two_phases_cancel_their_ripple)
{
    stage_bench *one = plain_buck("forced_continuous", 3.0), *two = plain_buck("forced_continuous", 6.0);
    stage_bench_set(two, "phases", 2);
    one->in.output_capacitance = 0.0; /* phases are solved with a stiff output */
    for (double out = 3.0; out < 16.0; out += 3.0) {
        stage_bench_load(one, out, 3.0);
        stage_bench_load(two, out, 6.0);
        stage_bench_expect_solved(one);
        stage_bench_expect_solved(two);
        stage_bench_check_contract(two, 1e-9);
        ck_near(two->out.input.power, 2 * one->out.input.power, 1e-12, 0);
        ck_near(two->out.circuit_loss, 2 * one->out.circuit_loss, 1e-12, 0);
        const hl_wave *single = one->out.output.wave, *sum = two->out.output.wave;
        double period = hl_wave_period(single), ripple = stage_bench_quantity(one, "inductor_current_ripple");
        ck_near(hl_wave_period(sum), period, 1e-12, 0);
        ck_near(hl_wave_average(sum), 6.0, 1e-8, 0); /* the sum is fitted to 1e-6 of the ripple */
        ck_near(hl_wave_average(two->out.input.wave), two->out.input.current, 1e-7, 0);
        for (int k = 0; k < 200; k++) { /* the sum starts at the first edge, which is the start of a phase */
            double t = period * (k + 0.37) / 200, later = fmod(t + 0.5 * period, period);
            ck_near(hl_wave_at(sum, t), hl_wave_at(single, t) + hl_wave_at(single, later), 0, 1e-6 * ripple);
        }
    }
    double ideal_on = 12.0;
    stage_bench_load(two, ideal_on, 6.0);
    stage_bench_expect_solved(two);
    double ripple = stage_bench_quantity(two, "inductor_current_ripple");
    ck_assert_double_lt(stage_bench_quantity(two, "output_capacitor_current_rms"), 0.05 * ripple);
    ck_assert_uint_eq(two->model->stage->positions(two->values, 0), 2);
    stage_bench_destroy(one);
    stage_bench_destroy(two);
}
END_TEST

/* The ripple voltage of phases comes from their summed waves; for one phase that must be what the exact
 * solution with the capacitor gives, to the second-order effect of the ripple on the current (a part in a
 * thousand here). */
START_TEST(ripple_voltage_of_phases_meets_the_exact_one)
{
    stage_bench *one = plain_buck("forced_continuous", 3.0), *four = plain_buck("forced_continuous", 12.0);
    stage_bench_set(four, "phases", 4);
    stage_bench_expect_solved(one);
    stage_bench_expect_solved(four);
    double area = 0, low = 0, high = 0, period = hl_wave_period(four->out.output.wave);
    enum { STEPS = 40000 };
    for (int k = 0; k < STEPS; k++) { /* straight summation of the same wave */
        double i = hl_wave_at(four->out.output.wave, period * (k + 0.5) / STEPS) - 12.0;
        area += i * period / STEPS;
        double u = area / 66e-6 + 0.0025 * i;
        if (k == 0) low = high = u;
        low = fmin(low, u);
        high = fmax(high, u);
    }
    ck_near(stage_bench_quantity(four, "output_voltage_ripple"), high - low, 1e-3, 0);
    ck_assert_double_lt(high - low, 0.5 * stage_bench_quantity(one, "output_voltage_ripple"));
    stage_bench_destroy(one);
    stage_bench_destroy(four);
}
END_TEST

START_TEST(what_cannot_be_is_refused_in_words)
{
    const struct {
        double input, output, load, frequency;
        const char *says;
    } bad[] = {
        {5.0, 5.0, 1.0, 400e3, "reaches at most"},
        {24, 30, 0, 400e3, "reaches at most"},
        {0, 5, 1, 400e3, "no input"},
        {-24, 5, 1, 400e3, "no input"},
        {NAN, 5, 1, 400e3, "no input"},
        {24, 0, 1, 400e3, "output_voltage"},
        {24, NAN, 1, 400e3, "output_voltage"},
        {24, 5, -1, 400e3, "negative"},
        {24, 5, NAN, 400e3, "load"},
        {24, 5, INFINITY, 400e3, "load"},
        {24, 5, 1, 0, "frequency"},
        {24, 5, 1, -1, "frequency"},
        {24, 5, 1, NAN, "frequency"},
        {24, 5, 1, 60e6, "dead times"},
    };
    for (size_t k = 0; k < sizeof bad / sizeof *bad; k++) {
        stage_bench *bench = plain_buck("forced_continuous", bad[k].load);
        stage_bench_load(bench, bad[k].output, bad[k].load);
        bench->in.input_voltage = bad[k].input;
        stage_bench_set(bench, "switching_frequency", bad[k].frequency);
        ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
        ck_assert_msg(strstr(bench->out.reason.text, bad[k].says), "case %zu says: %s", k,
                      bench->out.reason.text);
        stage_bench_destroy(bench);
    }
    stage_bench *bench = plain_buck("forced_continuous", 3.0);
    const double part[] = {NAN, -1.0, INFINITY};
    for (int k = 0; k < 3; k++) {
        bench->part[0].resistance = part[k];
        ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
        bench->part[0].resistance = 0.014;
        bench->part[2].inductance = part[k];
        ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
        bench->part[2].inductance = 4.4e-6;
    }
    stage_bench_set(bench, "minimum_on_time", 600e-9);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    ck_assert_ptr_nonnull(strstr(bench->out.reason.text, "on-time"));
    stage_bench_destroy(bench);
}
END_TEST

/* The highest voltage named in the refusal is the highest that works, but for the ripple. */
START_TEST(the_voltage_named_in_a_refusal_is_within_reach)
{
    stage_bench *bench = plain_buck("forced_continuous", 3.0);
    stage_bench_set(bench, "maximum_duty", 0.9);
    stage_bench_load(bench, 22.0, 3.0);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    const char *at = strstr(bench->out.reason.text, "at most ");
    ck_assert_ptr_nonnull(at);
    double most = atof(at + 8);
    stage_bench_load(bench, most * 0.999, 3.0);
    stage_bench_expect_solved(bench);
    stage_bench_load(bench, most * 1.001, 3.0);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    stage_bench_destroy(bench);
}
END_TEST

/* ------------------------------------------------------------- published -- */

/* Texas Instruments, buck regulator data sheet, efficiency calculation example, eq. 44 to 58: 12 V to 3.3 V,
 * 2 A, 2 MHz, diode of 0.5 V, 150 mohm switch, 20 mohm winding.  Printed: switch 188 mW, diode 686 mW,
 * inductor 80 mW, all with a duty ratio cut to 0.314 and without ripple.  This model solves 0.3148, so the
 * switch has 0.3 % more and the diode 0.1 % less; put to the printed duty ratio both round to the printed
 * figures. */
START_TEST(published_diode_buck_losses_are_met)
{
    stage_bench *bench = stage_bench_create("synchronous_buck", NULL);
    stage_bench_set(bench, "switching_frequency", 2e6);
    stage_bench_fill(bench, "high_switch", HL_FAMILY_SWITCH, 1)->resistance = 0.15;
    stage_bench_fill(bench, "low_switch", HL_FAMILY_DIODE, 1)->voltage = 0.5;
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    choke->inductance = 1e-3; /* the source neglects ripple */
    choke->winding_resistance[0] = 0.02;
    bench->in.input_voltage = 12.0;
    stage_bench_load(bench, 3.3, 2.0);
    stage_bench_expect_solved(bench);
    double duty = stage_bench_quantity(bench, "duty_ratio");
    ck_near(duty, (3.3 + 0.5 + 0.04) / (12.0 + 0.5 - 0.3), 1e-5, 0); /* volt-seconds with drops */
    ck_near(duty, 0.314, 0, 0.001);
    ck_near(stage_bench_quantity(bench, "high_switch_conduction_loss") * 0.314 / duty, 0.188, 0, 0.0005);
    ck_near(stage_bench_quantity(bench, "low_switch_conduction_loss") * (1 - 0.314) / (1 - duty), 0.686, 0,
            0.0005);
    ck_near(stage_bench_quantity(bench, "inductor_winding_loss"), 0.080, 0, 0.0005);
    stage_bench_destroy(bench);
}
END_TEST

/* ROHM, synchronous buck regulator data sheet (2014), permissible dissipation: 5 V to 3.3 V, 2 A, 200 and 160
 * mohm: printed 0.7456 W with D = Vo/Vcc = 0.66.  The drops raise D to 0.7358 at 5 V (0.7577 W, 1.6 % more);
 * at the input that gives the source's D the printed figure is met to its last digit. */
START_TEST(published_synchronous_conduction_loss_is_met)
{
    stage_bench *bench = plain_buck("forced_continuous", 2.0);
    bench->part[0].resistance = 0.2;
    bench->part[1].resistance = 0.16;
    bench->part[2].winding_resistance[0] = 0.0;
    bench->part[2].inductance = 1e-3;
    stage_bench_set(bench, "dead_time_fall", 0.0);
    stage_bench_set(bench, "dead_time_rise", 0.0);
    bench->in.input_voltage = (3.3 + 2 * 0.1864) / 0.66;
    stage_bench_load(bench, 3.3, 2.0);
    stage_bench_expect_solved(bench);
    ck_near(stage_bench_quantity(bench, "duty_ratio"), 0.66, 1e-6, 0);
    ck_near(bench->out.circuit_loss, 0.7456, 0, 0.00005);
    bench->in.input_voltage = 5.0;
    stage_bench_expect_solved(bench);
    ck_near(stage_bench_quantity(bench, "duty_ratio"), 3.62 / 4.92, 1e-5, 0);
    ck_near(bench->out.circuit_loss, 0.7577, 0, 0.0001);
    stage_bench_destroy(bench);
}
END_TEST

/* ----------------------------------------------------------------- speed -- */

START_TEST(a_solution_takes_microseconds)
{
    const struct {
        const char *mode;
        double load;
    } points[] = {{"forced_continuous", 3.0},
                  {"forced_continuous", 0.0},
                  {"diode_emulation", 0.3},
                  {"pulse_skipping", 0.01}};
    for (size_t k = 0; k < sizeof points / sizeof *points; k++) {
        stage_bench *bench = plain_buck(points[k].mode, points[k].load);
        stage_bench_set(bench, "skip_on_time", 250e-9);
        char what[64];
        snprintf(what, sizeof what, "buck: %s at %.3g A", points[k].mode, points[k].load);
        dc_stage_time(bench, what);
        stage_bench_destroy(bench);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_output_of_the_reference_cases_is_met);
    tcase_add_test(tests, no_random_buck_breaks_the_books);
    tcase_add_test(tests, random_bucks_agree_with_a_numerical_integrator);
    tcase_add_test(tests, ideal_parts_lose_nothing);
    tcase_add_test(tests, losses_beyond_the_circuit_are_drawn_at_the_input);
    tcase_add_test(tests, pulse_skipping_lowers_the_frequency_with_the_load);
    tcase_add_test(tests, two_phases_cancel_their_ripple);
    tcase_add_test(tests, ripple_voltage_of_phases_meets_the_exact_one);
    tcase_add_test(tests, what_cannot_be_is_refused_in_words);
    tcase_add_test(tests, the_voltage_named_in_a_refusal_is_within_reach);
    tcase_add_test(tests, published_diode_buck_losses_are_met);
    tcase_add_test(tests, published_synchronous_conduction_loss_is_met);
    tcase_add_test(tests, a_solution_takes_microseconds);
}

int main(void)
{
    return story_main("synchronous_buck", fill);
}
