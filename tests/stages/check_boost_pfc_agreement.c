/* check_boost_pfc_agreement.c - the boost power-factor stage against time-domain solutions and published
 * designs. */
#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <string.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include "boost_pfc_design.h"
#include "reference_circuit.h"
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

/* Ideal parts, as the reference. */
static void set_case(json_t *one)
{
    bool boundary = !strcmp(reference_word(one, "mode"), "crm");
    boost_pfc_lay_out_ideal(bench, reference_input(one, "L"));
    stage_bench_choose(bench, "mode", boundary ? "boundary" : "continuous");
    if (!boundary) stage_bench_set(bench, "switching_frequency", reference_input(one, "fs"));
    boost_pfc_mains(bench, reference_input(one, "Vac"), reference_input(one, "fline"));
    bench->in.output_capacitance = reference_input(one, "Cout");
    stage_bench_load(bench, reference_input(one, "Vo"),
                     reference_input(one, "P") / reference_input(one, "Vo"));
}

static double ask(void *who, const char *quantity)
{
    (void)who;
    return stage_bench_quantity(bench, quantity);
}

static const struct {
    const char *output, *quantity;
} along_the_line[] = {
    {"deltaI_at_angles", "inductor_ripple_current"},
    {"duty_at_angles", "duty_ratio"},
    {"ipeak_at_angles", "inductor_current_peak_of_cycle"},
    {"fs_at_angles", "switching_frequency_of_cycle"},
};
enum { LISTS = sizeof along_the_line / sizeof *along_the_line, ANGLES = 16 };

static void compare_along_the_line(json_t *one, reference_asking *asking)
{
    double expected[LISTS][ANGLES];
    for (size_t i = 0; i < LISTS; i++)
        reference_numbers(reference_output(one, along_the_line[i].output), ANGLES, expected[i]);
    for (size_t j = 0; j < ANGLES; j++) {
        stage_bench_set(bench, "report_phase", (double)(j + 1) / ANGLES);
        stage_bench_expect_solved(bench);
        for (size_t i = 0; i < LISTS; i++)
            ck_near(ask(NULL, along_the_line[i].quantity), expected[i][j], asking->relative,
                    asking->absolute);
    }
    stage_bench_set(bench, "report_phase", 1.0);
}

static void check_case(json_t *one, void *asking)
{
    set_case(one);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    size_t outputs = json_object_size(reference_at(one, "outputs"));
    ck_assert_uint_eq(reference_compare(one, &reference_pfc, asking) + LISTS, outputs);
    compare_along_the_line(one, asking);
}

/* tests/reference/B_pfc_open.json. Design asks for 0.5 %; the quadrature is better than 0.01 % and the cycles
 * are exact, so 0.02 % holds. */
START_TEST(every_figure_of_every_reference_case_agrees)
{
    reference_asking asking = {.asked = ask, .relative = 2e-4, .absolute = 1e-9};
    reference_each(&reference_pfc, check_case, &asking);
    printf("boost_pfc: %zu reference cases, worst output off by %.2g\n", reference_pfc.cases, asking.worst);
}
END_TEST

/* ------------------------------------------------------------ time domain -- */

static unsigned seed;

static double any(double low, double high)
{
    seed = seed * 1664525u + 1013904223u;
    return low + (high - low) * (double)(seed >> 8) / 16777216.0;
}

/* Inductor and its running integrals, for one phase of a cycle: 0 i, 1 charge, 2 square. CVODE (Adams). */
typedef struct phase {
    const boost_pfc_path *path;
    double crest, omega, output; /* of the line and the bus */
    bool on;
} phase;

