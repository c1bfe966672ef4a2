/* check_four_switch_buck_boost.c - the four-switch stage against an integrator, the buck and boost stages,
 * and itself. */
#include <math.h>
#include <string.h>

#include "dc_stage.h"
#include "inductor_course.h"
#include "story.h"

enum {
    FREQUENCY = 0,
    LIGHT_LOAD = 2,
    TRANSITION_DUTY = 4,
    DEAD_TIME = 5
}; /* places in the parameter table */
enum { INPUT_HIGH, INPUT_LOW, OUTPUT_LOW, OUTPUT_HIGH, INDUCTOR, SENSE };
enum { BUCK, TRANSITION, BOOST, SIMULTANEOUS };
static const char *const slot_name[] = {"input_high_switch", "input_low_switch", "output_low_switch",
                                        "output_high_switch"};

/* 12 V bus, 400 kHz, 4.7 uH. */
static stage_bench *plain_converter(const char *mode, double output, double load)
{
    stage_bench *bench = stage_bench_create("four_switch_buck_boost", NULL);
    stage_bench_set(bench, "switching_frequency", 400e3);
    stage_bench_choose(bench, "light_load", mode);
    for (int s = 0; s < 4; s++) {
        hl_terminal *part = stage_bench_fill(bench, slot_name[s], HL_FAMILY_SWITCH, 1);
        part->resistance = 0.008 + 0.001 * s;
        part->reverse_voltage = 0.75;
        part->output_charge = 5e-9;
    }
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    choke->inductance = 4.7e-6;
    choke->winding_resistance[0] = 0.012;
    stage_bench_fill(bench, "sense_resistor", HL_FAMILY_RESISTOR, 1)->resistance = 0.005;
    bench->in.input_voltage = 12.0;
    bench->in.output_capacitance = 60e-6;
    bench->in.output_esr = 0.004;
    stage_bench_load(bench, output, load);
    return bench;
}

static void deal(stage_bench *bench, lottery *luck)
{
    double f = lottery_scale(luck, 50e3, 2e6), in = lottery_scale(luck, 3.0, 50.0);
    double out =
        lottery_below(luck, 2) ? in * lottery_scale(luck, 0.15, 5.0) : in * lottery_between(luck, 0.8, 1.25);
    double i = lottery_scale(luck, 1e-3, 10.0), full = lottery_scale(luck, fmax(i, 0.3), 20.0 * fmax(i, 0.3));
    double top = full * fmax(out / in, 1.0), scale = fmin(in, out) / top;
    const char *const mode[] = {"forced_continuous", "diode_emulation", "pulse_skipping"};
    stage_bench_set(bench, "switching_frequency", f);
    stage_bench_set(bench, "dead_time", lottery_between(luck, 0.0, 0.01) / f);
    stage_bench_choose(bench, "light_load", mode[lottery_below(luck, 3)]);
    stage_bench_choose(bench, "modulation", lottery_below(luck, 3) ? "automatic" : "simultaneous");
    stage_bench_set(bench, "transition_duty", lottery_between(luck, 0.05, 0.3));
    stage_bench_unset(bench, "skip_on_time");
    stage_bench_unset(bench, "skip_peak_current");
    if (lottery_below(luck, 2)) stage_bench_set(bench, "skip_on_time", lottery_between(luck, 0.0, 0.4) / f);
    if (lottery_below(luck, 2))
        stage_bench_set(bench, "skip_peak_current", top * lottery_between(luck, 0.0, 0.5));
    for (int s = 0; s < 4; s++) {
        bool diode = (s == INPUT_LOW || s == OUTPUT_HIGH) && !lottery_below(luck, 4);
        hl_terminal *part = stage_bench_fill(bench, slot_name[s], diode ? HL_FAMILY_DIODE : HL_FAMILY_SWITCH,
                                             1 + (unsigned)lottery_below(luck, 2));
        part->resistance = scale * lottery_scale(luck, 1e-4, 0.02);
        part->reverse_voltage = lottery_between(luck, 0.0, 1.5);
        part->voltage = diode ? lottery_between(luck, 0.0, 0.05 * fmin(in, out)) : 0.0;
        part->output_charge = lottery_scale(luck, 1e-11, 1e-7);
    }
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    choke->winding_resistance[0] = lottery_below(luck, 4) ? scale * lottery_scale(luck, 1e-4, 0.02) : 0.0;
    choke->inductance = in * out / (in + out) / (f * top * lottery_scale(luck, 0.1, 3.0));
    bench->in.input_voltage = in;
    bench->in.output_capacitance =
        lottery_below(luck, 4) ? full / (f * out * lottery_scale(luck, 1e-4, 0.1)) : 0.0;
    bench->in.output_esr = lottery_below(luck, 3) ? out / full * lottery_scale(luck, 1e-4, 0.03) : 0.0;
    stage_bench_load(bench, out, lottery_below(luck, 12) ? i : 0.0);
}

