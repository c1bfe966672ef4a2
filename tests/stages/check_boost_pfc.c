/* check_boost_pfc.c - the boost power-factor stage against time-domain solutions, published designs and
 * itself. */
#include <cvode/cvode.h>
#include <jansson.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <string.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>
#include <time.h>

#include "stage_bench.h"
#include "story.h"

static stage_bench *bench;

static void set_up(void)
{
    bench = stage_bench_create("boost_pfc", "boost_pfc");
}

static void tear_down(void)
{
    stage_bench_destroy(bench);
}

/* ------------------------------------------------------- reference cases -- */

static json_t *reference(void)
{
    json_error_t error;
    json_t *root = json_load_file(HL_TEST_SOURCE "/reference/B_pfc_open.json", 0, &error);
    if (!root) ck_abort_msg("%s:%d: %s", error.source, error.line, error.text);
    return root;
}

static double number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_number(value)) ck_abort_msg("reference lacks %s", key);
    return json_number_value(value);
}

/* Ideal parts, as the reference: no resistance, no drop, no capacitance at the node. */
static void set_ideal(double inductance)
{
    stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1);
    stage_bench_fill(bench, "boost_inductor", HL_FAMILY_MAGNETIC, 1)->inductance = inductance;
}

static void set_case(const json_t *inputs)
{
    const char *mode = json_string_value(json_object_get(inputs, "mode"));
    set_ideal(number(inputs, "L"));
    stage_bench_choose(bench, "mode", strcmp(mode, "crm") ? "continuous" : "boundary");
    if (strcmp(mode, "crm")) stage_bench_set(bench, "switching_frequency", number(inputs, "fs"));
    bench->in.input_voltage = number(inputs, "Vac");
    bench->in.input_frequency = number(inputs, "fline");
    bench->in.output_capacitance = number(inputs, "Cout");
    stage_bench_load(bench, number(inputs, "Vo"), number(inputs, "P") / number(inputs, "Vo"));
}

static const struct {
    const char *reference, *quantity;
} named[] = {
    {"Isw_rms", "switch_current_rms"},
    {"Isw_avg", "switch_current_average"},
    {"Id_avg", "rectifier_current_average"},
    {"Id_rms", "rectifier_current_rms"},
    {"IL_rms", "inductor_current_rms"},
    {"IL_lf_rms", "inductor_current_line_rms"},
    {"IL_hf_rms", "inductor_current_ripple_rms"},
    {"Ibridge_avg", "bridge_current_average"},
    {"Ibridge_rms_lf", "bridge_current_rms"},
    {"Ibridge_rms_total", "bridge_current_rms_with_ripple"},
    {"Ico_lf_rms", "output_capacitor_line_current_rms"},
    {"Ico_hf_rms", "output_capacitor_ripple_current_rms"},
    {"Ico_rms", "output_capacitor_current_rms"},
    {"Ion_line_avg", "turn_on_current_average"},
    {"Ioff_line_avg", "turn_off_current_average"},
    {"Ion_V_f_avg", "turn_on_overlap_power_per_time"},
    {"Ioff_V_f_avg", "turn_off_overlap_power_per_time"},
    {"fs_avg", "switching_frequency"},
    {"Von2_f_avg", "turn_on_voltage_square_rate"},
    {"IL_peak", "inductor_current_peak"},
    {"Io", "output_current"},
    {"Vo_ripple_pp", "output_voltage_ripple"},
    {"theta_boundary", "boundary_angle"},
    {"ton", "on_time"},
    {"fs_min", "switching_frequency_minimum"},
    {"fs_max", "switching_frequency_maximum"},
};

static const struct {
    const char *reference, *quantity;
} along_the_line[] = {
    {"deltaI_at_angles", "inductor_ripple_current"},
    {"duty_at_angles", "duty_ratio"},
    {"ipeak_at_angles", "inductor_current_peak_of_cycle"},
    {"fs_at_angles", "switching_frequency_of_cycle"},
};

/* Design asks for 0.5 %; the quadrature is better than 0.01 % and the cycles are exact, so 0.02 % holds. */
static const double allowed = 2e-4;