static int phase_slopes(double t, N_Vector y, N_Vector dy, void *data)
{
    const phase *p = data;
    const boost_pfc_path *c = p->path;
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
        boost_pfc_path c = {any(1.5e-4, 6e-4), any(0, 0.4), any(0, 0.4), any(0, 1.2), any(0, 0.1)};
        double mains = any(90, 250), frequency = any(47, 63), output = any(380, 410), power = any(50, 200);
        boost_pfc_lay_out(bench, &c);
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
        boost_pfc_path c = {any(2e-4, 8e-4), any(0, 0.6), any(0, 0.6), any(0, 1.5), any(0, 0.2)};
        double f = any(5e4, 1.5e5), mains = any(90, 250), phase_of_line = any(0.05, 1);
        boost_pfc_lay_out(bench, &c);
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

/* Infineon, PFC boost converter design guide, 1200 W example, rev 1.1 (2016), sect. 2.3.1: 85 V, 400 V, 100
 * kHz; printed 12.2 A switch rms and 12.71 A mean inductor current, both without ripple, so the inductor here
 * is very large. */
START_TEST(continuous_mode_matches_published_1200_w_design)
{
    boost_pfc_lay_out_ideal(bench, 0.05);
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 100e3);
    boost_pfc_mains(bench, 85, 60);
    stage_bench_load(bench, 400, 3);
    bench->in.output_capacitance = 795.8e-6;
    ck_near(boost_pfc_asked(bench, "switch_current_rms"), 12.2, 0, 0.05);
    ck_near(2 * boost_pfc_asked(bench, "bridge_current_average"), 12.71, 0, 0.005);
    ck_near(boost_pfc_asked(bench, "output_voltage_ripple"), 10.0, 1e-3,
            0); /* the same guide, eq. 31: 795.8 uF for 10 V at 60 Hz */
    /* eq. 30: 900.9 uF carries 1200 W from 400 V to 340 V for 16.6 ms; the printed value needs 1/60 s. */
    bench->in.output_capacitance = 900.9e-6;
    stage_bench_set(bench, "minimum_bus_voltage", 340);
    ck_near(boost_pfc_asked(bench, "hold_up_time"), 1.0 / 60, 1e-3, 0);
}
END_TEST

/* Fairchild, AN-6086, Design consideration for interleaved boundary conduction mode PFC, rev 1.0.4 (2010),
 * steps 1, 4, 7, 8: two phases of 200 W, 85..265 V, 400 V, efficiency 0.95, 202 uH: printed lowest frequency
 * 52 kHz (at 265 V), 7 A peak, 14.1 us at 1.2 times the power, 398 uF for 8 V, 313 uF for 20 ms to 330 V.
 * Efficiency is put in as power. */
START_TEST(boundary_mode_matches_published_interleaved_400_w_design)
{
    boost_pfc_lay_out_ideal(bench, 202e-6);
    stage_bench_choose(bench, "mode", "boundary");
    stage_bench_set(bench, "phases", 2);
    stage_bench_load(bench, 400, 1 / 0.95);
    boost_pfc_mains(bench, 265, 50);
    ck_near(boost_pfc_asked(bench, "switching_frequency_minimum"), 52e3, 2e-3, 0);
    boost_pfc_mains(bench, 85, 50);
    ck_near(boost_pfc_asked(bench, "inductor_current_peak"), 7.0, 0, 0.05);
    ck_near(boost_pfc_asked(bench, "inductor_current_rms"), 7.0 / sqrt(6.0), 2e-3,
            0); /* a full triangle under a sine */
    stage_bench_load(bench, 400, 1.2 / 0.95);
    ck_near(boost_pfc_asked(bench, "on_time"), 14.1e-6, 0, 0.05e-6);
    stage_bench_load(bench, 400, 1);
    bench->in.output_capacitance = 398e-6;
    ck_near(boost_pfc_asked(bench, "output_voltage_ripple"), 8.0, 1e-3, 0);
    bench->in.output_capacitance = 313e-6;
    stage_bench_set(bench, "minimum_bus_voltage", 330);
    ck_near(boost_pfc_asked(bench, "hold_up_time"), 0.02, 1e-3, 0);
}
END_TEST

/* Texas Instruments, SLUA369C, 350 W two-phase interleaved PFC (2005, rev. 2013), eq. 15-16: 200 uH for a
 * ripple of 4.1 A at 85 V, 100 kHz, duty 0.69 (the exact inductance is 202 uH, so 1.5 % here); 123 uF for one
 * line period at 350 W from 390 V to half. SLUA479B eq. 13: 300 W at efficiency 0.9, 200 uF, 47 Hz, 390
 * V: 14.5 V. */
START_TEST(continuous_mode_matches_published_350_w_and_300_w_designs)
{
    boost_pfc_lay_out_ideal(bench, 200e-6);
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 100e3);
    boost_pfc_mains(bench, 85, 50);
    stage_bench_load(bench, 390, 350.0 / 390);
    bench->in.output_capacitance = 123e-6;
    stage_bench_set(bench, "minimum_bus_voltage", 195);
    ck_near(boost_pfc_asked(bench, "inductor_ripple_current"), 4.1, 0.015, 0);
    ck_near(boost_pfc_asked(bench, "duty_ratio"), 0.69, 0, 0.005);
    ck_near(boost_pfc_asked(bench, "hold_up_time"), 0.02, 3e-3, 0);
    boost_pfc_mains(bench, 85, 47);
    stage_bench_load(bench, 390, 300.0 / 0.9 / 390);
    bench->in.output_capacitance = 200e-6;
    ck_near(boost_pfc_asked(bench, "output_voltage_ripple"), 14.5, 0, 0.05);
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
}

int main(void)
{
    return story_main("boost_pfc agreement", fill);
}
