/* check_flyback.c - laws the flyback must hold, at the border of its modes and at any setting. What others
 * say of it is in check_flyback_agreement.c. */
#include "stage_bench.h"
#include "story.h"

#include <math.h>
#include <string.h>
#include <time.h>

#include "flyback_design.h"

/* ------------------------------------------------------------- behaviour -- */

static void build_adapter(double input, double load, double frequency)
{
    flyback_design d = flyback_adapter(input, load, frequency);
    flyback_lay_out(flyback_bench, &d);
}

/* Without resistances, drops and leakage nothing is lost. */
START_TEST(ideal_parts_lose_nothing)
{
    flyback_design d = flyback_adapter(200, 2, 70e3);
    d.leakage = d.winding = d.channel = d.secondary = 0;
    for (int k = 0; k < 12; k++) {
        d.load = 0.3 * (k % 6 + 1);
        d.frequency = k < 6 ? 70e3 : 0;
        flyback_lay_out(flyback_bench, &d);
        flyback_solved();
        ck_near(flyback_bench->out.circuit_loss, 0, 0, 1e-12);
        ck_near(flyback_bench->out.input.power, d.load * d.output, 1e-12, 0);
    }
}
END_TEST

/* Load moved by 1e-6 of itself over the border of discontinuous and continuous mode, with and without
 * leakage: no figure moves by more than 0.1 %. */
START_TEST(nothing_jumps_at_the_border_of_the_modes)
{
    double low = 0.5, high = 6;
    flyback_design d = flyback_adapter(150, low, 70e3);
    d.leakage = _i ? 9e-6 : 0;
    for (int k = 0; k < 60; k++) {
        d.load = 0.5 * (low + high);
        flyback_lay_out(flyback_bench, &d);
        flyback_solved();
        *(flyback_asked("continuous_conduction") > 0 ? &high : &low) = d.load;
    }
    hl_quantity below[HL_QUANTITIES_MAX];
    size_t n = flyback_bench->out.quantities;
    d.load = low * (1 - 0.5e-6);
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    ck_near(flyback_asked("continuous_conduction"), 0, 0, 0);
    memcpy(below, flyback_bench->out.quantity, sizeof below);
    d.load = low * (1 + 0.5e-6);
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    ck_near(flyback_asked("continuous_conduction"), 1, 0, 0);
    for (size_t k = 0; k < n; k++) {
        const char *name = below[k].name;
        if (!strcmp(name, "continuous_conduction") || !strncmp(name, "turn_on_v", 9) ||
            !strncmp(name, "node_", 5))
            continue; /* a drain at rest stands at the input, one still conducting above it: that is a jump */
        double scale = fabs(below[k].value);
        if (!strcmp(name, "primary_current_start")) scale = flyback_asked("primary_current_peak");
        if (!strcmp(name, "commutation_time")) scale = flyback_asked("on_time");
        if (!(fabs(flyback_bench->out.quantity[k].value - below[k].value) <= 1e-3 * scale))
            ck_abort_msg("%s jumps from %.9g to %.9g", name, below[k].value,
                         flyback_bench->out.quantity[k].value);
    }
}
END_TEST

