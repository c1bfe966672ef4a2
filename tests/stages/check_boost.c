/* check_boost.c - the dc boost stage against an integrator, the textbook and itself. */
#include <math.h>
#include <string.h>

#include "dc_stage.h"
#include "inductor_course.h"
#include "story.h"

enum { FREQUENCY = 0, LIGHT_LOAD = 2, DEAD_TIME = 3, PHASES = 7 }; /* places in the parameter table */
enum { SWITCH, RECTIFIER, INDUCTOR };

/* 5 V to 12 V at 600 kHz, 2.2 uH. */
static stage_bench *plain_boost(const char *mode, double load)
{
    stage_bench *bench = stage_bench_create("boost", NULL);
    stage_bench_set(bench, "switching_frequency", 600e3);
    stage_bench_choose(bench, "light_load", mode);
    hl_terminal *low = stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1);
    hl_terminal *high = stage_bench_fill(bench, "rectifier", HL_FAMILY_SWITCH, 1);
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    low->resistance = 0.012;
    high->resistance = 0.015;
    low->reverse_voltage = high->reverse_voltage = 0.8;
    low->output_charge = high->output_charge = 3e-9;
    choke->inductance = 2.2e-6;
    choke->winding_resistance[0] = 0.014;
    bench->in.input_voltage = 5.0;
    bench->in.output_capacitance = 40e-6;
    bench->in.output_esr = 0.004;
    stage_bench_load(bench, 12.0, load);
    return bench;
}

static void deal(stage_bench *bench, lottery *luck)
{
    double f = lottery_scale(luck, 50e3, 3e6), in = lottery_scale(luck, 2.5, 60.0);
    double out = in * lottery_scale(luck, 1.05, 8.0), i = lottery_scale(luck, 1e-3, 10.0);
    double full = lottery_scale(luck, fmax(i, 0.3), 20.0 * fmax(i, 0.3)), drawn = full * out / in;
    const char *const mode[] = {"forced_continuous", "diode_emulation", "pulse_skipping"};
    stage_bench_set(bench, "switching_frequency", f);
    stage_bench_set(bench, "dead_time", lottery_between(luck, 0.0, 0.02) / f);
    stage_bench_choose(bench, "light_load", mode[lottery_below(luck, 3)]);
    stage_bench_set(bench, "phases", lottery_below(luck, 4) ? 1 : 1 + (double)lottery_below(luck, 4));
    stage_bench_unset(bench, "skip_on_time");
    stage_bench_unset(bench, "skip_peak_current");
    if (lottery_below(luck, 2)) stage_bench_set(bench, "skip_on_time", lottery_between(luck, 0.0, 0.5) / f);
    if (lottery_below(luck, 2))
        stage_bench_set(bench, "skip_peak_current", drawn * lottery_between(luck, 0.0, 0.5));
    hl_terminal *low =
        stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1 + (unsigned)lottery_below(luck, 2));
    hl_family family = lottery_below(luck, 2) ? HL_FAMILY_SWITCH : HL_FAMILY_DIODE;
    hl_terminal *high = stage_bench_fill(bench, "rectifier", family, 1);
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    double scale = in / drawn;
    low->resistance = scale * lottery_scale(luck, 1e-4, 0.02);
    high->resistance = scale * lottery_scale(luck, 1e-4, 0.02);
    choke->winding_resistance[0] = lottery_below(luck, 4) ? scale * lottery_scale(luck, 1e-4, 0.02) : 0.0;
    choke->inductance = in * (1 - in / out) / (f * drawn * lottery_scale(luck, 0.1, 3.0));
    low->reverse_voltage = lottery_between(luck, 0.0, 1.8);
    high->reverse_voltage = lottery_between(luck, 0.0, 1.8);
    if (family == HL_FAMILY_DIODE) high->voltage = lottery_between(luck, 0.0, 0.9);
    low->output_charge = lottery_scale(luck, 1e-11, 1e-7);
    bench->in.input_voltage = in;
    bench->in.output_capacitance =
        lottery_below(luck, 4) ? full / (f * out * lottery_scale(luck, 1e-4, 0.1)) : 0.0;
    bench->in.output_esr = lottery_below(luck, 3) ? out / full * lottery_scale(luck, 1e-4, 0.03) : 0.0;
    stage_bench_load(bench, out, lottery_below(luck, 12) ? i : 0.0);
}

