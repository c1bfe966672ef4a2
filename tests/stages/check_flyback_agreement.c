/* check_flyback_agreement.c - the flyback against time-domain references, an own CVODE simulation and
 * published design examples. */
#include "stage_bench.h"
#include "story.h"

#include <math.h>
#include <string.h>

#include "flyback_design.h"
#include "flyback_time_domain.h"
#include "reference_circuit.h"

/* ------------------------------------------------------- reference cases -- */

/* Asked: 0.5 %.  Held: 1e-9 of each value; the references' own accuracy is 1e-10, and leakage reset times are
 * known to 1.2e-10. */
static const double reference_tolerance = 1e-9;

static double ask(void *who, const char *quantity)
{
    (void)who;
    return flyback_asked(quantity);
}

static void check_case(json_t *one, void *asking)
{
    flyback_design d = {.input = reference_input(one, "Vin"),
                        .output = reference_input(one, "Vout"),
                        .load = reference_input(one, "Iout"),
                        .frequency = reference_input_or(one, "fs", 0),
                        .magnetizing = reference_input(one, "Lm"),
                        .leakage = reference_input(one, "Llk"),
                        .ratio = reference_input(one, "n"),
                        .winding = reference_input(one, "Rw"),
                        .channel = reference_input(one, "Rds"),
                        .secondary = reference_input(one, "Rs"),
                        .drop = reference_input(one, "Vf"),
                        .clamp = reference_input(one, "Vcl"),
                        .capacitance = reference_input_or(one, "Cd", 0),
                        .valley = reference_input_or(one, "valley", 0)};
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    ck_assert_uint_ge(reference_compare(one, &reference_flyback, asking), 22);
}

/* tests/reference/D_flyback_open.json: state-space solutions checked there against an ODE solver. */
START_TEST(every_reference_output_is_met)
{
    reference_asking asking = {.asked = ask, .relative = reference_tolerance, .zero = reference_tolerance};
    reference_each(&reference_flyback, check_case, &asking);
    printf("flyback: %zu reference cases, worst output off by %.2g\n", reference_flyback.cases, asking.worst);
}
END_TEST

/* ------------------------------------------------------ the time domain -- */

static flyback_bench_circuit circuit_of(const flyback_design *d)
{
    return (flyback_bench_circuit){.input = d->input,
                                   .output = d->output,
                                   .drop = d->drop,
                                   .clamp = d->clamp,
                                   .magnetizing = d->magnetizing,
                                   .leakage = d->leakage,
                                   .ratio = d->ratio,
                                   .on_resistance = d->winding + d->channel,
                                   .winding = d->winding,
                                   .secondary_resistance = d->secondary,
                                   .on_time = flyback_asked("on_time"),
                                   .period = d->frequency > 0 ? 1 / d->frequency : 0,
                                   .capacitance = d->capacitance,
                                   .valley = (int)d->valley};
}

/* Asked: 0.5 %.  Held: 1e-6, what the stepping itself is good for. */
static double compare_with_stepping(const flyback_bench_circuit *c, unsigned long long seed)
{
    flyback_bench_figures t;
    ck_assert_msg(flyback_time_domain(c, &t), "stepping failed, seed %llu", seed);
    const struct {
        const char *name;
        double stepped;
    } figure[] = {
        {"secondary_current_average", t.secondary_mean},
        {"secondary_current_rms", t.secondary_rms},
        {"switch_current_average", t.switch_mean},
        {"switch_current_rms", t.switch_rms},
        {"primary_winding_current_rms", t.winding_rms},
        {"magnetizing_current_rms", t.magnetizing_rms},
        {"clamp_current_average", t.clamp_mean},
        {"primary_current_peak", t.peak},
        {"primary_current_start", t.start},
        {"switching_frequency", 1 / t.period},
        {"secondary_conduction_time", t.secondary_time},
        {"leakage_reset_time", t.reset_time},
        {"commutation_time", t.commutation_time},
    };
    double worst = 0;
    for (size_t i = 0; i < sizeof figure / sizeof figure[0]; i++) {
        double value = flyback_asked(figure[i].name),
               scale = i == 8 ? t.peak : fabs(figure[i].stepped) + 1e-12;
        double off = fabs(value - figure[i].stepped) / scale;
        if (!(off <= 1e-6))
            ck_abort_msg("seed %llu: %s = %.12g, stepped %.12g (%.2g)", seed, figure[i].name, value,
                         figure[i].stepped, off);
        worst = fmax(worst, off);
    }
    if (!(c->period > 0)) ck_near(flyback_asked("turn_on_voltage"), t.turn_on_voltage, 1e-6, 1e-6 * c->input);
    return worst;
}

