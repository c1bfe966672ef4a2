/* check_llc.c - laws the half-bridge LLC must hold, at any load and where the sequence of its states changes.
 * What others say of it is in check_llc_agreement.c. */
#include "stage_bench.h"
#include "story.h"

#include <math.h>
#include <string.h>

#include "llc_design.h"

static double relative(double a, double b, double floor)
{
    return fabs(a - b) / fmax(fabs(b), floor);
}

/* ------------------------------------------------------------------ laws -- */

START_TEST(books_close_and_warm_equals_cold_over_random_designs)
{
    lottery luck = lottery_open("llc books");
    int solved = 0, n = lottery_count("HL_TEST_LLC_DESIGNS", 2000);
    double worst = 0, apart = 0;
    stage_bench *warm = llc_bench(), *cold = llc_bench();
    for (int k = 0; k < n; k++) {
        llc_point p = llc_draw(&luck);
        llc_lay_out_point(cold, &p);
        llc_lay_out_point(warm, &p);
        warm->in.extra_loss = cold->in.extra_loss = lottery_between(&luck, 0, 3);
        stage_bench_forget(cold);
        hl_stage_status first = stage_bench_solve(cold), second = stage_bench_solve(warm);
        if (first != second) ck_abort_msg("seed %llu, design %d: warm and cold disagree", luck.seed, k);
        if (first != HL_STAGE_SOLVED) {
            ck_assert(cold->out.reason.text[0] != '\0');
            continue;
        }
        solved++;
        const char *fault = stage_bench_fault(cold, 1e-9);
        if (fault)
            ck_abort_msg("seed %llu, design %d: %s (%.2g)", luck.seed, k, fault, stage_bench_imbalance(cold));
        worst = fmax(worst, stage_bench_imbalance(cold));
        for (size_t q = 0; q < cold->out.quantities; q++) {
            double a = cold->out.quantity[q].value, b = warm->out.quantity[q].value;
            double off = a == b ? 0 : relative(b, a, 1e-6);
            if (!(off <= 1e-9))
                ck_abort_msg("seed %llu, design %d: %s is %.15g cold, %.15g warm", luck.seed, k,
                             cold->out.quantity[q].name, a, b);
            apart = fmax(apart, off);
        }
    }
    stage_bench_destroy(cold);
    stage_bench_destroy(warm);
    printf("llc: %d of %d designs solved, books close to %.2g, warm and cold to %.2g\n", solved, n, worst,
           apart);
    ck_assert_int_gt(solved, n / 2);
}
END_TEST

START_TEST(ideal_parts_lose_nothing)
{
    lottery luck = lottery_open("llc ideal");
    stage_bench *bench = llc_bench();
    int solved = 0;
    for (int k = 0; k < 300; k++) {
        llc_point p = llc_draw(&luck);
        p.d.primary = p.d.secondary = p.d.drop = p.d.body_drop = 0;
        p.d.instant = true;
        llc_lay_out_point(bench, &p);
        stage_bench_forget(bench);
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED) continue;
        solved++;
        double efficiency = bench->out.output.power / bench->out.input.power;
        if (!(fabs(efficiency - 1) < 1e-9))
            ck_abort_msg("seed %llu, design %d: efficiency %.12g", luck.seed, k, efficiency);
    }
    stage_bench_destroy(bench);
    ck_assert_int_gt(solved, 150);
}
END_TEST

/* Anything a file, a script or a bisection might hand over, sense or nonsense. */
static double draw_anything(lottery *luck, double low, double high)
{
    switch (lottery_below(luck, 40)) {
    case 0:
        return 0;
    case 1:
        return -lottery_scale(luck, low, high);
    case 2:
        return (double)NAN;
    case 3:
        return (double)INFINITY;
    case 4:
        return lottery_scale(luck, low * 1e-9, high * 1e9);
    default:
        return lottery_scale(luck, low, high);
    }
}