/* The waves handed to parts and buses tell what the figures say. */
static void check_waves(double tolerance)
{
    const hl_stress *core = stage_bench_stress(flyback_bench, "transformer");
    double winding = 0, second = 0, flux = 0, volts = 0, half = 0;
    const hl_side *in = &flyback_bench->out.input, *out = &flyback_bench->out.output;
    double drawn = 0, delivered = 0, in_square = 0;
    for (size_t k = 0; k < core->n; k++) {
        double w = core->weight[k];
        winding += w * hl_wave_mean_square(&core->winding_current[0][k]);
        second += w * hl_wave_mean_square(&core->winding_current[1][k]);
        flux += w * hl_wave_average(&core->flux_voltage[k]);
        volts = fmax(volts, hl_wave_rms(&core->flux_voltage[k]));
        half = fmax(half, 0.5 * hl_wave_integral_swing(&core->flux_voltage[k]));
        drawn += w * hl_wave_average(&in->wave[k]);
        in_square += w * hl_wave_mean_square(&in->wave[k]);
        delivered += w * hl_wave_average(&out->wave[k]);
        if (!core->winding_current[0][k].n) continue;
        ck_near(hl_wave_period(&core->winding_current[0][k]) * core->frequency[k], 1, 1e-9, 0);
        ck_near(hl_wave_period(&out->wave[k]) * core->frequency[k], 1, 1e-9, 0);
        ck_near(hl_wave_period(&core->flux_voltage[k]) * core->frequency[k], 1, 1e-9, 0);
    }
    ck_near(sqrt(winding), flyback_asked("primary_winding_current_rms"), tolerance, 0);
    ck_near(sqrt(second), flyback_asked("secondary_current_rms"), tolerance, 0);
    ck_near(sqrt(fmax(in_square - drawn * drawn, 0)), flyback_asked("input_capacitor_current_rms"), tolerance,
            0);
    ck_near(delivered, flyback_bench->in.load.current, tolerance, 0);
    ck_near(flux, 0, 0, tolerance * volts);
    /* N B A = Lm im (definition of inductance), and im is the switch's current as it turns off */
    double linkage = flyback_bench->part[1].inductance * flyback_asked("primary_current_peak");
    ck_near(half + core->flux_bias, linkage, 1e-12, 0);
    if (!(flyback_asked("continuous_conduction") + flyback_asked("valley_number") > 0))
        ck_near(core->flux_bias, 0.5 * linkage, tolerance, 0); /* each cycle begins without flux */
}

START_TEST(waves_agree_with_the_figures)
{
    lottery luck = lottery_open("flyback waves");
    for (int points = 0; points < 400;) {
        flyback_design d = flyback_draw(&luck, points % 2);
        flyback_lay_out(flyback_bench, &d);
        if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) continue;
        check_waves(1e-3);
        points++;
    }
    flyback_design d = flyback_adapter(325, 2.2, 0);
    d.valley = 2;
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    check_waves(1e-5);
}
END_TEST

/* Along the ripple: the mean of eight cycles is what a fine walk along the bus gives. */
START_TEST(bus_ripple_is_averaged_over_the_line)
{
    enum { STEPS = 400 };
    double power = 0, square = 0, peak = 0;
    for (int k = 0; k < STEPS; k++) {
        double v = 130 + 60 * ((k + 0.5) / STEPS - 0.5);
        build_adapter(v, 2.5, 0);
        stage_bench_set(flyback_bench, "valley", 1);
        flyback_solved();
        power += flyback_bench->out.input.power / STEPS;
        square += pow(flyback_asked("switch_current_rms"), 2) / STEPS;
        peak = fmax(peak, flyback_asked("primary_current_peak"));
    }
    build_adapter(130, 2.5, 0);
    stage_bench_set(flyback_bench, "valley", 1);
    stage_bench_set(flyback_bench, "input_ripple", 60);
    flyback_solved();
    check_waves(1e-4);
    ck_assert_uint_eq(flyback_bench->out.input.cycles, 8);
    ck_near(flyback_bench->out.input.power, power, 1e-6, 0);
    ck_near(flyback_asked("switch_current_rms"), sqrt(square), 1e-5, 0);
    ck_near(flyback_asked("primary_current_peak"), peak, 1e-2, 0);
    stage_bench_set(flyback_bench, "input_ripple", 1e-3);
    flyback_solved();
    double small = flyback_bench->out.input.power;
    stage_bench_set(flyback_bench, "input_ripple", 0);
    flyback_solved();
    ck_near(small, flyback_bench->out.input.power, 1e-9, 0);
}
END_TEST