static double compare(const char *id, const char *what, double actual, double expected)
{
    double off = fabs(actual - expected) / fmax(fabs(expected), 1e-9);
    if (!(off <= allowed) && !(fabs(actual - expected) < 1e-9))
        ck_abort_msg("%s %s = %.9g, reference %.9g (%.3g %%)", id, what, actual, expected, 100 * off);
    return fabs(actual - expected) < 1e-9 ? 0.0 : off;
}

/* Number of figures compared; *worst gets the largest relative deviation. */
static size_t compare_case(const json_t *item, double *worst)
{
    const char *id = json_string_value(json_object_get(item, "id"));
    const json_t *outputs = json_object_get(item, "outputs");
    size_t seen = 0;
    set_case(json_object_get(item, "inputs"));
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    for (size_t i = 0; i < sizeof named / sizeof *named; i++) {
        const json_t *output = json_object_get(outputs, named[i].reference);
        if (!output) continue;
        seen++;
        *worst = fmax(*worst, compare(id, named[i].reference, stage_bench_quantity(bench, named[i].quantity),
                                      number(output, "value")));
    }
    for (size_t j = 1; j <= 16; j++) {
        stage_bench_set(bench, "report_phase", (double)j / 16.0);
        stage_bench_expect_solved(bench);
        for (size_t i = 0; i < sizeof along_the_line / sizeof *along_the_line; i++) {
            const json_t *list =
                json_object_get(json_object_get(outputs, along_the_line[i].reference), "value");
            double expected = json_number_value(json_array_get(list, j - 1));
            *worst = fmax(*worst, compare(id, along_the_line[i].reference,
                                          stage_bench_quantity(bench, along_the_line[i].quantity), expected));
        }
    }
    stage_bench_set(bench, "report_phase", 1.0);
    return seen + sizeof along_the_line / sizeof *along_the_line;
}

START_TEST(every_figure_of_every_reference_case_agrees)
{
    json_t *root = reference();
    const json_t *item;
    size_t index, cases = 0;
    double worst = 0;
    json_array_foreach(json_object_get(root, "cases"), index, item)
    {
        size_t outputs = json_object_size(json_object_get(item, "outputs"));
        size_t seen = compare_case(item, &worst);
        ck_assert_msg(seen == outputs, "only %zu of %zu outputs were compared", seen, outputs);
        cases++;
    }
    ck_assert_uint_ge(cases, 11);
    printf("boost_pfc: %zu reference cases, worst deviation %.4f %%\n", cases, 100 * worst);
    json_decref(root);
}
END_TEST

/* ------------------------------------------------------------ time domain -- */

static unsigned seed;

static double any(double low, double high)
{
    seed = seed * 1664525u + 1013904223u;
    return low + (high - low) * (double)(seed >> 8) / 16777216.0;
}

typedef struct path { /* what one phase sees */
    double inductance, winding, channel, drop, slope;
} path;

static void set_path(const path *c)
{
    set_ideal(c->inductance);
    bench->part[2].winding_resistance[0] = c->winding;
    bench->part[0].resistance = c->channel;
    bench->part[1].voltage = c->drop;
    bench->part[1].resistance = c->slope;
}

/* Inductor and its running integrals, for one phase of a cycle: 0 i, 1 charge, 2 square. CVODE (Adams). */
typedef struct phase {
    const path *path;
    double crest, omega, output; /* of the line and the bus */
    bool on;
} phase;

static int phase_slopes(double t, N_Vector y, N_Vector dy, void *data)
{
    const phase *p = data;
    const path *c = p->path;
    const double *x = N_VGetArrayPointer(y);
    double *d = N_VGetArrayPointer(dy), v = p->crest * fabs(sin(p->omega * t));
    d[0] = (v - c->winding * x[0] - (p->on ? c->channel * x[0] : p->output + c->drop + c->slope * x[0])) /
           c->inductance;
    d[1] = x[0];
    d[2] = x[0] * x[0];
    d[3] = v * x[0];
    return 0;
}