START_TEST(fixed_frequency_agrees_with_the_time_domain)
{
    lottery luck = lottery_open("flyback fixed frequency");
    int continuous = 0, points = 0;
    double worst = 0;
    while (points < 24) {
        flyback_design d = flyback_draw(&luck, false);
        flyback_lay_out(flyback_bench, &d);
        if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) continue;
        stage_bench_check_contract(flyback_bench, 1e-9);
        flyback_bench_circuit c = circuit_of(&d);
        worst = fmax(worst, compare_with_stepping(&c, luck.seed));
        continuous += flyback_asked("continuous_conduction") > 0;
        points++;
    }
    ck_assert_int_ge(continuous, 5);
    ck_assert_int_ge(points - continuous, 5);
    printf("flyback: %d fixed-frequency points (%d continuous), worst off by %.2g\n", points, continuous,
           worst);
}
END_TEST

START_TEST(quasi_resonant_agrees_with_the_time_domain)
{
    lottery luck = lottery_open("flyback quasi-resonant");
    int points = 0, at_zero = 0;
    double worst = 0;
    while (points < 16) {
        flyback_design d = flyback_draw(&luck, true);
        flyback_lay_out(flyback_bench, &d);
        if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) continue;
        stage_bench_check_contract(flyback_bench, 1e-9);
        flyback_bench_circuit c = circuit_of(&d);
        worst = fmax(worst, compare_with_stepping(&c, luck.seed));
        at_zero += flyback_asked("primary_current_start") < 0;
        points++;
    }
    ck_assert_int_ge(points - at_zero, 5);
    printf("flyback: %d quasi-resonant points (%d at zero volts), worst off by %.2g\n", points, at_zero,
           worst);
}
END_TEST

/* A frequency clamp over a drain that rings down to zero: the body path holds it, then it rings on. */
START_TEST(later_valleys_after_zero_volts_agree_with_the_time_domain)
{
    lottery luck = lottery_open("flyback frequency clamp");
    int points = 0, held = 0;
    while (points < 16) {
        flyback_design d = flyback_draw(&luck, true);
        d.input = 0.9 * d.ratio * (d.output + d.drop) * lottery_between(&luck, 0.7, 1.3);
        d.valley = 0;
        flyback_lay_out(flyback_bench, &d);
        hl_terminal *chip = &flyback_bench->part[0];
        chip->reverse_voltage = 0.8;
        chip->reverse_resistance = 0.05;
        stage_bench_unset(flyback_bench, "maximum_frequency");
        if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) continue;
        double clamp = flyback_asked("switching_frequency") * lottery_between(&luck, 0.4, 0.9);
        stage_bench_set(flyback_bench, "maximum_frequency", clamp);
        if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED)
            continue; /* a lossy loop near its power limit */
        stage_bench_check_contract(flyback_bench, 1e-9);
        ck_assert_double_le(flyback_asked("switching_frequency"), clamp * (1 + 1e-12));
        ck_assert_double_gt(flyback_asked("valley_number"), 1.5);
        flyback_bench_circuit c = circuit_of(&d);
        c.valley = (int)lround(flyback_asked("valley_number"));
        c.wait = true;
        c.body_drop = chip->reverse_voltage;
        c.body_resistance = chip->reverse_resistance;
        compare_with_stepping(&c, luck.seed);
        held += hl_stress_at(stage_bench_stress(flyback_bench, "switch")->reverse_average, 0) > 0;
        points++;
    }
    ck_assert_int_ge(held, 3);
}
END_TEST