/* Below the least peak current the averages shrink with the share of time it switches; the cycle stays. */
START_TEST(light_load_bursts_at_the_least_peak_current)
{
    for (int mode = 0; mode < 3; mode++) {
        build_adapter(325, 0.2, mode == 0 ? 70e3 : 0);
        stage_bench_set(flyback_bench, "burst_peak_current", 0.6);
        if (mode == 2) stage_bench_set(flyback_bench, "maximum_frequency", 150e3);
        flyback_solved();
        check_waves(1e-4);
        double share = flyback_asked("burst_duty"), rms = flyback_asked("secondary_current_rms"),
               loss = flyback_bench->out.circuit_loss;
        ck_near(flyback_asked("primary_current_peak"), 0.6, 1e-12, 0);
        ck_near(flyback_asked("secondary_current_average"), 0.2, 1e-9, 0);
        ck_assert_double_lt(share, 0.9);
        build_adapter(325, 0.1, mode == 0 ? 70e3 : 0);
        flyback_solved();
        ck_near(flyback_asked("burst_duty"), 0.5 * share, 1e-9, 0);
        ck_near(flyback_asked("secondary_current_rms"), sqrt(0.5) * rms, 1e-9, 0);
        ck_near(flyback_bench->out.circuit_loss, 0.5 * loss, 1e-9, 0);
        stage_bench_unset(flyback_bench, "burst_peak_current");
        stage_bench_unset(flyback_bench, "maximum_frequency");
    }
}
END_TEST

/* A ring that reaches zero volts ends there, and with a frequency clamp goes on to the second valley while
 * the body path still conducts: in no case is a pulse's period shorter than the clamp allows. */
START_TEST(bursts_keep_to_the_frequency_clamp)
{
    build_adapter(80, 0.05, 0);
    hl_terminal *chip = &flyback_bench->part[0];
    chip->reverse_voltage = 0.8;
    chip->reverse_resistance = 0.05;
    stage_bench_set(flyback_bench, "burst_peak_current", 0.6);
    int valleys[3] = {0};
    for (double clamp = 60e3; clamp < 200e3; clamp *= 1.002) {
        stage_bench_set(flyback_bench, "maximum_frequency", clamp);
        flyback_solved();
        ck_assert_double_le(flyback_asked("switching_frequency"), clamp * (1 + 1e-12));
        valleys[(int)fmin(flyback_asked("valley_number"), 3) - 1]++;
    }
    for (int k = 0; k < 3; k++) ck_assert_int_gt(valleys[k], 0);
    stage_bench_unset(flyback_bench, "burst_peak_current");
    stage_bench_unset(flyback_bench, "maximum_frequency");
}
END_TEST

/* An active clamp hands its energy back: the same currents, less drawn, nothing lost in the clamp. */
START_TEST(active_clamp_returns_the_leakage_energy)
{
    build_adapter(325, 1.2, 68e3);
    flyback_solved();
    double rms = flyback_asked("switch_current_rms"), drawn = flyback_bench->out.input.power,
           lost = flyback_asked("clamp_loss");
    ck_near(flyback_bench->out.own_loss, lost, 1e-12, 0);
    stage_bench_choose(flyback_bench, "clamp", "active");
    flyback_solved();
    ck_near(flyback_asked("switch_current_rms"), rms, 1e-12, 0);
    ck_near(flyback_bench->out.input.power, drawn - lost, 1e-12, 0);
    ck_near(flyback_asked("clamp_loss") + flyback_bench->out.own_loss, 0, 0, 0);
}
END_TEST

typedef struct store { /* what an hl_stress says of one cycle */
    double average, rms, peak, on, off, reverse, reverse_rms, slope, voltage_on, voltage_off, duty;
} store;

static store first_cycle(const char *slot)
{
    const hl_stress *s = stage_bench_stress(flyback_bench, slot);
    return (store){s->current_average[0],
                   s->current_rms[0],
                   s->current_peak[0],
                   s->current_on[0],
                   s->current_off[0],
                   hl_stress_at(s->reverse_average, 0),
                   hl_stress_at(s->reverse_rms, 0),
                   hl_stress_at(s->slope_off, 0),
                   hl_stress_at(s->voltage_on, 0),
                   s->voltage_off[0],
                   s->duty[0]};
}

static void expect_half_the_currents(store one, store two)
{
    const double *whole = &one.average, *half = &two.average;
    for (int i = 0; i < 11; i++) ck_near(half[i], i < 8 ? 0.5 * whole[i] : whole[i], 1e-9, 1e-12);
}