static int current_left(double t, N_Vector y, double *g, void *data)
{
    (void)t, (void)data;
    g[0] = N_VGetArrayPointer(y)[0];
    return 0;
}

typedef struct line_totals {
    double on_charge, on_square, off_charge, off_square, energy, peak, switching;
} line_totals;

/* Boundary mode, cycle by cycle through a quarter line with the true v(t): on for `on`, off until the current
 * is gone. */
static double boundary_time_domain(const phase *start, double on, line_totals *s)
{
    SUNContext context;
    SUNContext_Create(NULL, &context);
    N_Vector y = N_VNew_Serial(4, context);
    double *x = N_VGetArrayPointer(y), t = 0, quarter = 0.5 * 3.14159265358979324 / start->omega;
    phase now = *start;
    SUNNonlinearSolver fixed = SUNNonlinSol_FixedPoint(y, 0, context);
    void *cvode = CVodeCreate(CV_ADAMS, context);
    N_VConst(0, y);
    CVodeInit(cvode, phase_slopes, 0, y);
    CVodeSetNonlinearSolver(cvode, fixed);
    CVodeSStolerances(cvode, 1e-10, 1e-13);
    CVodeSetUserData(cvode, &now);
    *s = (line_totals){0};
    while (t < quarter) {
        double next = t + on, after = t;
        N_VConst(0, y);
        now.on = true;
        CVodeRootInit(cvode, 0, NULL);
        CVodeReInit(cvode, t, y);
        CVodeSetStopTime(cvode, next);
        while (after < next) ck_assert_int_ge(CVode(cvode, next, y, &after, CV_NORMAL), 0);
        s->on_charge += x[1];
        s->on_square += x[2];
        s->energy += x[3];
        s->peak = fmax(s->peak, x[0]);
        x[1] = x[2] = x[3] = 0;
        now.on = false;
        CVodeReInit(cvode, next, y);
        CVodeSetStopTime(cvode, next + 2 * quarter);
        CVodeRootInit(cvode, 1, current_left);
        int flag = CVode(cvode, next + quarter, y, &t, CV_NORMAL);
        ck_assert_int_eq(flag, CV_ROOT_RETURN);
        s->off_charge += x[1];
        s->off_square += x[2];
        s->energy += x[3];
        s->switching += 1;
    }
    CVodeFree(&cvode);
    SUNNonlinSolFree(fixed);
    N_VDestroy(y);
    SUNContext_Free(&context);
    return t;
}

static void agree(unsigned at, const char *what, double value, double expected, double relative)
{
    double off = fabs(value - expected) / fabs(expected);
    if (!(off <= relative))
        ck_abort_msg("seed %u: %s = %.8g, time domain %.8g (%.3g %%)", at, what, value, expected, 100 * off);
}

/* With real resistances and drops. What is left between the two is that v moves within a cycle (line over
 * switching frequency) and that the last cycle passes the crest: some 0.1 %; the design's 0.5 % is asked. */
START_TEST(boundary_mode_agrees_with_the_time_domain)
{
    seed = 31u;
    for (int run = 0; run < 6; run++) {
        unsigned at = seed;
        path c = {any(1.5e-4, 6e-4), any(0, 0.4), any(0, 0.4), any(0, 1.2), any(0, 0.1)};
        double mains = any(90, 250), frequency = any(47, 63), output = any(380, 410), power = any(50, 200);
        set_path(&c);
        stage_bench_choose(bench, "mode", "boundary");
        bench->in.input_voltage = mains;
        bench->in.input_frequency = frequency;
        stage_bench_load(bench, output, power / output);
        stage_bench_expect_solved(bench);
        stage_bench_check_contract(bench, 1e-9);
        line_totals s;
        phase start = {&c, sqrt(2.0) * mains, 2 * 3.14159265358979324 * frequency, output, true};
        double time = boundary_time_domain(&start, stage_bench_quantity(bench, "on_time"), &s);
        agree(at, "switch average", stage_bench_quantity(bench, "switch_current_average"), s.on_charge / time,
              5e-3);
        agree(at, "switch rms", stage_bench_quantity(bench, "switch_current_rms"), sqrt(s.on_square / time),
              5e-3);
        agree(at, "rectifier average", stage_bench_quantity(bench, "rectifier_current_average"),
              s.off_charge / time, 5e-3);
        agree(at, "rectifier rms", stage_bench_quantity(bench, "rectifier_current_rms"),
              sqrt(s.off_square / time), 5e-3);
        agree(at, "peak", stage_bench_quantity(bench, "inductor_current_peak"), s.peak, 5e-3);
        agree(at, "frequency", stage_bench_quantity(bench, "switching_frequency"), s.switching / time, 5e-3);
        agree(at, "input power", bench->out.input.power, s.energy / time, 5e-3);
    }
}
END_TEST