/* The clamp's resistor takes V^2/R, and that is what the stepped circuit hands to a clamp at that voltage. */
START_TEST(resistor_clamp_balances_and_agrees_with_the_time_domain)
{
    lottery luck = lottery_open("flyback resistor clamp");
    double worst = 0;
    for (int points = 0; points < 16;) {
        flyback_design d = flyback_draw(&luck, points % 2);
        if (d.valley > 0) d.valley = 1;
        flyback_lay_out(flyback_bench, &d);
        stage_bench_choose(flyback_bench, "clamp", "resistor");
        hl_terminal *r = stage_bench_fill(flyback_bench, "clamp_resistor", HL_FAMILY_RESISTOR, 1);
        double power = d.load * d.output;
        r->resistance = d.clamp * d.clamp / (power * lottery_scale(&luck, 0.01, 0.08));
        hl_terminal *diode = stage_bench_fill(flyback_bench, "clamp_diode", HL_FAMILY_DIODE, 1);
        diode->voltage = 0.8;
        diode->resistance = 0.1;
        if (stage_bench_solve(flyback_bench) != HL_STAGE_SOLVED) continue;
        stage_bench_check_contract(flyback_bench, 1e-9);
        double v = flyback_asked("clamp_voltage"), taken = flyback_asked("clamp_loss");
        ck_near(v * v / r->resistance, taken, 1e-10, 0);
        const hl_stress *s = stage_bench_stress(flyback_bench, "clamp_resistor");
        ck_near(s->total_rms * s->total_rms * r->resistance, taken, 1e-10, 0);
        ck_near(flyback_bench->out.own_loss, 0, 0, 0);
        flyback_bench_circuit c = circuit_of(&d);
        c.clamp = v + diode->voltage;
        c.clamp_resistance = diode->resistance;
        worst = fmax(worst, compare_with_stepping(&c, luck.seed));
        points++;
    }
    printf("flyback: 16 resistor clamps, worst off by %.2g\n", worst);
}
END_TEST

/* --------------------------------------------------------- published work -- */

/* A design by hand has no drops in its currents and no leakage: so have these, with its efficiency put in as
 * power. */
static void build_by_hand(double input, double output, double load, double frequency, double inductance,
                          double ratio)
{
    flyback_design d = {.input = input,
                        .output = output,
                        .load = load,
                        .frequency = frequency,
                        .magnetizing = inductance,
                        .ratio = ratio};
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
}

/* Fairchild, AN4137, Design guidelines for off-line flyback converters, rev. 1.3.0 (2003), example pp. 13-15:
 * 67 W into the transformer from 92 V, 85 V reflected, 671 uH, 66 kHz: printed duty 0.48, 2.01 A peak, 1.07 A
 * rms; the five outputs are one here, and the printed values are for all of the input power to reach it. At
 * 375 V: 1.75 A peak at its over-current point of 2.5 A: discontinuous, 1/2 L I^2 f = 67.8 W. */
START_TEST(continuous_currents_match_published_47_w_design)
{
    build_by_hand(92.165, 85.0, 67.0 / 85.0, 66e3, 670.5e-6, 1);
    ck_near(flyback_asked("duty_ratio"), 0.48, 0, 0.005);
    ck_near(flyback_asked("primary_current_peak"), 2.01, 0, 0.01);
    ck_near(flyback_asked("switch_current_rms"), 1.07, 0, 0.005);
    build_by_hand(374.77, 85.07, 67.0 / 85.07, 66e3, 670.5e-6, 1);
    double v = 374.77, r = 85.07; /* its formula for the peak at high line, in continuous mode */
    double formula = 67.0 * (v + r) / (v * r) + v * r / (2 * 670.5e-6 * 66e3 * (v + r));
    ck_near(formula, 1.75, 0, 0.005);
    ck_near(flyback_asked("continuous_conduction"), 1, 0, 0);
    ck_near(flyback_asked("primary_current_peak"), 1.75, 0, 0.005);
}
END_TEST

/* The same design's clamp: 4.5 uH, 33.1 kohm: printed 1.1 W at 190 V with 2.014 A (92 V), and 172 V
 * with 1.749 A at 375 V; its formula takes the reflected voltage without the leakage's share of the
 * inductance and the secondary as stiff, which is exact to Llk/Lm = 0.7 %; held: 0.6 % of the voltage, the
 * printed digits of the power. */
START_TEST(resistor_clamp_matches_published_47_w_design)
{
    for (int k = 0; k < 2; k++) {
        flyback_design d = {.input = k ? 374.77 : 92.165,
                            .output = 85.07,
                            .frequency = 66e3,
                            .magnetizing = 670.5e-6,
                            .leakage = 4.5e-6,
                            .ratio = 1};
        double peak = k ? 1.7492 : 2.014;
        double low = 0.3, high = 1.5; /* the load that makes this peak */
        for (int n = 0; n < 40; n++) {
            d.load = 0.5 * (low + high);
            flyback_lay_out(flyback_bench, &d);
            stage_bench_choose(flyback_bench, "clamp", "resistor");
            stage_bench_fill(flyback_bench, "clamp_resistor", HL_FAMILY_RESISTOR, 1)->resistance = 33.1e3;
            flyback_solved();
            *(flyback_asked("primary_current_peak") < peak ? &low : &high) = d.load;
        }
        ck_near(flyback_asked("clamp_voltage"), k ? 172 : 190, 0.006, 0);
        if (!k) ck_near(flyback_asked("clamp_loss"), 1.1, 0, 0.05);
    }
}
END_TEST