static double circulating_voltage(const stage_bench *bench)
{
    return bench->out.output.voltage;
}

START_TEST(no_random_boost_breaks_the_books)
{
    const dc_stage stage = {"boost", deal, circulating_voltage};
    dc_stage_try(&stage);
}
END_TEST

/* ----------------------------------------------------------- time domain -- */

static course_circuit course_of(const stage_bench *bench, bool forced)
{
    const hl_terminal *low = &bench->part[SWITCH], *high = &bench->part[RECTIFIER];
    double extra = bench->part[INDUCTOR].winding_resistance[0], in = bench->in.input_voltage;
    bool diode = bench->in.slot[RECTIFIER].device->family == HL_FAMILY_DIODE;
    double period = 1.0 / bench->values[FREQUENCY].number,
           dead = diode ? 0.0 : bench->values[DEAD_TIME].number;
    course_path on = {in, low->resistance / bench->in.slot[SWITCH].count + extra, false, 0};
    course_path body = {in - high->reverse_voltage, extra, true, 2};
    course_path back = {in + low->reverse_voltage, extra, false, 3};
    course_path off = {in - high->voltage, high->resistance + extra, true, 1};
    course_circuit c = {.inductance = bench->part[INDUCTOR].inductance,
                        .capacitance = bench->in.output_capacitance,
                        .esr = bench->in.output_esr,
                        .load = bench->in.load.current,
                        .voltage = bench->in.output_voltage,
                        .states = 4};
    c.state[0] = (course_state){on, on, true, 0.0, 1.0};
    c.state[1] = (course_state){body, back, false, dead, 0.0};
    c.state[2] = (course_state){off, back, forced && !diode, period - 2 * dead, -1.0};
    c.state[3] = (course_state){body, back, false, dead, 0.0};
    return c;
}

static void compare(const stage_bench *bench, const course_result *r, const char *what)
{
    const dc_figure rows[] = {
        {"on_time", r->control},
        {"inductor_current_average", r->mean},
        {"inductor_current_rms", r->rms},
        {"switch_current_average", r->average[0]},
        {"switch_current_rms", r->tag_rms[0]},
        {"rectifier_current_average", r->average[1]},
        {"rectifier_current_rms", r->tag_rms[1]},
        {"rectifier_body_current_average", r->average[2]},
        {"switch_body_current_average", -r->average[3]},
        {"output_capacitor_current_rms", r->ripple_rms},
    };
    dc_stage_compare(bench, rows, sizeof rows / sizeof *rows, r->rms, what);
}