/* Two of everything: half the current in each part, and the same voltages. */
START_TEST(parallel_parts_share)
{
    build_adapter(110, 3.2, 100e3);
    stage_bench_set(flyback_bench, "dead_time", 60e-9);
    flyback_solved();
    store one_switch = first_cycle("switch"), one_rectifier = first_cycle("rectifier");
    ck_assert(one_switch.average > 0.1 && one_rectifier.reverse_rms > 0.1 && one_rectifier.slope > 1);
    const hl_stress *sw = stage_bench_stress(flyback_bench, "switch");
    double rms = sw->total_rms,
           winding = hl_wave_rms(&stage_bench_stress(flyback_bench, "transformer")->winding_current[0][0]);
    for (size_t s = 0; s < 3; s++) {
        flyback_bench->in.slot[s].count = 2;
        flyback_bench->part[s].resistance *= 2;
        flyback_bench->part[s].inductance *= 2;
        flyback_bench->part[s].leakage *= 2;
        for (int w = 0; w < 2; w++) flyback_bench->part[s].winding_resistance[w] *= 2;
    }
    flyback_solved();
    expect_half_the_currents(one_switch, first_cycle("switch"));
    expect_half_the_currents(one_rectifier, first_cycle("rectifier"));
    ck_near(stage_bench_stress(flyback_bench, "switch")->total_rms, 0.5 * rms, 1e-9, 0);
    ck_near(hl_wave_rms(&stage_bench_stress(flyback_bench, "transformer")->winding_current[0][0]),
            0.5 * winding, 1e-9, 0);
}
END_TEST

/* The rectifier's share: channel and body path together carry the secondary current. */
START_TEST(synchronous_rectifier_conducts_backwards_in_dead_time)
{
    build_adapter(110, 3.2, 100e3);
    stage_bench_set(flyback_bench, "dead_time", 60e-9);
    flyback_solved();
    const hl_stress *re = stage_bench_stress(flyback_bench, "rectifier");
    ck_assert_double_gt(re->reverse_average[0], 0.01);
    ck_near(re->total_average, 3.2, 1e-9, 0);
    ck_near(re->total_rms, flyback_asked("secondary_current_rms"), 1e-9, 0);
    ck_near(re->voltage_off[0], 110 / 5.6 + 20, 1e-12, 0);
    /* commutation through the leakage: n^2 (Vin + V0) / Llk n ... = n d(im - ilk)/dt */
    double expected = 5.6 * (110 + 5.6 * 20) * (1 / 9e-6) + 5.6 * 5.6 * 20 / 480e-6;
    ck_near(re->slope_off[0], expected, 5e-3, 0);
}
END_TEST

static const struct {
    const char *parameter, *sentence;
    double number, voltage, current;
} refused[] = {
    {"peak_current_limit", "the controller cuts at 1 A", 1, 20, 1.2},
    {"maximum_duty", "the controller makes at most 0.1", 0.1, 20, 1.2},
    {"clamp_voltage", "not above the reflected output voltage", 100, 20, 1.2},
    {"clamp_voltage", "needs a clamp_voltage above", 0, 20, 1.2},
    {"input_ripple", "does not fit on a bus of 325 V", 700, 20, 1.2},
    {"switching_frequency", "does not run at a switching_frequency", -1, 20, 1.2},
    {NULL, "no steady cycle delivers 4000 A", 0, 20, 4000},
    {NULL, "nothing says which voltage", 0, 0, 1},
    {NULL, "no number, or negative", 0, 20, NAN},
    {NULL, "no number, or negative", 0, 20, -1},
};

START_TEST(impossible_points_are_refused_with_a_sentence)
{
    build_adapter(325, 1.2, 68e3);
    if (refused[_i].parameter) stage_bench_set(flyback_bench, refused[_i].parameter, refused[_i].number);
    stage_bench_load(flyback_bench, refused[_i].voltage, refused[_i].current);
    ck_assert_int_eq(stage_bench_solve(flyback_bench), HL_STAGE_INFEASIBLE);
    if (!strstr(flyback_bench->out.reason.text, refused[_i].sentence))
        ck_abort_msg("said: %s", flyback_bench->out.reason.text);
}
END_TEST