static void draw_nonsense(lottery *luck, stage_bench *bench)
{
    llc_design d = {
        .input = draw_anything(luck, 20, 2000),
        .series = draw_anything(luck, 1e-7, 1e-2),
        .magnetizing = draw_anything(luck, 1e-6, 1e-1),
        .capacitance = draw_anything(luck, 1e-10, 1e-5),
        .ratio = draw_anything(luck, 0.2, 50),
        .primary = draw_anything(luck, 1e-4, 1e2),
        .secondary = draw_anything(luck, 1e-5, 1),
        .charge = draw_anything(luck, 1e-10, 1e-6),
        .dead_time = draw_anything(luck, 1e-9, 5e-6),
        .body_drop = draw_anything(luck, 0.1, 5),
        .full_bridge = lottery_below(luck, 2) == 1,
        .instant = lottery_below(luck, 2) == 1,
        .drop = lottery_below(luck, 2) ? 0 : draw_anything(luck, 0.1, 5),
    };
    llc_lay_out(bench, &d);
    stage_bench_choose(bench, "output_model", lottery_below(luck, 3) ? "stiff" : "capacitor");
    stage_bench_choose(bench, "light_load", lottery_below(luck, 2) ? "burst" : "continuous");
    bench->in.output_capacitance = draw_anything(luck, 1e-7, 1e-2);
    bench->in.output_esr = draw_anything(luck, 1e-4, 1);
    stage_bench_load(bench, draw_anything(luck, 0.5, 500), draw_anything(luck, 1e-4, 200));
    stage_bench_unset(bench, "maximum_frequency");
    stage_bench_unset(bench, "minimum_frequency");
    stage_bench_unset(bench, "burst_current");
    if (lottery_below(luck, 3) == 0)
        stage_bench_set(bench, "maximum_frequency", draw_anything(luck, 1e4, 1e7));
    if (lottery_below(luck, 3) == 0)
        stage_bench_set(bench, "minimum_frequency", draw_anything(luck, 1e3, 1e6));
    if (lottery_below(luck, 3) == 0) stage_bench_set(bench, "burst_current", draw_anything(luck, 1e-3, 50));
}

START_TEST(no_settings_crash_it_or_make_it_invent_numbers)
{
    lottery luck = lottery_open("llc nonsense");
    int solved = 0, n = lottery_count("HL_TEST_LLC_NONSENSE", 5000);
    stage_bench *bench = llc_bench();
    for (int k = 0; k < n; k++) {
        draw_nonsense(&luck, bench);
        if (lottery_below(&luck, 2)) stage_bench_forget(bench);
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED) {
            ck_assert_msg(bench->out.reason.text[0] != '\0', "seed %llu, draw %d: no reason", luck.seed, k);
            continue;
        }
        solved++;
        const char *fault = stage_bench_fault(bench, 1e-9);
        if (fault)
            ck_abort_msg("seed %llu, draw %d: %s (%.2g)", luck.seed, k, fault, stage_bench_imbalance(bench));
    }
    stage_bench_destroy(bench);
    printf("llc: %d of %d nonsense points solved\n", solved, n);
    ck_assert_int_gt(solved, n / 50);
}
END_TEST

/* ------------------------------------------------------------ continuity -- */

enum { FIGURES = 12 };
static const char *const continuous[FIGURES] = {
    "switching_frequency",          "resonant_current_rms",    "resonant_current_peak",
    "magnetizing_current_peak",     "switch_current_rms",      "switch_current_turn_off",
    "rectifier_current_rms",        "rectifier_current_peak",  "resonant_capacitor_ac_voltage_peak",
    "output_capacitor_current_rms", "primary_conduction_loss", "secondary_conduction_loss",
};

static bool figures_at(stage_bench *bench, const llc_point *p, double load, double figure[FIGURES],
                       size_t *pieces)
{
    stage_bench_load(bench, p->output, load);
    stage_bench_forget(bench);
    if (stage_bench_solve(bench) != HL_STAGE_SOLVED || stage_bench_quantity(bench, "burst_duty") < 1.0)
        return false;
    for (int i = 0; i < FIGURES; i++) figure[i] = stage_bench_quantity(bench, continuous[i]);
    /* one segment per stretch of the current drawn changes count where the sequence of states changes */
    *pieces = bench->out.input.wave[0].n;
    return true;
}

/* Halve an interval of load around a change of sequence, then compare both sides 1e-6 apart. */
static double jump_across(stage_bench *bench, const llc_point *p, double low, double high, size_t below,
                          const char **what)
{
    double a[FIGURES], b[FIGURES], worst = 0;
    size_t pieces;
    while (high - low > 1e-6 * high) {
        double middle = 0.5 * (low + high);
        if (!figures_at(bench, p, middle, a, &pieces)) return 0;
        if (pieces == below)
            low = middle;
        else
            high = middle;
    }
    if (!figures_at(bench, p, low, a, &pieces) || !figures_at(bench, p, high, b, &pieces)) return 0;
    for (int i = 0; i < FIGURES; i++) {
        double off = relative(a[i], b[i], 1e-3 * b[1]);
        if (off > worst) worst = off, *what = continuous[i];
    }
    return worst;
}