static double circulating_voltage(const stage_bench *bench)
{
    return fmax(bench->out.output.voltage, bench->in.input_voltage);
}

START_TEST(no_random_converter_breaks_the_books)
{
    const dc_stage stage = {"four_switch_buck_boost", deal, circulating_voltage};
    dc_stage_try(&stage);
}
END_TEST

/* ----------------------------------------------------------- time domain -- */

typedef struct circuit_view {
    const stage_bench *bench;
    bool forced;
} circuit_view;

static double on_ohm(const stage_bench *b, int s)
{
    return b->part[s].resistance / b->in.slot[s].count;
}

static bool is_diode(const stage_bench *b, int s)
{
    return b->in.slot[s].device->family == HL_FAMILY_DIODE;
}

/* Drop of a part that conducts by its diode; parallel parts share the drop. */
static double diode_volt(const stage_bench *b, int s)
{
    return is_diode(b, s) ? b->part[s].voltage : b->part[s].reverse_voltage;
}

static double diode_ohm(const stage_bench *b, int s)
{
    return is_diode(b, s) ? on_ohm(b, s) : 0.0;
}

/* Gates: 'H' and 'L' closed, '-' both open. A synchronous switch that emulates a diode blocks reverse
 * current. */
static course_state gates(const circuit_view *v, char in, char out, double base, double rate)
{
    const stage_bench *b = v->bench;
    double vin = b->in.input_voltage, series = b->part[INDUCTOR].winding_resistance[0];
    course_state s = {.base = base, .rate = rate};
    course_path *p = &s.positive, *n = &s.negative;
    *p = *n = (course_path){0, series, false, -1};
    bool blocks_in = in == 'L' && (!v->forced || is_diode(b, INPUT_LOW)),
         blocks_out = out == 'H' && (!v->forced || is_diode(b, OUTPUT_HIGH));
    s.channel = in != '-' && out != '-' && !blocks_in && !blocks_out;
    if (in == 'H') {
        p->source += vin;
        p->resistance += on_ohm(b, INPUT_HIGH);
    } else if (in == 'L' && !is_diode(b, INPUT_LOW)) {
        p->resistance += on_ohm(b, INPUT_LOW);
    } else {
        p->source -= diode_volt(b, INPUT_LOW);
        p->resistance += diode_ohm(b, INPUT_LOW);
    }
    if (out == 'L') {
        p->resistance += on_ohm(b, OUTPUT_LOW);
    } else {
        p->feeds = true;
        bool by_diode = out == '-' || is_diode(b, OUTPUT_HIGH);
        p->source -= by_diode ? diode_volt(b, OUTPUT_HIGH) : 0.0;
        p->resistance += by_diode ? diode_ohm(b, OUTPUT_HIGH) : on_ohm(b, OUTPUT_HIGH);
    }
    if (in == 'H') {
        n->source += vin;
        n->resistance += on_ohm(b, INPUT_HIGH);
    } else if (in == 'L' && !blocks_in) {
        n->resistance += on_ohm(b, INPUT_LOW);
    } else {
        n->source += vin + b->part[INPUT_HIGH].reverse_voltage;
    }
    if (out == 'H' && !blocks_out) {
        n->feeds = true;
        n->resistance += on_ohm(b, OUTPUT_HIGH);
    } else if (out == 'L') {
        n->resistance += on_ohm(b, OUTPUT_LOW);
    } else {
        n->source += b->part[OUTPUT_LOW].reverse_voltage;
    }
    /* tags: 0 from the input, 1 from ground into the input end, 2 output end to ground, 3 into the output */
    p->tag = n->tag = out == 'L' ? 2 : out == 'H' ? 3 : -1;
    return s;
}