START_TEST(frequency_limits_are_refused_with_a_sentence)
{
    build_adapter(325, 2.2, 0);
    stage_bench_set(flyback_bench, "valley", 1);
    stage_bench_set(flyback_bench, "maximum_frequency", 100e3);
    ck_assert_int_eq(stage_bench_solve(flyback_bench), HL_STAGE_INFEASIBLE);
    ck_assert_msg(strstr(flyback_bench->out.reason.text, "later valley") != NULL, "%s",
                  flyback_bench->out.reason.text);
    stage_bench_set(flyback_bench, "valley", 0);
    flyback_solved();
    ck_assert_double_le(flyback_asked("switching_frequency"), 100e3);
    ck_assert_double_gt(flyback_asked("valley_number"), 1.5);
    stage_bench_set(flyback_bench, "minimum_frequency", 99.9e3);
    ck_assert_int_eq(stage_bench_solve(flyback_bench), HL_STAGE_INFEASIBLE);
    ck_assert_msg(strstr(flyback_bench->out.reason.text, "at least at 99.9 kHz") != NULL, "%s",
                  flyback_bench->out.reason.text);
    stage_bench_set(flyback_bench, "minimum_frequency", 20e3);
    stage_bench_set(flyback_bench, "maximum_frequency", 1e6);
    stage_bench_set(flyback_bench, "minimum_valley", 3);
    flyback_solved();
    ck_near(flyback_asked("valley_number"), 3, 0, 0);
}
END_TEST

START_TEST(no_load_rests)
{
    build_adapter(325, 0, 68e3);
    flyback_solved();
    ck_near(flyback_bench->out.input.power, 0, 0, 0);
    flyback_bench->in.extra_loss = 0.05;
    flyback_solved();
    ck_near(flyback_bench->out.input.power, 0.05, 1e-15, 0);
}
END_TEST

/* What else is booked in the stage is drawn at its input. */
START_TEST(extra_loss_is_drawn_at_the_input)
{
    build_adapter(325, 2, 0);
    flyback_solved();
    double before = flyback_bench->out.input.power;
    flyback_bench->in.extra_loss = 1.5;
    flyback_solved();
    ck_near(flyback_bench->out.input.power, before + 1.5, 1e-12, 0);
    ck_near(flyback_bench->out.input.current, flyback_bench->out.input.power / 325, 1e-12, 0);
}
END_TEST

/* ------------------------------------------------------------ any setting -- */