/* Continuous mode: the duty ratio found for a chosen angle is put into the time domain at that (held)
 * voltage, which must settle to the valley, peak and mean current the stage reports. */
START_TEST(continuous_cycles_agree_with_the_time_domain)
{
    seed = 77u;
    for (int run = 0; run < 12; run++) {
        unsigned at = seed;
        path c = {any(2e-4, 8e-4), any(0, 0.6), any(0, 0.6), any(0, 1.5), any(0, 0.2)};
        double f = any(5e4, 1.5e5), mains = any(90, 250), phase_of_line = any(0.05, 1);
        set_path(&c);
        stage_bench_choose(bench, "mode", "continuous");
        stage_bench_set(bench, "switching_frequency", f);
        stage_bench_set(bench, "report_phase", phase_of_line);
        bench->in.input_voltage = mains;
        bench->in.input_frequency = 50;
        stage_bench_load(bench, 395, any(60, 300) / 395);
        stage_bench_expect_solved(bench);
        stage_bench_check_contract(bench, 1e-9);
        double on = stage_bench_quantity(bench, "duty_ratio") / f,
               peak = stage_bench_quantity(bench, "inductor_current_peak_of_cycle");
        double valley = peak - stage_bench_quantity(bench, "inductor_ripple_current");
        double v = sqrt(2.0) * mains * sin(0.5 * 3.14159265358979324 * phase_of_line), i = valley, top = 0;
        /* 20000 midpoint steps of one cycle, independent of the closed form */
        enum { STEPS = 20000 };
        double dt = 1 / f / STEPS, charge = 0;
        for (int k = 0; k < STEPS; k++) {
            bool conducting_switch = (k + 0.5) * dt < on;
            double r = c.winding + (conducting_switch ? c.channel : c.slope),
                   push = v - (conducting_switch ? 0 : 395 + c.drop);
            double middle = i + 0.5 * dt * (push - r * i) / c.inductance,
                   after = i + dt * (push - r * middle) / c.inductance;
            if (after < 0) after = 0;
            charge += 0.5 * (i + after) * dt;
            i = after;
            top = fmax(top, i);
        }
        ck_near(i, valley, 1e-3, 2e-3 * peak);
        agree(at, "peak", peak, top, 1e-3);
    }
}
END_TEST

/* --------------------------------------------------------- published work -- */

static void mains(double voltage, double frequency)
{
    bench->in.input_voltage = voltage;
    bench->in.input_frequency = frequency;
}

static double asked(const char *quantity)
{
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    return stage_bench_quantity(bench, quantity);
}

/* Infineon, PFC boost converter design guide, 1200 W example, rev 1.1 (2016), sect. 2.3.1: 85 V, 400 V, 100
 * kHz; printed 12.2 A switch rms and 12.71 A mean inductor current, both without ripple, so the inductor here
 * is very large. */