static course_circuit course_of(const stage_bench *bench, int mode)
{
    circuit_view v = {bench, bench->values[LIGHT_LOAD].number < 0.5};
    double period = 1.0 / bench->values[FREQUENCY].number, dead = bench->values[DEAD_TIME].number;
    double discharge = bench->values[TRANSITION_DUTY].number * period;
    course_circuit c = {.inductance = bench->part[INDUCTOR].inductance,
                        .capacitance = bench->in.output_capacitance,
                        .esr = bench->in.output_esr,
                        .load = bench->in.load.current,
                        .voltage = bench->in.output_voltage};
    course_state *s = c.state;
    if (mode == BUCK) {
        *s++ = gates(&v, 'H', 'H', 0, 1);
        *s++ = gates(&v, '-', 'H', dead, 0);
        *s++ = gates(&v, 'L', 'H', period - 2 * dead, -1);
        *s++ = gates(&v, '-', 'H', dead, 0);
    } else if (mode == BOOST) {
        *s++ = gates(&v, 'H', 'L', 0, 1);
        *s++ = gates(&v, 'H', '-', dead, 0);
        *s++ = gates(&v, 'H', 'H', period - 2 * dead, -1);
        *s++ = gates(&v, 'H', '-', dead, 0);
    } else if (mode == SIMULTANEOUS) {
        *s++ = gates(&v, 'H', 'L', 0, 1);
        *s++ = gates(&v, '-', '-', dead, 0);
        *s++ = gates(&v, 'L', 'H', period - 2 * dead, -1);
        *s++ = gates(&v, '-', '-', dead, 0);
    } else {
        *s++ = gates(&v, 'H', 'L', 0, 1);
        *s++ = gates(&v, 'H', '-', dead, 0);
        *s++ = gates(&v, 'H', 'H', period - discharge - 3 * dead, -1);
        *s++ = gates(&v, '-', 'H', dead, 0);
        *s++ = gates(&v, 'L', 'H', discharge, 0);
        *s++ = gates(&v, '-', '-', dead, 0);
    }
    c.states = (size_t)(s - c.state);
    return c;
}

static void compare(const stage_bench *bench, const course_result *r, int mode, const char *what)
{
    const dc_figure rows[] = {
        {"on_time", r->control},
        {"inductor_current_average", r->mean},
        {"inductor_current_rms", r->rms},
        {"output_capacitor_current_rms", r->ripple_rms},
        {"output_low_switch_current_rms", mode == BUCK ? 0.0 : r->tag_rms[2]},
    };
    dc_stage_compare(bench, rows, sizeof rows / sizeof *rows, r->rms, what);
}