/* Five random boosts of each kind, followed by an integrator that shares no formula with the stage. */
START_TEST(random_boosts_agree_with_a_numerical_integrator)
{
    enum { CONTINUOUS, DISCONTINUOUS, REVERSED, KINDS };
    static const char *const kind[] = {"continuous", "discontinuous", "reversed"};
    lottery luck = lottery_open("boost in time");
    stage_bench *bench = stage_bench_create("boost", NULL);
    int left[KINDS] = {5, 5, 5};
    for (int k = 0; k < 3000 && left[0] + left[1] + left[2] > 0; k++) {
        deal(bench, &luck);
        if (bench->values[LIGHT_LOAD].number > 1.5 || bench->values[PHASES].number > 1) continue;
        if (!(bench->in.output_capacitance > 0) || !(bench->in.load.current > 0)) continue;
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED) continue;
        double valley = stage_bench_quantity(bench, "inductor_current_valley"),
               peak = stage_bench_quantity(bench, "inductor_current_peak");
        int is = valley > 0 ? CONTINUOUS : valley < -1e-6 * peak ? REVERSED : DISCONTINUOUS;
        if (!left[is]) continue;
        left[is]--;
        course_circuit c = course_of(bench, bench->values[LIGHT_LOAD].number < 0.5);
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

static void idealize(stage_bench *bench)
{
    stage_bench_set(bench, "dead_time", 0.0);
    for (int s = 0; s < 2; s++) bench->part[s].resistance = bench->part[s].reverse_voltage = 0.0;
    bench->part[INDUCTOR].winding_resistance[0] = 0.0;
    bench->in.output_capacitance = 0.0;
}

/* Erickson and Maksimovic (2001), sect. 2.3: D = 1 - Vin/V, I_L = I/(1 - D), ripple = Vin D T / L. */
START_TEST(ideal_parts_give_the_textbook_and_lose_nothing)
{
    stage_bench *bench = plain_boost("forced_continuous", 1.5);
    idealize(bench);
    stage_bench_expect_solved(bench);
    double duty = 1 - 5.0 / 12, ripple = 5.0 * duty / (600e3 * 2.2e-6);
    ck_near(bench->out.input.power, 18.0, 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "conduction_efficiency"), 1.0, 0, 0);
    ck_near(stage_bench_quantity(bench, "duty_ratio"), duty, 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "inductor_current_ripple"), ripple, 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "input_current_average"), 1.5 / (1 - duty), 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "input_capacitor_current_rms"), ripple / sqrt(12), 1e-12, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* Erickson and Maksimovic (2001), sect. 5.3: in discontinuous mode V/Vin = (1 + sqrt(1 + 4 D^2/K))/2,
 * K = 2L/RT. */
START_TEST(discontinuous_gain_is_the_textbooks)
{
    stage_bench *bench = plain_boost("diode_emulation", 0.02);
    idealize(bench);
    stage_bench_expect_solved(bench);
    double k = 2 * 2.2e-6 * 600e3 * 0.02 / 12.0, d = stage_bench_quantity(bench, "duty_ratio");
    ck_near(12.0 / 5.0, 0.5 * (1 + sqrt(1 + 4 * d * d / k)), 1e-12, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* Erickson and Maksimovic (2001), sect. 3.2: with winding resistance only, V = Vin / D' / (1 + R_L / (D'^2
 * R)). */