START_TEST(continuous_mode_matches_published_1200_w_design)
{
    set_ideal(0.05);
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 100e3);
    mains(85, 60);
    stage_bench_load(bench, 400, 3);
    bench->in.output_capacitance = 795.8e-6;
    ck_near(asked("switch_current_rms"), 12.2, 0, 0.05);
    ck_near(2 * asked("bridge_current_average"), 12.71, 0, 0.005);
    ck_near(asked("output_voltage_ripple"), 10.0, 1e-3,
            0); /* the same guide, eq. 31: 795.8 uF for 10 V at 60 Hz */
    /* eq. 30: 900.9 uF carries 1200 W from 400 V to 340 V for 16.6 ms; the printed value needs 1/60 s. */
    bench->in.output_capacitance = 900.9e-6;
    stage_bench_set(bench, "minimum_bus_voltage", 340);
    ck_near(asked("hold_up_time"), 1.0 / 60, 1e-3, 0);
}
END_TEST

/* Fairchild, AN-6086, Design consideration for interleaved boundary conduction mode PFC, rev 1.0.4 (2010),
 * steps 1, 4, 7, 8: two phases of 200 W, 85..265 V, 400 V, efficiency 0.95, 202 uH: printed lowest frequency
 * 52 kHz (at 265 V), 7 A peak, 14.1 us at 1.2 times the power, 398 uF for 8 V, 313 uF for 20 ms to 330 V.
 * Efficiency is put in as power. */
START_TEST(boundary_mode_matches_published_interleaved_400_w_design)
{
    set_ideal(202e-6);
    stage_bench_choose(bench, "mode", "boundary");
    stage_bench_set(bench, "phases", 2);
    stage_bench_load(bench, 400, 1 / 0.95);
    mains(265, 50);
    ck_near(asked("switching_frequency_minimum"), 52e3, 2e-3, 0);
    mains(85, 50);
    ck_near(asked("inductor_current_peak"), 7.0, 0, 0.05);
    ck_near(asked("inductor_current_rms"), 7.0 / sqrt(6.0), 2e-3, 0); /* a full triangle under a sine */
    stage_bench_load(bench, 400, 1.2 / 0.95);
    ck_near(asked("on_time"), 14.1e-6, 0, 0.05e-6);
    stage_bench_load(bench, 400, 1);
    bench->in.output_capacitance = 398e-6;
    ck_near(asked("output_voltage_ripple"), 8.0, 1e-3, 0);
    bench->in.output_capacitance = 313e-6;
    stage_bench_set(bench, "minimum_bus_voltage", 330);
    ck_near(asked("hold_up_time"), 0.02, 1e-3, 0);
}
END_TEST

/* Texas Instruments, SLUA369C, 350 W two-phase interleaved PFC (2005, rev. 2013), eq. 15-16: 200 uH for a
 * ripple of 4.1 A at 85 V, 100 kHz, duty 0.69 (the exact inductance is 202 uH, so 1.5 % here); 123 uF for one
 * line period at 350 W from 390 V to half. SLUA479B eq. 13: 300 W at efficiency 0.9, 200 uF, 47 Hz, 390
 * V: 14.5 V. */
START_TEST(continuous_mode_matches_published_350_w_and_300_w_designs)
{
    set_ideal(200e-6);
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 100e3);
    mains(85, 50);
    stage_bench_load(bench, 390, 350.0 / 390);
    bench->in.output_capacitance = 123e-6;
    stage_bench_set(bench, "minimum_bus_voltage", 195);
    ck_near(asked("inductor_ripple_current"), 4.1, 0.015, 0);
    ck_near(asked("duty_ratio"), 0.69, 0, 0.005);
    ck_near(asked("hold_up_time"), 0.02, 3e-3, 0);
    mains(85, 47);
    stage_bench_load(bench, 390, 300.0 / 0.9 / 390);
    bench->in.output_capacitance = 200e-6;
    ck_near(asked("output_voltage_ripple"), 14.5, 0, 0.05);
}
END_TEST

/* ------------------------------------------------------------- behaviour -- */

/* Currents must not jump as power or mains moves over a border between modes. */
static const char *const smooth[] = {"switch_current_rms",    "rectifier_current_rms",
                                     "inductor_current_rms",  "output_capacitor_current_rms",
                                     "inductor_current_peak", "turn_off_current_average",
                                     "switching_frequency",   "duty_ratio"};