/* Five random converters in each mode, followed by an integrator that shares no formula with the stage. */
START_TEST(random_converters_agree_with_a_numerical_integrator)
{
    lottery luck = lottery_open("four-switch in time");
    stage_bench *bench = stage_bench_create("four_switch_buck_boost", NULL);
    int left[] = {5, 5, 5, 5}, reversed = 0, rested = 0;
    for (int k = 0; k < 3000 && left[0] + left[1] + left[2] + left[3] > 0; k++) {
        deal(bench, &luck);
        if (bench->values[LIGHT_LOAD].number > 1.5) continue;
        if (!(bench->in.output_capacitance > 0) || !(bench->in.load.current > 0)) continue;
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED) continue;
        int mode = (int)stage_bench_quantity(bench, "conversion_mode");
        if (!left[mode]) continue;
        left[mode]--;
        double start = stage_bench_quantity(bench, "turn_on_current");
        if (start < 0) reversed++;
        if (start == 0) rested++;
        course_circuit c = course_of(bench, mode);
        course_result r;
        double rest = course_settle(&c, stage_bench_quantity(bench, "on_time"), start, c.voltage, &r);
        char what[96];
        snprintf(what, sizeof what, "seed %llu, deal %d (mode %d, rest %.1g)", luck.seed, k, mode, rest);
        ck_assert_msg(rest < 1e-9, "%s", what);
        compare(bench, &r, mode, what);
    }
    ck_assert_int_eq(left[0] + left[1] + left[2] + left[3], 0);
    ck_assert_int_gt(reversed, 0);
    ck_assert_int_gt(rested, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* --------------------------------------------------------- sister stages -- */

/* What a part sees of its switching. */
static void expect_same_events(const stage_bench *a, const char *of_a, const stage_bench *b, const char *of_b)
{
    const hl_stress *x = stage_bench_stress(a, of_a), *y = stage_bench_stress(b, of_b);
    const double *const seen[][2] = {
        {x->frequency, y->frequency},     {x->current_on, y->current_on},
        {x->current_off, y->current_off}, {x->voltage_on, y->voltage_on},
        {x->voltage_off, y->voltage_off}, {x->slope_off, y->slope_off},
        {x->charge_on, y->charge_on},     {x->reverse_average, y->reverse_average},
        {x->current_rms, y->current_rms},
    };
    for (size_t k = 0; k < sizeof seen / sizeof *seen; k++)
        ck_near(hl_stress_at(seen[k][0], 0), hl_stress_at(seen[k][1], 0), 1e-9, 1e-12);
}

/* With an ideal output leg held on, the buck mode is a buck stage; with an ideal input leg, the boost mode a
 * boost. */
START_TEST(below_the_input_it_is_a_buck_and_above_a_boost)
{
    const char *const mode[] = {"forced_continuous", "diode_emulation"};
    const char *const same[] = {"on_time",
                                "inductor_current_rms",
                                "inductor_current_peak",
                                "input_capacitor_current_rms",
                                "output_capacitor_current_rms",
                                "output_voltage_ripple",
                                "conduction_efficiency",
                                "turn_on_current"};
    for (int boost = 0; boost < 2; boost++)
        for (int k = 0; k < 8; k++) {
            double load = pow(0.4, k) * 4.0, out = boost ? 20.0 : 5.0;
            stage_bench *four = plain_converter(mode[k % 2], out, load);
            stage_bench *two = stage_bench_create(boost ? "boost" : "synchronous_buck", NULL);
            four->part[boost ? INPUT_HIGH : OUTPUT_HIGH].resistance = 0.0;
            stage_bench_set(two, "switching_frequency", 400e3);
            stage_bench_choose(two, "light_load", mode[k % 2]);
            *stage_bench_fill(two, boost ? "switch" : "high_switch", HL_FAMILY_SWITCH, 1) =
                four->part[boost ? OUTPUT_LOW : INPUT_HIGH];
            *stage_bench_fill(two, boost ? "rectifier" : "low_switch", HL_FAMILY_SWITCH, 1) =
                four->part[boost ? OUTPUT_HIGH : INPUT_LOW];
            *stage_bench_fill(two, "inductor", HL_FAMILY_MAGNETIC, 1) = four->part[INDUCTOR];
            *stage_bench_fill(two, "sense_resistor", HL_FAMILY_RESISTOR, 1) = four->part[SENSE];
            two->in.input_voltage = 12.0;
            two->in.output_capacitance = four->in.output_capacitance;
            two->in.output_esr = four->in.output_esr;
            stage_bench_load(two, out, load);
            stage_bench_expect_solved(four);
            stage_bench_expect_solved(two);
            ck_near(stage_bench_quantity(four, "conversion_mode"), boost ? BOOST : BUCK, 0, 0);
            for (size_t q = 0; q < sizeof same / sizeof *same; q++)
                ck_near(stage_bench_quantity(four, same[q]), stage_bench_quantity(two, same[q]), 1e-9, 1e-12);
            ck_near(four->out.input.power, two->out.input.power, 1e-9, 0);
            expect_same_events(four, slot_name[boost ? OUTPUT_LOW : INPUT_HIGH], two,
                               boost ? "switch" : "high_switch");
            expect_same_events(four, slot_name[boost ? OUTPUT_HIGH : INPUT_LOW], two,
                               boost ? "rectifier" : "low_switch");
            stage_bench_destroy(four);
            stage_bench_destroy(two);
        }
}
END_TEST

/* ------------------------------------------------------------- behaviour -- */

/* A pulse so small that it ends within the dead time: the partner turns on from rest, where the node stands
 * at the voltage of the other end of the inductor (buck: the output's, boost: the input's); the starter from
 * what the ring about that leaves, which is nearly nothing after so long. */
START_TEST(a_partner_that_turns_on_from_rest_blocks_what_the_other_does_not)
{
    for (int boost = 0; boost < 2; boost++) {
        double out = boost ? 20.0 : 5.0;
        stage_bench *bench = plain_converter("diode_emulation", out, 2e-4);
        stage_bench_set(bench, "dead_time", 300e-9);
        stage_bench_expect_solved(bench);
        const hl_stress *starter = stage_bench_stress(bench, slot_name[boost ? OUTPUT_LOW : INPUT_HIGH]),
                        *partner = stage_bench_stress(bench, slot_name[boost ? OUTPUT_HIGH : INPUT_LOW]);
        double rest = boost ? out - 12.0 : out, whole = boost ? out : 12.0;
        size_t first = boost ? 2 : 0;
        node_ring ring =
            dc_stage_ring(bench, slot_name[boost ? OUTPUT_HIGH : INPUT_LOW], whole, rest, 4.7e-6,
                          bench->part[first].output_charge + bench->part[first + 1].output_charge);
        ck_near(starter->voltage_on[0], ring.left, 1e-9, 0);
        ck_near(ring.left, whole - rest, 0.01, 0);
        ck_near(partner->voltage_on[0], boost ? out - 12.0 : out, 1e-12, 0);
        ck_near(partner->charge_on[0], partner->voltage_on[0], 1e-12, 0);
        ck_near(hl_stress_at(partner->current_on, 0), 0, 0, 0);
        stage_bench_destroy(bench);
    }
}
END_TEST

/* Above the input without load, the current of a transition falls through zero while both high switches
 * conduct: as the upper one opens, its body path goes on and holds the node up, so the lower one closes on
 * all of the input. */
START_TEST(a_current_that_has_reversed_leaves_the_lower_switch_the_whole_input)
{
    stage_bench *bench = plain_converter("forced_continuous", 12.4, 0.0);
    stage_bench_expect_solved(bench);
    ck_near(stage_bench_quantity(bench, "conversion_mode"), TRANSITION, 0, 0);
    const hl_stress *low = stage_bench_stress(bench, "input_low_switch");
    ck_assert_double_gt(low->current_on[0], 0.0);
    ck_near(low->voltage_on[0], 12.0, 1e-12, 0);
    ck_near(low->charge_on[0], 12.0, 1e-12, 0);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(ideal_parts_lose_nothing_in_any_mode)
{
    const double output[] = {5.0, 12.0, 11.6, 12.4, 20.0};
    for (size_t k = 0; k < 5; k++)
        for (int simultaneous = 0; simultaneous < 2; simultaneous++) {
            stage_bench *bench = plain_converter("forced_continuous", output[k], 2.0);
            if (simultaneous) stage_bench_choose(bench, "modulation", "simultaneous");
            stage_bench_set(bench, "dead_time", 0.0);
            for (int s = 0; s < 4; s++) bench->part[s].resistance = bench->part[s].reverse_voltage = 0.0;
            bench->part[INDUCTOR].winding_resistance[0] = bench->part[SENSE].resistance = 0.0;
            bench->in.output_capacitance = 0.0;
            stage_bench_expect_solved(bench);
            stage_bench_check_contract(bench, 1e-9);
            ck_near(bench->out.input.power, 2.0 * output[k], 1e-11, 0);
            ck_near(stage_bench_quantity(bench, "conduction_efficiency"), 1.0, 0, 0);
            if (simultaneous)
                ck_near(stage_bench_quantity(bench, "duty_ratio"), output[k] / (12.0 + output[k]), 1e-10, 0);
            stage_bench_destroy(bench);
        }
}
END_TEST

/* Through the range of output voltages: modes in their order, every point solved, waves sound, the parts that
 * rest have no switching events. */
START_TEST(the_modes_follow_each_other_through_the_voltages)
{
    int before = BUCK;
    for (double out = 4.0; out < 30.0; out *= 1.01) {
        stage_bench *bench = plain_converter("forced_continuous", out, 2.0);
        stage_bench_expect_solved(bench);
        stage_bench_check_contract(bench, 1e-9);
        int mode = (int)stage_bench_quantity(bench, "conversion_mode");
        ck_assert_int_ge(mode, before);
        before = mode;
        ck_near(hl_wave_average(bench->out.output.wave), 2.0, 1e-9, 0);
        ck_near(hl_wave_average(bench->out.input.wave), bench->out.input.current, 1e-8, 0);
        double rms = hl_wave_rms(bench->out.output.wave);
        ck_near(sqrt(rms * rms - 4.0), stage_bench_quantity(bench, "output_capacitor_current_rms"), 1e-6, 0);
        const hl_stress *in = stage_bench_stress(bench, slot_name[INPUT_HIGH]),
                        *to = stage_bench_stress(bench, slot_name[OUTPUT_LOW]);
        ck_assert((in->frequency[0] > 0) == (mode != BOOST));
        ck_assert((to->frequency[0] > 0) == (mode != BUCK));
        stage_bench_destroy(bench);
    }
    ck_assert_int_eq(before, BOOST);
}
END_TEST

/* What the inductor's current meets in the sense resistor might as well be in the winding: the same mode, the
 * same cycle, at every step through the borders of the modes. */
START_TEST(a_sense_resistor_acts_as_so_much_winding)
{
    stage_bench *apart = plain_converter("forced_continuous", 12.0, 3.0);
    stage_bench *within = plain_converter("forced_continuous", 12.0, 3.0);
    int steps[3] = {0};
    apart->part[SENSE].resistance = 0.06;
    within->part[INDUCTOR].winding_resistance[0] += 0.06;
    within->part[SENSE].resistance = 0.0;
    for (double input = 9.0; input < 16.0; input += 0.02) {
        apart->in.input_voltage = within->in.input_voltage = input;
        ck_assert_int_eq(stage_bench_solve(apart), HL_STAGE_SOLVED);
        ck_assert_int_eq(stage_bench_solve(within), HL_STAGE_SOLVED);
        int mode = (int)stage_bench_quantity(apart, "conversion_mode");
        ck_assert_int_eq(mode, (int)stage_bench_quantity(within, "conversion_mode"));
        ck_near(stage_bench_quantity(apart, "turn_off_current"),
                stage_bench_quantity(within, "turn_off_current"), 1e-9, 0);
        ck_near(apart->out.input.power, within->out.input.power, 1e-10, 0);
        steps[mode]++;
    }
    for (int k = 0; k < 3; k++) ck_assert_int_gt(steps[k], 0);
    stage_bench_destroy(apart);
    stage_bench_destroy(within);
}
END_TEST

START_TEST(pulse_skipping_lowers_the_frequency_with_the_load)
{
    const double output[] = {5.0, 12.0, 20.0};
    for (int k = 0; k < 3; k++) {
        stage_bench *bench = plain_converter("pulse_skipping", output[k], 0.02);
        bench->in.output_capacitance = 0.0;
        stage_bench_set(bench, "skip_peak_current", 1.2);
        double charge = 0.0;
        for (double i = 0.01; i > 1e-6; i *= 0.3) {
            stage_bench_load(bench, output[k], i);
            stage_bench_expect_solved(bench);
            stage_bench_check_contract(bench, 1e-9);
            double f = stage_bench_quantity(bench, "switching_frequency");
            ck_assert_double_lt(f, 400e3);
            if (charge > 0) ck_near(i / f, charge, 1e-9, 0);
            charge = i / f;
        }
        stage_bench_destroy(bench);
    }
}
END_TEST

/* V by which the refusal says that one pulse of 1.5 us from 12 V would lift 0.3 uF at this output. */
static double lift_told(double output)
{
    stage_bench *bench = plain_converter("pulse_skipping", output, 0.001);
    double lift = NAN;
    stage_bench_set(bench, "dead_time", 0.0);
    stage_bench_set(bench, "transition_duty", 0.2);
    stage_bench_set(bench, "skip_on_time", 1.5e-6);
    bench->in.output_capacitance = 0.3e-6;
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    const char *by = strstr(bench->out.reason.text, "by ");
    ck_assert_msg(by && sscanf(by, "by %lf V", &lift) == 1, "%s", bench->out.reason.text);
    stage_bench_destroy(bench);
    return lift;
}

/* With ideal legs and 4.7 uH.  From 12 V to 12 V the pulse charges the choke to 3.83 A, which flows through
 * to the output for what the discharge, a fifth of the 2.5 us here, leaves of the period, 0.5 us, and then
 * falls to zero over the output alone in 1.5 us.  From 12 V to 5 V it rises to 2.23 A and falls in 2.1 us,
 * all of it into the output; from 12 V to 20 V only the fall from 3.83 A over 8 V, 2.25 us, reaches it. Three
 * digits are told. */
START_TEST(a_pulse_too_great_for_the_capacitor_is_told_by_its_charge)
{
    const double on = 1.5e-6, l = 4.7e-6, c = 0.3e-6, peak = 12.0 * on / l, low = 7.0 * on / l;
    ck_near(lift_told(12.0), peak * (0.5e-6 + 0.5 * on) / c, 5e-3, 0);
    ck_near(lift_told(5.0), 0.5 * low * (on + low * l / 5.0) / c, 5e-3, 0);
    ck_near(lift_told(20.0), 0.5 * peak * (peak * l / 8.0) / c, 5e-3, 0);
}
END_TEST

START_TEST(what_cannot_be_is_refused_in_words)
{
    const struct {
        double input, output, load, frequency;
        const char *says;
    } bad[] = {
        {12, 300, 3, 400e3, "reaches at most"}, {0, 12, 1, 400e3, "no input"},
        {NAN, 12, 1, 400e3, "no input"},        {12, NAN, 1, 400e3, "output_voltage"},
        {12, 0, 1, 400e3, "output_voltage"},    {12, 12, -1, 400e3, "negative"},
        {12, 12, NAN, 400e3, "load"},           {12, 12, 1, 0, "frequency"},
        {12, 12, 1, NAN, "frequency"},          {12, 12, 1, 40e6, "dead times"},
    };
    for (size_t k = 0; k < sizeof bad / sizeof *bad; k++) {
        stage_bench *bench = plain_converter("forced_continuous", bad[k].output, bad[k].load);
        bench->in.input_voltage = bad[k].input;
        stage_bench_set(bench, "switching_frequency", bad[k].frequency);
        ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
        ck_assert_msg(strstr(bench->out.reason.text, bad[k].says), "case %zu says: %s", k,
                      bench->out.reason.text);
        stage_bench_destroy(bench);
    }
}
END_TEST

START_TEST(a_solution_takes_microseconds)
{
    const double output[] = {5.0, 12.0, 20.0};
    for (size_t k = 0; k < 3; k++) {
        stage_bench *bench = plain_converter("forced_continuous", output[k], 2.0);
        char what[64];
        snprintf(what, sizeof what, "four-switch: 12 V to %.3g V", output[k]);
        dc_stage_time(bench, what);
        stage_bench_destroy(bench);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, no_random_converter_breaks_the_books);
    tcase_add_test(tests, random_converters_agree_with_a_numerical_integrator);
    tcase_add_test(tests, below_the_input_it_is_a_buck_and_above_a_boost);
    tcase_add_test(tests, a_partner_that_turns_on_from_rest_blocks_what_the_other_does_not);
    tcase_add_test(tests, a_current_that_has_reversed_leaves_the_lower_switch_the_whole_input);
    tcase_add_test(tests, ideal_parts_lose_nothing_in_any_mode);
    tcase_add_test(tests, the_modes_follow_each_other_through_the_voltages);
    tcase_add_test(tests, a_sense_resistor_acts_as_so_much_winding);
    tcase_add_test(tests, pulse_skipping_lowers_the_frequency_with_the_load);
    tcase_add_test(tests, a_pulse_too_great_for_the_capacitor_is_told_by_its_charge);
    tcase_add_test(tests, what_cannot_be_is_refused_in_words);
    tcase_add_test(tests, a_solution_takes_microseconds);
}

int main(void)
{
    return story_main("four_switch_buck_boost", fill);
}