START_TEST(winding_resistance_lowers_the_gain_as_in_the_textbook)
{
    stage_bench *bench = plain_boost("forced_continuous", 1.0);
    idealize(bench);
    bench->part[INDUCTOR].winding_resistance[0] = 0.2;
    bench->part[INDUCTOR].inductance = 1e-2; /* the source neglects ripple */
    stage_bench_expect_solved(bench);
    double off = 1 - stage_bench_quantity(bench, "duty_ratio");
    ck_near(12.0, 5.0 / off / (1 + 0.2 / (off * off * 12.0)), 1e-6, 0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(waves_say_what_the_figures_say)
{
    const char *const mode[] = {"forced_continuous", "diode_emulation"};
    for (int m = 0; m < 2; m++) {
        stage_bench *bench = plain_boost(mode[m], m ? 0.05 : 1.5);
        bench->in.extra_loss = 0.2;
        stage_bench_expect_solved(bench);
        stage_bench_check_contract(bench, 1e-9);
        ck_near(hl_wave_average(bench->out.output.wave), bench->in.load.current, 1e-9, 0);
        ck_near(hl_wave_average(bench->out.input.wave), bench->out.input.current - 0.2 / 5.0, 1e-8, 0);
        double rms = hl_wave_rms(bench->out.output.wave), mean = bench->in.load.current;
        ck_near(sqrt(rms * rms - mean * mean), stage_bench_quantity(bench, "output_capacitor_current_rms"),
                1e-6, 0);
        const hl_stress *choke = stage_bench_stress(bench, "inductor");
        ck_near(hl_wave_integral_swing(choke->flux_voltage),
                2.2e-6 * stage_bench_quantity(bench, "inductor_current_ripple"), 1e-6, 0);
        stage_bench_destroy(bench);
    }
}
END_TEST

START_TEST(pulse_skipping_lowers_the_frequency_with_the_load)
{
    stage_bench *bench = plain_boost("pulse_skipping", 0.02);
    bench->in.output_capacitance = 0.0;
    stage_bench_set(bench, "skip_peak_current", 1.0);
    double charge = 0.0;
    for (double i = 0.02; i > 1e-6; i *= 0.3) {
        stage_bench_load(bench, 12.0, i);
        stage_bench_expect_solved(bench);
        stage_bench_check_contract(bench, 1e-9);
        double f = stage_bench_quantity(bench, "switching_frequency");
        ck_assert_double_lt(f, 600e3);
        if (charge > 0) ck_near(i / f, charge, 1e-9, 0);
        charge = i / f;
        ck_near(stage_bench_quantity(bench, "inductor_current_peak"), 1.0, 1e-9, 0);
    }
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(what_cannot_be_is_refused_in_words)
{
    const struct {
        double input, output, load, frequency;
        const char *says;
    } bad[] = {
        {12, 5, 1, 600e3, "passes through"},   {12.0, 11.9, 0.0, 600e3, "passes through"},
        {5, 12, 40, 600e3, "reaches at most"}, {5, 200, 1, 600e3, "reaches at most"},
        {0, 12, 1, 600e3, "no input"},         {NAN, 12, 1, 600e3, "no input"},
        {5, NAN, 1, 600e3, "output_voltage"},  {5, 0, 1, 600e3, "output_voltage"},
        {5, 12, -1, 600e3, "negative"},        {5, 12, NAN, 600e3, "load"},
        {5, 12, INFINITY, 600e3, "load"},      {5, 12, 1, 0, "frequency"},
        {5, 12, 1, NAN, "frequency"},          {5, 12, 1, 60e6, "dead times"},
    };
    for (size_t k = 0; k < sizeof bad / sizeof *bad; k++) {
        stage_bench *bench = plain_boost("forced_continuous", bad[k].load);
        stage_bench_load(bench, bad[k].output, bad[k].load);
        bench->in.input_voltage = bad[k].input;
        stage_bench_set(bench, "switching_frequency", bad[k].frequency);
        ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
        ck_assert_msg(strstr(bench->out.reason.text, bad[k].says), "case %zu says: %s", k,
                      bench->out.reason.text);
        stage_bench_destroy(bench);
    }
}
END_TEST

START_TEST(no_load_rests_or_circulates)
{
    stage_bench *bench = plain_boost("diode_emulation", 0.0);
    bench->in.extra_loss = 0.01;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-12);
    ck_near(bench->out.input.power, 0.01, 0, 0);
    stage_bench_choose(bench, "light_load", "forced_continuous");
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    ck_assert_double_lt(stage_bench_quantity(bench, "inductor_current_valley"), 0.0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(a_solution_takes_microseconds)
{
    const struct {
        const char *mode;
        double load;
    } at[] = {{"forced_continuous", 1.5}, {"diode_emulation", 0.02}};
    for (size_t k = 0; k < 2; k++) {
        stage_bench *bench = plain_boost(at[k].mode, at[k].load);
        char what[64];
        snprintf(what, sizeof what, "boost: %s at %.3g A", at[k].mode, at[k].load);
        dc_stage_time(bench, what);
        stage_bench_destroy(bench);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, no_random_boost_breaks_the_books);
    tcase_add_test(tests, random_boosts_agree_with_a_numerical_integrator);
    tcase_add_test(tests, ideal_parts_give_the_textbook_and_lose_nothing);
    tcase_add_test(tests, discontinuous_gain_is_the_textbooks);
    tcase_add_test(tests, winding_resistance_lowers_the_gain_as_in_the_textbook);
    tcase_add_test(tests, waves_say_what_the_figures_say);
    tcase_add_test(tests, pulse_skipping_lowers_the_frequency_with_the_load);
    tcase_add_test(tests, what_cannot_be_is_refused_in_words);
    tcase_add_test(tests, no_load_rests_or_circulates);
    tcase_add_test(tests, a_solution_takes_microseconds);
}

int main(void)
{
    return story_main("boost", fill);
}