static void sweep_without_jumps(void (*put)(double), double from, double to)
{
    enum { STEPS = 3000, N = sizeof smooth / sizeof *smooth };
    double last[N] = {0}, ratio = pow(to / from, 1.0 / STEPS);
    for (int k = 0; k <= STEPS; k++) {
        put(from * pow(ratio, k));
        stage_bench_expect_solved(bench);
        for (size_t i = 0; i < N; i++) {
            double value = stage_bench_quantity(bench, smooth[i]);
            if (k && !(fabs(value - last[i]) <= 12 * (ratio - 1) * fabs(value)))
                ck_abort_msg("%s jumps from %.9g to %.9g at %.6g", smooth[i], last[i], value,
                             from * pow(ratio, k));
            last[i] = value;
        }
    }
}

static void put_power(double power)
{
    stage_bench_load(bench, 395, power / 395);
}

static void put_mains(double voltage)
{
    bench->in.input_voltage = voltage;
}

START_TEST(nothing_jumps_at_a_mode_border)
{
    set_path(&(path){3e-4, 0.1, 0.15, 0.9, 0.04});
    mains(230, 50);
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 1e5);
    sweep_without_jumps(put_power, 5, 1000);
    put_power(200);
    sweep_without_jumps(put_mains, 85, 250);
    stage_bench_choose(bench, "mode", "boundary");
    stage_bench_set(bench, "maximum_frequency", 2e5);
    sweep_without_jumps(put_mains, 85, 250);
    mains(230, 50);
    sweep_without_jumps(put_power, 5, 300);
}
END_TEST

/* With more power lost outside the waveform, more is drawn; the book holds with and without. */
START_TEST(extra_loss_raises_the_line_current)
{
    set_path(&(path){3e-4, 0.1, 0.15, 0.9, 0.04});
    mains(115, 60);
    stage_bench_choose(bench, "mode", "boundary");
    stage_bench_load(bench, 395, 0.3);
    double before = asked("input_current_rms");
    bench->in.extra_loss = 3;
    double after = asked("input_current_rms");
    ck_near(after / before, 1 + 3 / 118.5, 5e-4, 0);
}
END_TEST

/* The last solution is only a start: from anywhere the answer is the same. */
START_TEST(warm_start_changes_nothing)
{
    set_path(&(path){3e-4, 0.1, 0.15, 0.9, 0.04});
    mains(200, 50);
    stage_bench_set(bench, "switching_frequency", 1e5);
    for (int mode = 0; mode < 2; mode++) {
        stage_bench_set(bench, "mode", mode);
        for (int k = 1; k < 30; k++) {
            put_power(11.0 * k);
            double warm = asked("switch_current_rms"), power = bench->out.input.power;
            stage_bench_forget(bench);
            ck_near(warm, asked("switch_current_rms"), 1e-10, 0);
            ck_near(power, bench->out.input.power, 1e-10, 0);
        }
    }
}
END_TEST

/* Two phases half a period apart: each bus sees the sum of the two shifted waves. */
START_TEST(interleaved_phases_sum_on_both_buses)
{
    set_ideal(3e-4);
    mains(115, 60);
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 1e5);
    stage_bench_set(bench, "phases", 2);
    stage_bench_load(bench, 390, 1);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    const hl_wave *one = stage_bench_stress(bench, "boost_inductor")->winding_current[0];
    for (size_t k = 0; k < bench->out.input.cycles; k++) {
        double period = hl_wave_period(&one[k]);
        ck_near(hl_wave_period(&bench->out.input.wave[k]), period, 1e-12, 0);
        ck_near(hl_wave_average(&bench->out.input.wave[k]), 2 * hl_wave_average(&one[k]), 1e-9, 0);
        for (int j = 1; j < 40; j++) {
            double t = period * (j + 0.37) / 41,
                   sum = hl_wave_at(&one[k], t) + hl_wave_at(&one[k], fmod(t + 0.5 * period, period));
            ck_near(hl_wave_at(&bench->out.input.wave[k], t), sum, 1e-9, 1e-9);
        }
    }
    double both = stage_bench_quantity(bench, "output_capacitor_ripple_current_rms");
    stage_bench_set(bench, "phases", 1);
    ck_assert_double_lt(both, 0.8 * asked("output_capacitor_ripple_current_rms"));
}
END_TEST