static void draw_wild(lottery *luck)
{
    bool resonant = lottery_below(luck, 2) == 1;
    flyback_design d = {.input = lottery_scale(luck, 8, 900),
                        .output = lottery_scale(luck, 0.5, 400),
                        .load = lottery_scale(luck, 1e-6, 50),
                        .frequency = resonant ? 0 : lottery_scale(luck, 1e4, 2e6),
                        .magnetizing = lottery_scale(luck, 1e-6, 1e-2),
                        .ratio = lottery_scale(luck, 0.05, 50),
                        .winding = lottery_scale(luck, 1e-5, 30),
                        .channel = lottery_scale(luck, 1e-5, 30),
                        .secondary = lottery_scale(luck, 1e-6, 3),
                        .clamp = lottery_scale(luck, 5, 1000),
                        .capacitance = lottery_scale(luck, 1e-12, 1e-8),
                        .valley = (double)lottery_below(luck, 5)};
    d.leakage = d.magnetizing * lottery_scale(luck, 1e-9, 1);
    d.drop = lottery_below(luck, 2) ? lottery_between(luck, 0, 2) : 0;
    if (lottery_below(luck, 8) == 0) d.leakage = 0;
    if (lottery_below(luck, 8) == 0) d.winding = d.channel = d.secondary = 0;
    if (lottery_below(luck, 2) == 0) d.clamp = d.ratio * d.output * lottery_between(luck, 1.0, 4);
    flyback_lay_out(flyback_bench, &d);
    if (lottery_below(luck, 5) == 0) stage_bench_unset(flyback_bench, "drain_capacitance");
    flyback_bench->part[0].output_charge = lottery_scale(luck, 1e-12, 1e-6);
    flyback_bench->part[0].reverse_voltage = lottery_between(luck, 0, 3);
    flyback_bench->part[0].reverse_resistance = lottery_between(luck, 0, 1);
    size_t kind = lottery_below(luck, 3);
    stage_bench_choose(flyback_bench, "clamp", kind == 0 ? "stiff" : kind == 1 ? "resistor" : "active");
    hl_terminal *r = stage_bench_fill(flyback_bench, "clamp_resistor", HL_FAMILY_RESISTOR, kind == 1 ? 2 : 0);
    r->resistance = lottery_scale(luck, 100, 1e6);
    hl_terminal *c = stage_bench_fill(flyback_bench, "clamp_capacitor", HL_FAMILY_CAPACITOR,
                                      lottery_below(luck, 2) ? 1 : 0);
    c->capacitance = 1e-9;
    hl_terminal *v =
        stage_bench_fill(flyback_bench, "clamp_diode", HL_FAMILY_DIODE, lottery_below(luck, 2) ? 1 : 0);
    v->voltage = lottery_between(luck, 0, 2);
    v->resistance = lottery_between(luck, 0, 1);
    stage_bench_fill(flyback_bench, "sense_resistor", HL_FAMILY_RESISTOR, (unsigned)lottery_below(luck, 3))
        ->resistance = lottery_scale(luck, 1e-3, 1);
    const char *const optional[] = {"maximum_frequency", "burst_peak_current", "minimum_valley"};
    const double range[][2] = {{2e4, 2e6}, {1e-2, 10}, {1, 20}};
    for (size_t k = 0; k < 3; k++) {
        if (lottery_below(luck, 3))
            stage_bench_unset(flyback_bench, optional[k]);
        else
            stage_bench_set(flyback_bench, optional[k], lottery_scale(luck, range[k][0], range[k][1]));
    }
    stage_bench_set(flyback_bench, "input_ripple",
                    lottery_below(luck, 3) ? 0 : lottery_between(luck, 0, 1.2 * d.input));
    stage_bench_set(flyback_bench, "ripple_cycles", 1 + (double)lottery_below(luck, 8));
    stage_bench_set(flyback_bench, "dead_time", lottery_below(luck, 2) ? 0 : 1e-7);
    flyback_bench->in.extra_loss = lottery_between(luck, 0, 0.1) * d.load * d.output;
}

/* What was solved before it, here another design altogether, must not show in an answer; returns how far it
 * does, in shares of the figure. */
static double off_when_cold(void)
{
    bool runs = stage_bench_has(flyback_bench, "primary_current_peak");
    double peak = runs ? flyback_asked("primary_current_peak") : 0.0, drawn = flyback_bench->out.input.power;
    stage_bench_forget(flyback_bench);
    /* at the edge of what can be, a clamp's search may lead there only from nearby */
    if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) return 0.0;
    double off = fabs(flyback_bench->out.input.power - drawn) / fmax(drawn, 1e-12);
    if (runs) off = fmax(off, fabs(flyback_asked("primary_current_peak") - peak) / peak);
    return off;
}