/* Infineon, DN 2013-01, Design guide for off-line fixed-frequency DCM flyback (A. Saliva, 2013), section
 * IV: 31.25 W from 92 V, 75 V reflected, 407 uH, 65 kHz, 6:1, at the border of the modes: printed 1.53 A
 * peak, duty 0.44 (0.449 before rounding), 0.58 A rms (0.586), 9 A (9.18), 3.9 A and 3.3 A on the secondary.
 * The secondary values are for the stored power, so the load here is that of 31.25 W behind 12.5 V. */
START_TEST(discontinuous_currents_match_published_25_w_design)
{
    build_by_hand(92, 12.5, 31.25 / 12.5, 65e3, 407e-6, 6);
    ck_near(flyback_asked("primary_current_peak"), 1.53, 0, 0.015);
    ck_near(flyback_asked("duty_ratio"), 0.449, 2e-2, 0);
    ck_near(flyback_asked("switch_current_rms"), 0.586, 1e-2, 0);
    ck_near(flyback_asked("secondary_current_peak"), 9.18, 1e-2, 0);
    ck_near(flyback_asked("secondary_current_rms"), 3.9, 0, 0.05);
    double rms = flyback_asked("secondary_current_rms");
    ck_near(sqrt(rms * rms - 2.08 * 2.08), 3.3, 0, 0.05); /* printed with the 2.08 A of the port */
}
END_TEST

/* Texas Instruments/Unitrode, U-165, Isolated 50 W flyback (L. Dinwoodie), eq. 1-12: 32 V less 1 V, 5 V + 0.8
 * V at 10 A, 5:1, 70 kHz: printed duty 0.48, 5.16 A peak, 2.58 A ripple (with 82.9 uH; 80 uH are used), 2.74
 * A rms, and 14 A for the output capacitor, which is the whole secondary current: without its mean it is 10.0
 * A. */
START_TEST(continuous_currents_match_published_50_w_design)
{
    flyback_design d = {.input = 31,
                        .output = 5,
                        .drop = 0.8,
                        .load = 10,
                        .frequency = 70e3,
                        .magnetizing = 82.89e-6,
                        .ratio = 5};
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    ck_near(flyback_asked("duty_ratio"), 0.4833, 1e-3, 0);
    ck_near(flyback_asked("primary_current_peak"), 5.16, 0, 0.01);
    ck_near(flyback_asked("primary_current_peak") - flyback_asked("primary_current_start"), 2.58, 0, 0.01);
    ck_near(flyback_asked("switch_current_rms"), 2.74, 0, 0.005);
    ck_near(flyback_asked("secondary_current_rms"), 14.167, 2e-3, 0);
    ck_near(flyback_asked("output_capacitor_current_rms"), sqrt(14.167 * 14.167 - 100), 3e-3, 0);
}
END_TEST

/* Maxim Integrated, MAXREFDES1085, miniature 24 W flyback, steps 1-8: 17 V, 24 V at 1 A, diode 0.76 V, 125
 * kHz, 6.8 uH, 1:2: printed 8.4 A, 3.14 A, 4.17 A and 1.67 A, duty 0.42, clamp 0.75 W at 2.5 times the
 * reflected voltage with 102 nH. Its duty counts 1.25 times the output power, 30 W; so does the load here. */
START_TEST(discontinuous_currents_match_published_24_w_design)
{
    flyback_design d = {.input = 17,
                        .output = 24,
                        .drop = 0.76,
                        .load = 30 / 24.76,
                        .frequency = 125e3,
                        .magnetizing = 6.8e-6,
                        .ratio = 0.5};
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    ck_near(flyback_asked("duty_ratio"), 0.42, 0, 0.001);
    ck_near(flyback_asked("primary_current_peak"), 8.4, 0, 0.01);
    ck_near(flyback_asked("switch_current_rms"), 3.14, 0, 0.005);
    ck_near(flyback_asked("secondary_current_peak"), 4.2, 0, 0.005); /* printed 4.17, rounded on the way */
    ck_near(flyback_asked("secondary_current_rms") / sqrt(d.load), 1.67, 0, 0.005); /* printed for 1 A */
    d.leakage = 102e-9;
    d.clamp = 2.5 * 0.5 * 24.76;
    double low = 1, high = 1.4;
    for (int n = 0; n < 40; n++) {
        d.load = 0.5 * (low + high);
        flyback_lay_out(flyback_bench, &d);
        flyback_solved();
        *(flyback_asked("primary_current_peak") < 8.4 ? &low : &high) = d.load;
    }
    /* 0.5 Llk I^2 f 2.5/1.5; with the secondary behind Lm the exact factor is 2.5/(2.5 - 1 - Llk/Lm), 1 %
     * more */
    ck_near(flyback_asked("clamp_loss"), 0.7494, 0.012, 0);
}
END_TEST