/* Each dead time lets the body path carry the current: mean = t (peak + valley) f. */
START_TEST(synchronous_rectifier_conducts_backwards_in_dead_time)
{
    set_ideal(4e-4);
    stage_bench_fill(bench, "rectifier", HL_FAMILY_SWITCH, 1)->resistance = 0.1;
    stage_bench_set(bench, "dead_time", 100e-9);
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 65e3);
    mains(115, 60);
    stage_bench_load(bench, 390, 0.8);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    const hl_stress *re = stage_bench_stress(bench, "rectifier"), *sw = stage_bench_stress(bench, "switch");
    for (size_t k = 0; k < re->n; k++)
        if (re->duty[k] / re->frequency[k] > 200e-9) /* both dead times fit */
            ck_near(re->reverse_average[k], 100e-9 * 65e3 * (sw->current_peak[k] + sw->current_on[k]), 1e-9,
                    0);
    ck_near(sw->charge_on[re->n - 1], 390, 1e-12, 0);
}
END_TEST

/* Q at the node delays each turn-on by half a ring: pi sqrt(L Q / V); the frequency falls, the on-time grows.
 */
START_TEST(node_charge_delays_the_valley)
{
    set_ideal(3e-4);
    mains(230, 50);
    stage_bench_choose(bench, "mode", "boundary");
    stage_bench_load(bench, 395, 0.3);
    double t0 = asked("on_time"), top = asked("switching_frequency_maximum");
    bench->part[0].output_charge = 60e-9;
    ck_assert_double_gt(asked("on_time"), t0);
    double delay = 3.14159265358979324 * sqrt(3e-4 * 60e-9 / 395);
    ck_near(1 / asked("switching_frequency_maximum"), asked("on_time") + delay, 1e-6, 0);
    ck_assert_double_lt(asked("switching_frequency_maximum"), top);
}
END_TEST

static const struct {
    const char *parameter, *sentence;
    double number, voltage, current;
} refused[] = {
    {NULL, "crest of 374.8 V is not below the bus of 370.0 V", 0, 370, 0.3},
    {"brown_out_voltage", "below the brown-out threshold of 270.0 V", 270, 395, 0.3},
    {"maximum_on_time", "us is the longest; lower the load or raise the mains", 1e-6, 395, 1},
    {"peak_current_limit", "the controller cuts at 1 A", 1, 395, 1},
    {NULL, "no output voltage is set", 0, 0, 0.3},
    {NULL, "no number, or negative", 0, 395, NAN},
    {NULL, "no number, or negative", 0, 395, -1},
};

START_TEST(impossible_points_are_refused_with_a_sentence)
{
    set_ideal(3e-4);
    stage_bench_choose(bench, "mode", "boundary");
    mains(265, 50);
    if (refused[_i].parameter) stage_bench_set(bench, refused[_i].parameter, refused[_i].number);
    stage_bench_load(bench, refused[_i].voltage, refused[_i].current);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    if (!strstr(bench->out.reason.text, refused[_i].sentence))
        ck_abort_msg("said: %s", bench->out.reason.text);
}
END_TEST

START_TEST(no_load_rests)
{
    set_ideal(3e-4);
    mains(230, 50);
    stage_bench_choose(bench, "mode", "boundary");
    stage_bench_load(bench, 395, 0);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    ck_near(bench->out.input.power, 0, 0, 1e-15);
    bench->in.extra_loss = 0.05;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
}
END_TEST