START_TEST(random_settings_close_the_book_and_never_hang)
{
    long runs = lottery_count("HL_TEST_POINTS", 5000), answers = 0, astray = 0;
    lottery luck = lottery_open("flyback settings");
    double slowest = 0, worst = 0, coldest = 0;
    for (long run = 0; run < runs; run++) {
        draw_wild(&luck);
        clock_t before = clock();
        hl_stage_status status = stage_bench_solve(flyback_bench);
        slowest = fmax(slowest, (double)(clock() - before) / CLOCKS_PER_SEC);
        if (status != HL_STAGE_SOLVED) {
            if (!flyback_bench->out.reason.text[0])
                ck_abort_msg("seed %llu run %ld: refused without a sentence", luck.seed, run);
            continue;
        }
        answers++;
        /* Wild settings have ripples of 1e-7 of their current, or 1e8 times the load's power going to and
         * fro: rounding of those is more than 1e-9 of what is left. */
        double allowed = 1e-9;
        if (flyback_bench->out.quantities > 10 && flyback_bench->out.input.power > 0) {
            double peak = flyback_asked("primary_current_peak"),
                   ripple = peak - flyback_asked("primary_current_start");
            double fro = flyback_bench->in.input_voltage * flyback_asked("switch_current_rms");
            if (flyback_asked("continuous_conduction") > 0) allowed += 2e-16 * peak / ripple;
            allowed += 1e-15 * fro / flyback_bench->out.input.power;
        }
        const char *fault = stage_bench_fault(flyback_bench, allowed);
        if (fault)
            ck_abort_msg("seed %llu run %ld: %s (imbalance %.3g)", luck.seed, run, fault,
                         stage_bench_imbalance(flyback_bench));
        worst = fmax(worst, stage_bench_imbalance(flyback_bench));
        double off = run % 2 ? off_when_cold() : 0.0;
        if (off > 1e-5)
            astray++; /* two balances of one clamp, as far from a use as the settings */
        else
            coldest = fmax(coldest, off);
    }
    ck_assert_int_gt(answers, runs / 10);
    ck_assert_int_le(astray, runs / 20000);
    printf("flyback: %ld of %ld random settings solved, slowest %.3g ms, book off by at most %.2g, warm from "
           "cold by %.2g\n",
           answers, runs, 1e3 * slowest, worst, coldest);
}
END_TEST

/* Not a limit, a figure: what one solution costs. */
START_TEST(cost_of_one_solution)
{
    enum { TIMES = 4000 };
    static const char *const name[] = {"discontinuous",   "continuous",     "quasi-resonant",
                                       "frequency clamp", "resistor clamp", "eight cycles of ripple"};
    for (int kind = 0; kind < 6; kind++) {
        build_adapter(kind == 1 ? 110 : 325, 1.2, kind == 0 || kind == 4 ? 68e3 : kind == 1 ? 100e3 : 0);
        if (kind == 1) stage_bench_load(flyback_bench, 20, 3.2);
        if (kind == 3) stage_bench_set(flyback_bench, "maximum_frequency", 100e3);
        if (kind == 4) stage_bench_choose(flyback_bench, "clamp", "resistor");
        if (kind == 4)
            stage_bench_fill(flyback_bench, "clamp_resistor", HL_FAMILY_RESISTOR, 1)->resistance = 20e3;
        if (kind == 5) stage_bench_set(flyback_bench, "input_ripple", 40);
        double load = flyback_bench->in.load.current;
        clock_t before = clock();
        for (int k = 0; k < TIMES; k++) {
            stage_bench_load(flyback_bench, 20, load * (1 + 1e-5 * k));
            stage_bench_expect_solved(flyback_bench);
        }
        printf("flyback: %s: %.2f us per solution\n", name[kind],
               1e6 * (double)(clock() - before) / CLOCKS_PER_SEC / TIMES);
        stage_bench_unset(flyback_bench, "maximum_frequency");
    }
}
END_TEST
static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, flyback_set_up, flyback_tear_down);
    tcase_add_test(tests, ideal_parts_lose_nothing);
    tcase_add_loop_test(tests, nothing_jumps_at_the_border_of_the_modes, 0, 2);
    tcase_add_test(tests, waves_agree_with_the_figures);
    tcase_add_test(tests, bus_ripple_is_averaged_over_the_line);
    tcase_add_test(tests, light_load_bursts_at_the_least_peak_current);
    tcase_add_test(tests, bursts_keep_to_the_frequency_clamp);
    tcase_add_test(tests, active_clamp_returns_the_leakage_energy);
    tcase_add_test(tests, parallel_parts_share);
    tcase_add_test(tests, synchronous_rectifier_conducts_backwards_in_dead_time);
    tcase_add_loop_test(tests, impossible_points_are_refused_with_a_sentence, 0,
                        (int)(sizeof refused / sizeof *refused));
    tcase_add_test(tests, frequency_limits_are_refused_with_a_sentence);
    tcase_add_test(tests, no_load_rests);
    tcase_add_test(tests, extra_loss_is_drawn_at_the_input);
    tcase_add_test(tests, random_settings_close_the_book_and_never_hang);
    tcase_add_test(tests, cost_of_one_solution);
}

int main(void)
{
    return story_main("flyback", fill);
}