/* The borders between sequences of states are edges of formulas, not of physics. */
START_TEST(nothing_jumps_where_the_sequence_of_states_changes)
{
    lottery luck = lottery_open("llc continuity");
    stage_bench *bench = llc_bench();
    int borders = 0;
    double worst = 0;
    for (int k = 0; k < 100; k++) {
        llc_point p = llc_draw(&luck);
        double full = p.load, figure[FIGURES];
        size_t before = 0, pieces;
        llc_lay_out_point(bench, &p);
        for (int i = 0; i <= 40; i++) {
            double load = full * pow(60.0, (i - 30) / 30.0); /* 1/60 ... 4 times the drawn load */
            if (!figures_at(bench, &p, load, figure, &pieces)) {
                before = 0;
                continue;
            }
            if (before && pieces != before) {
                const char *what = "";
                double last = full * pow(60.0, (i - 31) / 30.0);
                double jump = jump_across(bench, &p, last, load, before, &what);
                if (!(jump <= 1e-3))
                    ck_abort_msg("seed %llu, design %d: %s jumps by %.2g at %.6g A", luck.seed, k, what, jump,
                                 load);
                worst = fmax(worst, jump);
                borders++;
            }
            before = pieces;
        }
    }
    stage_bench_destroy(bench);
    printf("llc: largest step across %d borders %.2g for a load step of 1e-6\n", borders, worst);
    ck_assert_int_gt(borders, 30);
}
END_TEST

/* ----------------------------------------------------------------- waves -- */

static void check_wave(unsigned long long seed, const char *what, double wave, double figure,
                       double tolerance)
{
    if (!(fabs(wave - figure) <= tolerance * (fabs(figure) + 1e-12)))
        ck_abort_msg("seed %llu: %s is %.12g by its wave, %.12g by the solution", seed, what, wave, figure);
}

/* Segments hold a conducting stretch to 1e-7 of its size; the figures are integrated from the solution. */
START_TEST(waves_say_what_the_figures_say)
{
    lottery luck = lottery_open("llc waves");
    stage_bench *bench = llc_bench();
    for (int k = 0; k < 300; k++) {
        llc_point p = llc_draw(&luck);
        llc_lay_out_point(bench, &p);
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED || stage_bench_quantity(bench, "burst_duty") < 1)
            continue;
        double f = stage_bench_quantity(bench, "switching_frequency");
        const hl_stress *core = stage_bench_stress(bench, "transformer");
        const hl_stress *choke = stage_bench_stress(bench, "resonant_inductor");
        const hl_stress *capacitor = stage_bench_stress(bench, "resonant_capacitor");
        const hl_wave *out = &bench->out.output.wave[0], *in = &bench->out.input.wave[0];
        const hl_wave *secondary = &core->winding_current[1][0];
        double high, low, lines = 0;
        check_wave(luck.seed, "period", hl_wave_period(&core->winding_current[0][0]), 1 / f, 1e-12);
        check_wave(luck.seed, "load", hl_wave_average(out), p.load, 1e-6);
        check_wave(luck.seed, "resonant current", hl_wave_rms(&core->winding_current[0][0]),
                   stage_bench_quantity(bench, "resonant_current_rms"), 1e-7);
        check_wave(luck.seed, "rectified current", hl_wave_rms(out),
                   stage_bench_quantity(bench, "secondary_current_rms"), 1e-6);
        check_wave(
            luck.seed, "secondary", hl_wave_rms(secondary),
            stage_bench_quantity(bench, p.d.full_bridge ? "secondary_current_rms" : "rectifier_current_rms"),
            1e-6);
        hl_wave_peaks(out, &high, &low);
        check_wave(luck.seed, "rectifier peak", high, stage_bench_quantity(bench, "rectifier_current_peak"),
                   1e-6);
        hl_wave_peaks(&core->winding_current[0][0], &high, &low);
        check_wave(luck.seed, "resonant peak", high, stage_bench_quantity(bench, "resonant_current_peak"),
                   1e-6);
        /* counted into the dots, the ampere-turns of all windings are those that magnetize */
        double most = 0;
        for (int i = 0; i < 200; i++) {
            double t = (i + 0.5) / 200 / f, sum = hl_wave_at(&core->winding_current[0][0], t);
            for (size_t w = 1; w < core->windings; w++)
                sum += hl_wave_at(&core->winding_current[w][0], t) / p.d.ratio;
            most = fmax(most, fabs(sum));
        }
        double peak = stage_bench_quantity(bench, "magnetizing_current_peak");
        ck_assert_msg(most <= 1.001 * peak && most >= 0.9 * peak,
                      "seed %lu: ampere-turns %.6g, magnetizing %.6g", (unsigned long)luck.seed, most, peak);
        check_wave(luck.seed, "magnetizing swing", hl_wave_integral_swing(&core->flux_voltage[0]),
                   2 * p.d.magnetizing * stage_bench_quantity(bench, "magnetizing_current_peak"), 1e-6);
        check_wave(luck.seed, "choke flux", hl_wave_integral_swing(&choke->flux_voltage[0]),
                   2 * 0.7 * p.d.series * stage_bench_quantity(bench, "resonant_current_peak"), 1e-6);
        for (size_t i = 0; i < capacitor->lines; i++) lines += capacitor->line_rms_squared[i];
        check_wave(luck.seed, "spectrum", sqrt(lines), stage_bench_quantity(bench, "resonant_current_rms"),
                   1e-6);
        /* what the node capacitance takes as a switch closes is a pulse, not in the wave: none but the body
         * diode's drop after a complete transition */
        if (stage_bench_quantity(bench, "node_residual_voltage") > 0) continue;
        double pulse = p.d.instant ? 0 : f * 2 * p.d.charge * p.d.body_drop;
        double off = fabs(hl_wave_average(in) * p.d.input - bench->out.input.power);
        ck_assert_msg(off <= 1e-6 * bench->out.input.power + pulse, "seed %llu: input %g W off by its wave",
                      luck.seed, off);
    }
    stage_bench_destroy(bench);
}
END_TEST