START_TEST(random_settings_close_the_book_and_never_hang)
{
    const char *more = getenv("HEATLEDGER_PROPERTY_RUNS");
    long runs = more ? atol(more) : 5000, solved = 0;
    seed = 90210u;
    clock_t spent = 0;
    for (long run = 0; run < runs; run++) {
        unsigned at = seed;
        set_path(&(path){pow(10, any(-5, -2.3)), any(0, 2), any(0, 3), any(0, 3), any(0, 1)});
        stage_bench_choose(bench, "mode", run % 2 ? "boundary" : "continuous");
        stage_bench_set(bench, "switching_frequency", pow(10, any(4.2, 6.3)));
        if (run % 3)
            stage_bench_unset(bench, "maximum_frequency");
        else
            stage_bench_set(bench, "maximum_frequency", pow(10, any(4.5, 6.5)));
        stage_bench_set(bench, "phases", run % 5 ? 1 : 1 + (double)(run % 4));
        stage_bench_set(bench, "cycles", run % 11 ? 16 : 32);
        bench->part[0].output_charge = any(0, 2e-7);
        mains(any(10, 320), any(40, 440));
        stage_bench_load(bench, any(100, 450), pow(10, any(-6, 1)));
        bench->in.extra_loss = any(0, 0.03) * bench->in.load.power;
        bench->in.output_capacitance = any(0, 1e-3);
        clock_t before = clock();
        hl_stage_status status = stage_bench_solve(bench);
        spent += clock() - before;
        if (status != HL_STAGE_SOLVED) {
            if (!bench->out.reason.text[0]) ck_abort_msg("seed %u: refused without a sentence", at);
            continue;
        }
        solved++;
        const char *fault = stage_bench_fault(bench, 1e-9);
        if (fault) ck_abort_msg("seed %u: %s (imbalance %.3g)", at, fault, stage_bench_imbalance(bench));
    }
    ck_assert_int_gt(solved, runs / 3);
    printf("boost_pfc: %ld of %ld random points solved, %.2f us each\n", solved, runs,
           1e6 * (double)spent / CLOCKS_PER_SEC / (double)runs);
}
END_TEST

/* Not a limit, a figure: what one solution costs with real parts. */
START_TEST(cost_of_one_solution)
{
    enum { TIMES = 2000 };
    set_path(&(path){4e-4, 0.1, 0.15, 0.9, 0.04});
    mains(115, 60);
    stage_bench_set(bench, "switching_frequency", 1e5);
    for (int mode = 0; mode < 4; mode++) {
        stage_bench_set(bench, "mode", mode % 2);
        stage_bench_set(bench, "phases", 1 + mode / 2);
        clock_t before = clock();
        for (int k = 0; k < TIMES; k++) {
            stage_bench_load(bench, 395, 0.2 + 1e-4 * k);
            stage_bench_forget(bench);
            stage_bench_expect_solved(bench);
        }
        printf("boost_pfc: %s, %d phase(s): %.2f us per solution\n", mode % 2 ? "boundary" : "continuous",
               1 + mode / 2, 1e6 * (double)(clock() - before) / CLOCKS_PER_SEC / TIMES);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, every_figure_of_every_reference_case_agrees);
    tcase_add_test(tests, boundary_mode_agrees_with_the_time_domain);
    tcase_add_test(tests, continuous_cycles_agree_with_the_time_domain);
    tcase_add_test(tests, continuous_mode_matches_published_1200_w_design);
    tcase_add_test(tests, boundary_mode_matches_published_interleaved_400_w_design);
    tcase_add_test(tests, continuous_mode_matches_published_350_w_and_300_w_designs);
    tcase_add_test(tests, nothing_jumps_at_a_mode_border);
    tcase_add_test(tests, extra_loss_raises_the_line_current);
    tcase_add_test(tests, warm_start_changes_nothing);
    tcase_add_test(tests, interleaved_phases_sum_on_both_buses);
    tcase_add_test(tests, synchronous_rectifier_conducts_backwards_in_dead_time);
    tcase_add_test(tests, node_charge_delays_the_valley);
    tcase_add_loop_test(tests, impossible_points_are_refused_with_a_sentence, 0,
                        (int)(sizeof refused / sizeof *refused));
    tcase_add_test(tests, no_load_rests);
    tcase_add_test(tests, random_settings_close_the_book_and_never_hang);
    tcase_add_test(tests, cost_of_one_solution);
}

int main(void)
{
    return story_main("boost_pfc", fill);
}