/* Infineon, AN_1806_PL83_1807_101936, Quasi-resonant and fixed-frequency flyback comparison (2018), figures
 * and tables: measured peak currents and frequencies of two 60.3 W boards at 85 V and 300 V mains. The load
 * here is what their 1/2 L I^2 f stores. Not stated, and one value each for all: the drain's capacitance (460
 * pF, transformer and rectifier included) and the mean bus at 85 V (105 V); the times at 300 V tell the
 * second valley. The frequencies are printed to 1 to 2 %; held: 4 % in frequency, 2 % in peak. */
START_TEST(quasi_resonant_matches_published_measurements)
{
    static const struct {
        double bus, inductance, ratio, peak, frequency, valley;
    } board[] = {{105, 120e-6, 6, 3.36, 100e3, 1},
                 {424, 120e-6, 6, 2.86, 130e3, 2},
                 {105, 270e-6, 44.0 / 7, 3.19, 50e3, 1},
                 {424, 270e-6, 44.0 / 7, 2.55, 74e3, 2}};
    for (size_t k = 0; k < sizeof board / sizeof board[0]; k++) {
        double stored = 0.5 * board[k].inductance * board[k].peak * board[k].peak * board[k].frequency;
        flyback_design d = {.input = board[k].bus,
                            .output = 12.05,
                            .drop = 0.5,
                            .magnetizing = board[k].inductance,
                            .ratio = board[k].ratio,
                            .capacitance = 460e-12,
                            .valley = board[k].valley,
                            .load = stored / 12.55};
        flyback_lay_out(flyback_bench, &d);
        flyback_solved();
        ck_near(flyback_asked("switching_frequency"), board[k].frequency, 0.04, 0);
        ck_near(flyback_asked("primary_current_peak"), board[k].peak, 0.02, 0);
    }
}
END_TEST

/* R. Ridley, Flyback snubber design, Switching Power Magazine (2005), RCD clamp step 4: the clamp takes
 * 1 + Vf/Vx times the leakage's energy; three times at Vx = Vf/2. Exact for Llk << Lm. */
START_TEST(clamp_takes_three_times_the_leakage_energy)
{
    flyback_design d = flyback_adapter(325, 1.2, 68e3);
    d.leakage = 1e-4 * d.magnetizing;
    d.winding = d.channel = d.secondary = 0;
    d.clamp = 1.5 * d.ratio * d.output;
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    double peak = flyback_asked("primary_current_peak");
    ck_near(flyback_asked("clamp_energy") / (0.5 * d.leakage * peak * peak), 3, 4e-4, 0);
}
END_TEST
static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, flyback_set_up, flyback_tear_down);
    tcase_add_test(tests, every_reference_output_is_met);
    tcase_add_test(tests, fixed_frequency_agrees_with_the_time_domain);
    tcase_add_test(tests, quasi_resonant_agrees_with_the_time_domain);
    tcase_add_test(tests, later_valleys_after_zero_volts_agree_with_the_time_domain);
    tcase_add_test(tests, resistor_clamp_balances_and_agrees_with_the_time_domain);
    tcase_add_test(tests, continuous_currents_match_published_47_w_design);
    tcase_add_test(tests, resistor_clamp_matches_published_47_w_design);
    tcase_add_test(tests, discontinuous_currents_match_published_25_w_design);
    tcase_add_test(tests, continuous_currents_match_published_50_w_design);
    tcase_add_test(tests, discontinuous_currents_match_published_24_w_design);
    tcase_add_test(tests, quasi_resonant_matches_published_measurements);
    tcase_add_test(tests, clamp_takes_three_times_the_leakage_energy);
}

int main(void)
{
    return story_main("flyback agreement", fill);
}