/* --------------------------------------------------- light load, no load -- */

START_TEST(no_load_still_circulates_and_draws_its_losses)
{
    stage_bench *bench = llc_bench();
    llc_lay_out(bench, &llc_wide);
    stage_bench_load(bench, 24, 0);
    bench->in.extra_loss = 0.25;
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    ck_assert_double_eq(bench->out.output.current, 0);
    ck_assert_double_gt(stage_bench_quantity(bench, "magnetizing_current_rms"), 0.3);
    ck_assert_double_gt(bench->out.input.power, 0.25);
    double idle = stage_bench_quantity(bench, "switching_frequency");
    stage_bench_load(bench, 24, 1e-3);
    stage_bench_expect_solved(bench);
    ck_near(stage_bench_quantity(bench, "switching_frequency"), idle, 1e-2,
            0); /* continuous towards no load */
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(burst_switches_part_of_the_time)
{
    stage_bench *bench = llc_bench();
    llc_lay_out(bench, &llc_wide);
    stage_bench_set(bench, "burst_current", 2.0);
    stage_bench_load(bench, 24, 2.0);
    stage_bench_expect_solved(bench);
    double f = stage_bench_quantity(bench, "switching_frequency");
    double rms = stage_bench_quantity(bench, "resonant_current_rms"), loss = bench->out.circuit_loss;
    stage_bench_load(bench, 24, 0.5);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    ck_near(stage_bench_quantity(bench, "burst_duty"), 0.25, 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "switching_frequency"), f, 1e-12, 0);
    ck_near(stage_bench_quantity(bench, "resonant_current_rms"), 0.5 * rms, 1e-9, 0);
    ck_near(bench->out.circuit_loss, 0.25 * loss, 1e-9, 0);
    const hl_stress *chip = stage_bench_stress(bench, "switch");
    ck_assert_uint_eq(chip->n, 2);
    ck_near(chip->weight[0], 0.25, 1e-12, 0);
    ck_assert_double_eq(chip->frequency[1], 0);
    stage_bench_load(bench, 24, 0);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    ck_assert_double_eq(bench->out.input.power, 0);
    stage_bench_choose(bench, "light_load", "continuous");
    stage_bench_expect_solved(bench);
    ck_assert_double_eq(stage_bench_quantity(bench, "burst_duty"), 1);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(highest_frequency_makes_packets_or_says_no)
{
    stage_bench *bench = llc_bench();
    llc_lay_out(bench, &llc_wide);
    stage_bench_set(bench, "maximum_frequency", 150e3);
    stage_bench_load(bench, 20, 1.0); /* 24 V would be resonance: 20 V at light load wants far more */
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    ck_near(stage_bench_quantity(bench, "switching_frequency"), 150e3, 1e-12, 0);
    ck_assert_double_lt(stage_bench_quantity(bench, "burst_duty"), 0.5);
    stage_bench_choose(bench, "light_load", "continuous");
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    ck_assert_ptr_nonnull(strstr(bench->out.reason.text, "150 kHz"));
    stage_bench_destroy(bench);
}
END_TEST

/* ----------------------------------------------------------- out of reach -- */

START_TEST(gain_beyond_the_peak_is_told_with_both_gains)
{
    stage_bench *bench = llc_bench();
    llc_lay_out(bench, &llc_wide);
    stage_bench_load(bench, 24, 8);
    bench->in.input_voltage = 160;
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    double needed = 0, most = 0;
    const char *at = strstr(bench->out.reason.text, "gain of "),
               *best = strstr(bench->out.reason.text, "at most ");
    ck_assert_msg(at && best, "%s", bench->out.reason.text);
    needed = strtod(at + 8, NULL);
    most = strtod(best + 8, NULL);
    ck_near(needed, 8.25 * 24 / 80, 1e-3, 0);
    ck_assert_double_lt(most, needed);
    /* just below the peak it works, just above it does not */
    stage_bench_load(bench, 24 * most / needed * 0.999, 8);
    stage_bench_expect_solved(bench);
    stage_bench_load(bench, 24 * most / needed * 1.002, 8);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    stage_bench_destroy(bench);
}
END_TEST

START_TEST(lowest_frequency_and_missing_parts_are_told)
{
    stage_bench *bench = llc_bench();
    llc_lay_out(bench, &llc_wide);
    stage_bench_load(bench, 24, 8);
    stage_bench_set(bench, "minimum_frequency", 110e3);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    ck_assert_ptr_nonnull(strstr(bench->out.reason.text, "106.2 kHz"));
    stage_bench_unset(bench, "minimum_frequency");
    stage_bench_fill(bench, "resonant_capacitor", HL_FAMILY_CAPACITOR, 0);
    ck_assert_int_eq(stage_bench_solve(bench), HL_STAGE_INFEASIBLE);
    ck_assert_ptr_nonnull(strstr(bench->out.reason.text, "resonant capacitance"));
    stage_bench_destroy(bench);
}
END_TEST

/* Too little charge in the dead time: some of the bus is left across the switch as it closes. */
START_TEST(short_dead_time_leaves_a_residual_voltage)
{
    stage_bench *bench = llc_bench();
    llc_design d = llc_wide;
    d.dead_time = 40e-9;
    llc_lay_out(bench, &d);
    stage_bench_load(bench, 24, 8);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    double residual = stage_bench_quantity(bench, "node_residual_voltage");
    ck_assert_double_gt(residual, 50);
    ck_assert_double_lt(residual, 390);
    ck_assert_double_eq(stage_bench_quantity(bench, "zero_voltage_switching"), 0);
    ck_near(stage_bench_stress(bench, "switch")->voltage_on[0], residual, 1e-12, 0);
    /* both edges of a period: f C V^2 with the linear node capacitance */
    double f = stage_bench_quantity(bench, "switching_frequency"), node = 2 * d.charge / d.input;
    ck_near(stage_bench_quantity(bench, "residual_charge_loss"), f * node * residual * residual, 1e-9, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* C that a wave of the period carries up to t, by Simpson's rule. */
static double carried(const hl_wave *wave, double t)
{
    enum { STEPS = 4000 };
    double step = t / STEPS, sum = 0;
    for (int k = 0; k <= STEPS; k++)
        sum += (k == 0 || k == STEPS ? 1 : k % 2 ? 4 : 2) * hl_wave_at(wave, fmin(k * step, t));
    return sum * step / 3;
}

/* The node has swung when the resonant current, against the switch that closes, has carried both switches'
 * charge: also where the rectifier begins or ceases to conduct meanwhile. With less than that it carries all
 * it can. */
START_TEST(an_instant_transition_lasts_until_the_charge_has_flown)
{
    lottery luck = lottery_open("llc transition time");
    stage_bench *bench = llc_bench();
    int across = 0, short_of = 0;
    for (int k = 0; k < 600; k++) {
        llc_point p = llc_draw(&luck);
        p.d.instant = true;
        p.d.charge *= lottery_scale(&luck, 1, 30);
        p.d.dead_time *= lottery_scale(&luck, 1, 10);
        llc_lay_out_point(bench, &p);
        stage_bench_forget(bench);
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED) continue;
        const hl_wave *current = &stage_bench_stress(bench, "resonant_inductor")->winding_current[0][0];
        const hl_wave *out = &stage_bench_stress(bench, "transformer")->winding_current[1][0];
        double available = stage_bench_quantity(bench, "zero_voltage_charge_available");
        double required = stage_bench_quantity(bench, "zero_voltage_charge_required");
        double span = stage_bench_quantity(bench, "transition_time"), charge = -carried(current, span);
        double wanted = fmin(available, required);
        if (!(fabs(charge - wanted) <= 1e-5 * required))
            ck_abort_msg("seed %llu, design %d: %.9g C flow in %.6g s, asked %.9g", luck.seed, k, charge,
                         span, wanted);
        if (available < required) short_of++;
        double top = 1e-6 * stage_bench_quantity(bench, "rectifier_current_peak");
        bool before = fabs(hl_wave_at(out, 1e-3 * span)) > top, after = fabs(hl_wave_at(out, span)) > top;
        if (available > required && before != after) across++;
    }
    stage_bench_destroy(bench);
    printf("llc: %d transitions while the rectifier changes, %d short of charge\n", across, short_of);
    ck_assert_int_gt(across, 10);
    ck_assert_int_gt(short_of, 10);
}
END_TEST

/* Two parts in parallel at half the value each are one part. */
START_TEST(parallel_parts_share)
{
    stage_bench *bench = llc_bench();
    llc_lay_out(bench, &llc_wide);
    stage_bench_load(bench, 24, 8);
    stage_bench_expect_solved(bench);
    double f = stage_bench_quantity(bench, "switching_frequency");
    double rms = stage_bench_stress(bench, "switch")->current_rms[0];
    hl_terminal *chip = stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 2);
    chip->resistance = 2 * 0.4 * llc_wide.primary;
    chip->output_charge = 0.5 * llc_wide.charge;
    chip->reverse_voltage = llc_wide.body_drop;
    hl_terminal *capacitor = stage_bench_fill(bench, "resonant_capacitor", HL_FAMILY_CAPACITOR, 3);
    capacitor->capacitance = llc_wide.capacitance / 3;
    capacitor->resistance = 3 * 0.1 * llc_wide.primary;
    hl_terminal *choke = stage_bench_fill(bench, "resonant_inductor", HL_FAMILY_MAGNETIC, 2);
    choke->inductance = 2 * 0.7 * llc_wide.series;
    choke->winding_resistance[0] = 2 * 0.2 * llc_wide.primary;
    stage_bench_expect_solved(bench);
    ck_near(stage_bench_quantity(bench, "switching_frequency"), f, 1e-9, 0);
    ck_near(stage_bench_stress(bench, "switch")->current_rms[0], 0.5 * rms, 1e-9, 0);
    ck_near(stage_bench_stress(bench, "resonant_capacitor")->total_rms,
            stage_bench_quantity(bench, "resonant_current_rms") / 3, 1e-9, 0);
    ck_near(hl_wave_rms(stage_bench_stress(bench, "resonant_inductor")->winding_current[0]),
            stage_bench_quantity(bench, "resonant_current_rms") / 2, 1e-7, 0);
    stage_bench_destroy(bench);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, books_close_and_warm_equals_cold_over_random_designs);
    tcase_add_test(tests, ideal_parts_lose_nothing);
    tcase_add_test(tests, no_settings_crash_it_or_make_it_invent_numbers);
    tcase_add_test(tests, nothing_jumps_where_the_sequence_of_states_changes);
    tcase_add_test(tests, waves_say_what_the_figures_say);
    tcase_add_test(tests, no_load_still_circulates_and_draws_its_losses);
    tcase_add_test(tests, burst_switches_part_of_the_time);
    tcase_add_test(tests, highest_frequency_makes_packets_or_says_no);
    tcase_add_test(tests, gain_beyond_the_peak_is_told_with_both_gains);
    tcase_add_test(tests, lowest_frequency_and_missing_parts_are_told);
    tcase_add_test(tests, short_dead_time_leaves_a_residual_voltage);
    tcase_add_test(tests, an_instant_transition_lasts_until_the_charge_has_flown);
    tcase_add_test(tests, parallel_parts_share);
}

int main(void)
{
    return story_main("half-bridge LLC", fill);
}
