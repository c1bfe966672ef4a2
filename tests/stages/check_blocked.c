/* check_blocked.c - what a stage tells its rectifier to block, cycle by cycle, against the voltage over time
 * that its own inductor or transformer shows: an independent way to the same integral. Leakage ~ v^p loses
 * the mean of v^(p+1), so that is what is compared, for p = 0 (a constant leakage), 1/2 (a junction) and 1 (a
 * barrier). */
#include <math.h>

#include "boost_pfc_design.h"
#include "flyback_design.h"
#include "llc_design.h"
#include "story.h"

enum { PLACES = 40000 };
static const double exponent[] = {1.0, 1.5, 2.0};
enum { EXPONENTS = sizeof exponent / sizeof *exponent };

/* V^q: mean over the time, as a device reads it from its stress. */
static double told(const hl_stress *s, double q)
{
    double sum = 0;
    for (size_t k = 0; k < s->n; k++)
        sum += s->weight[k] * (1 - hl_stress_at(s->duty, k)) * pow(fabs(s->voltage_off[k]), q);
    return sum;
}

/* The same in time: V a diode blocks is `base` + `factor` times the wave, nothing while it conducts. Nothing
 * but `base` in cycles without wave. */
static double in_time(const hl_stress *magnetic, const hl_wave *wave, double base, double factor, double q)
{
    double sum = 0;
    for (size_t k = 0; k < magnetic->n; k++) {
        double period = hl_wave_period(&wave[k]), mean = 0;
        for (int i = 0; i < PLACES && wave[k].n; i++)
            mean +=
                pow(fmax(base + factor * hl_wave_at(&wave[k], period * (i + 0.5) / PLACES), 0), q) / PLACES;
        sum += magnetic->weight[k] * (wave[k].n ? mean : pow(base, q));
    }
    return sum;
}

static void compare(const hl_stress *rectifier, const hl_stress *magnetic, double base, double factor,
                    const double tolerance[EXPONENTS])
{
    for (int e = 0; e < EXPONENTS; e++)
        ck_near(told(rectifier, exponent[e]),
                in_time(magnetic, magnetic->flux_voltage, base, factor, exponent[e]), tolerance[e], 0);
}

/* 2e-4: edges of the sampling. */
static const double sampled[EXPONENTS] = {2e-4, 2e-4, 2e-4};

/* Currents are means over what is left: their sums are what they were. */
static void sums_hold(const hl_stress *s, double average, double frequency)
{
    double mean = 0, square = 0, rate = 0;
    for (size_t k = 0; k < s->n; k++) {
        mean += s->weight[k] * (s->current_average[k] + hl_stress_at(s->reverse_average, k));
        square += s->weight[k] * (pow(s->current_rms[k], 2) + pow(hl_stress_at(s->reverse_rms, k), 2));
        rate += s->weight[k] * s->frequency[k];
    }
    ck_near(mean, average, 1e-9, 0);
    ck_near(sqrt(square), s->total_rms, 1e-9, 0);
    ck_near(rate, frequency, 1e-9, 0);
}

/* --------------------------------------------------------------- flyback -- */

static flyback_design lossless(double input, double load, double frequency)
{
    flyback_design d = flyback_adapter(input, load, frequency);
    d.leakage = d.winding = d.channel = d.secondary = 0;
    return d;
}

/* Continuous, discontinuous, and at light load in bursts. */
START_TEST(a_flyback_rectifier_rests_at_the_output)
{
    const double load[] = {5.0, 1.0, 0.1}, burst[] = {0, 0, 0.6};
    flyback_set_up();
    flyback_design d = lossless(200, load[_i], 70e3);
    flyback_lay_out(flyback_bench, &d);
    if (burst[_i] > 0) stage_bench_set(flyback_bench, "burst_peak_current", burst[_i]);
    flyback_solved();
    const hl_stress *re = stage_bench_stress(flyback_bench, "rectifier");
    compare(re, stage_bench_stress(flyback_bench, "transformer"), d.output, 1 / d.ratio, sampled);
    sums_hold(re, d.load,
              flyback_asked("switching_frequency") * (burst[_i] > 0 ? flyback_asked("burst_duty") : 1));
    ck_assert_uint_eq(re->n, _i == 0 ? 1 : _i == 1 ? 2 : 3);
    ck_near(re->voltage_off[0], 200 / d.ratio + d.output, 1e-12, 0); /* at commutation */
    flyback_tear_down();
}
END_TEST

/* A ring without damping: its mean and deviation are exact for p = 0 and 1; 0.5 % of the rest at p = 1/2. In
 * the first valley, in the third, and at 60 V, where the body path ends the ring before its valley: there two
 * places in a part of a half ring are 1 % of the whole off. */
START_TEST(a_ringing_flyback_rectifier_blocks_the_ring)
{
    const double input[] = {325, 325, 60}, valley[] = {1, 3, 1};
    const double whole[EXPONENTS] = {2e-4, 3e-3, 5e-4}, cut[EXPONENTS] = {1e-2, 1e-2, 1e-2};
    flyback_set_up();
    flyback_design d = lossless(input[_i], 1.0, 0);
    d.valley = valley[_i];
    d.capacitance = 300e-12;
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    const hl_stress *re = stage_bench_stress(flyback_bench, "rectifier");
    compare(re, stage_bench_stress(flyback_bench, "transformer"), d.output, 1 / d.ratio,
            _i < 2 ? whole : cut);
    flyback_tear_down();
}
END_TEST

/* The clamp's diode: above the input while the switch is on, and what the clamp stands above the winding. */
START_TEST(a_clamp_diode_rests_at_the_clamp)
{
    flyback_set_up();
    flyback_design d = lossless(200, 1.0, 70e3);
    flyback_lay_out(flyback_bench, &d);
    stage_bench_fill(flyback_bench, "clamp_diode", HL_FAMILY_DIODE, 1);
    flyback_solved();
    compare(stage_bench_stress(flyback_bench, "clamp_diode"),
            stage_bench_stress(flyback_bench, "transformer"), d.clamp, 1, sampled);
    flyback_tear_down();
}
END_TEST

/* ------------------------------------------------------------- dc stages -- */

/* A buck stage with a diode in discontinuous mode: v_L = node - Vo. The boost stage: v_L = Vin - node. */
START_TEST(dc_rectifiers_rest_where_the_node_does)
{
    bool buck = _i == 0;
    double in = buck ? 24 : 5, out = buck ? 5 : 12;
    stage_bench *bench = stage_bench_create(buck ? "synchronous_buck" : "boost", NULL);
    stage_bench_set(bench, "switching_frequency", 300e3);
    stage_bench_choose(bench, "light_load", "diode_emulation");
    stage_bench_fill(bench, buck ? "high_switch" : "switch", HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, buck ? "low_switch" : "rectifier", HL_FAMILY_DIODE, 1);
    stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1)->inductance = 4e-6;
    bench->in.input_voltage = in;
    stage_bench_load(bench, out, 0.05);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    const hl_stress *re = stage_bench_stress(bench, buck ? "low_switch" : "rectifier");
    ck_assert_uint_eq(re->n, 2);
    compare(re, stage_bench_stress(bench, "inductor"), buck ? out : out - in, 1, sampled);
    /* charged twice a cycle: by the ring that brings it to rest, and by the switch */
    sums_hold(re, re->total_average, 2 * stage_bench_quantity(bench, "switching_frequency"));
    stage_bench_destroy(bench);
}
END_TEST

/* Four switches, buck and boost mode at light load: the partner of the leg that switches as above; what never
 * conducts in the other leg blocks all the time. */
START_TEST(both_legs_block)
{
    bool buck = _i == 0;
    double in = 12, out = buck ? 5 : 24;
    stage_bench *bench = stage_bench_create("four_switch_buck_boost", NULL);
    stage_bench_set(bench, "switching_frequency", 400e3);
    stage_bench_choose(bench, "light_load", "diode_emulation");
    stage_bench_fill(bench, "input_high_switch", HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, "input_low_switch", HL_FAMILY_DIODE, 1);
    stage_bench_fill(bench, "output_low_switch", HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, "output_high_switch", HL_FAMILY_DIODE, 1);
    stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1)->inductance = 4.7e-6;
    bench->in.input_voltage = in;
    stage_bench_load(bench, out, 0.05);
    stage_bench_expect_solved(bench);
    const hl_stress *re = stage_bench_stress(bench, buck ? "input_low_switch" : "output_high_switch");
    const hl_stress *still = stage_bench_stress(bench, buck ? "output_low_switch" : "input_low_switch");
    compare(re, stage_bench_stress(bench, "inductor"), buck ? out : out - in, 1, sampled);
    ck_near(told(still, 2), buck ? out * out : in * in, 1e-12, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* Mean of (a (1 - cos x))^q, at most Vo, over half a turn: a half ring from Vo about v. */
static double half_ring(double above, double most, double q)
{
    double mean = 0;
    for (int i = 0; i < PLACES; i++)
        mean += pow(fmin(above * (1 - cos(3.14159265358979 * (i + 0.5) / PLACES)), most), q) / PLACES;
    return mean;
}

/* Discontinuous near the line's zero: Vo - v at rest. In boundary mode the drain swings by a half ring from
 * Vo about v, as far as it may fall. */
START_TEST(a_boost_pfc_diode_rests_above_the_line)
{
    bool boundary = _i == 1;
    stage_bench *bench = stage_bench_create("boost_pfc", NULL);
    boost_pfc_lay_out_ideal(bench, 3e-4);
    bench->part[0].output_charge = 80e-9;
    stage_bench_choose(bench, "mode", boundary ? "boundary" : "continuous");
    if (!boundary) stage_bench_set(bench, "switching_frequency", 65e3);
    boost_pfc_mains(bench, 230, 50);
    stage_bench_load(bench, 400, 0.2);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    const hl_stress *re = stage_bench_stress(bench, "rectifier"), *sw = stage_bench_stress(bench, "switch");
    const hl_stress *choke = stage_bench_stress(bench, "boost_inductor");
    double expected[EXPONENTS] = {0};
    size_t rests = 0;
    for (size_t k = 0; k < sw->n; k++) {
        const hl_wave *wave = &choke->flux_voltage[k];
        double v, low, off = 0, on = sw->duty[k];
        hl_wave_peaks(wave, &v, &low); /* v_L = v while the switch is on, v - Vo while the diode conducts */
        off = re->duty[k] / re->frequency[k] * sw->frequency[k];
        double rest = 1 - on - off, above = 400 - v;
        rests += rest > 1e-6;
        for (int e = 0; e < EXPONENTS; e++)
            expected[e] += sw->weight[k] *
                           (pow(400, exponent[e]) * on +
                            rest * (boundary ? half_ring(above, 400, exponent[e]) : pow(above, exponent[e])));
    }
    ck_assert_uint_gt(rests, sw->n / 3);
    /* where the line is low the node reaches nothing within the half ring: two places there are 1 % off */
    for (int e = 0; e < EXPONENTS; e++)
        ck_near(told(re, exponent[e]), expected[e], boundary ? 1e-2 : 1e-9, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* ------------------------------------------------------------------- LLC -- */

/* One half of a centre tap blocks Vo - v / n; each diode of a bridge half of that. Below resonance, and in
 * bursts, whose pause leaves the winding without voltage. 1 %: the winding's voltage sags while it is open.
 */
START_TEST(llc_rectifiers_rest_at_winding_and_output)
{
    static const double sags[EXPONENTS] = {1e-3, 3e-3, 1e-2};
    bool bridge = _i & 1, burst = _i & 2;
    llc_design d = llc_wide;
    d.full_bridge = bridge;
    d.dead_time = 0;
    d.instant = true;
    stage_bench *bench = llc_bench();
    llc_lay_out(bench, &d);
    double ideal = d.input / (2 * d.ratio), output = 1.08 * ideal;
    if (burst) {
        stage_bench_choose(bench, "light_load", "burst");
        stage_bench_set(bench, "burst_current", 4);
    }
    stage_bench_load(bench, output, burst ? 1 : 6);
    stage_bench_expect_solved(bench);
    const hl_stress *re = stage_bench_stress(bench, "rectifier");
    double each = bridge ? 0.5 : 1;
    ck_assert_double_lt(stage_bench_quantity(bench, "rectifier_conduction_fraction"), 0.95);
    const hl_stress *core = stage_bench_stress(bench, "transformer");
    for (int e = 0; e < EXPONENTS; e++) {
        double q = exponent[e], other = 0, expected = 0;
        if (!bridge) {
            expected = in_time(core, core->flux_voltage, output, 1 / d.ratio, q);
            ck_near(told(re, q), expected, sags[e], 0);
            continue;
        }
        /* conducting, one pair blocks the whole output; open, each half of output less or more winding */
        for (size_t k = 0; k < core->n; k++) {
            const hl_wave *v = &core->flux_voltage[k], *i = &core->winding_current[1][k];
            double period = hl_wave_period(v), top = 0;
            hl_wave_peaks(i, &top, &other);
            if (!v->n) {
                expected += core->weight[k] * pow(each * output, q);
                continue;
            }
            for (int n = 0; n < PLACES; n++) {
                double t = period * (n + 0.5) / PLACES, w = hl_wave_at(v, t) / d.ratio;
                bool open = !(fabs(hl_wave_at(i, t)) > 1e-9 * top);
                double blocks = open ? each * fmax(output + w, 0) : w > 0 ? output : 0;
                expected += core->weight[k] * pow(blocks, q) / PLACES;
            }
        }
        ck_near(told(re, q), expected, sags[e], 0);
    }
    const hl_stress *sw = stage_bench_stress(bench, "switch");
    if (burst) ck_near(sw->voltage_off[1], 0.5 * d.input, 1e-12, 0);
    stage_bench_destroy(bench);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, a_flyback_rectifier_rests_at_the_output, 0, 3);
    tcase_add_loop_test(tests, a_ringing_flyback_rectifier_blocks_the_ring, 0, 3);
    tcase_add_test(tests, a_clamp_diode_rests_at_the_clamp);
    tcase_add_loop_test(tests, dc_rectifiers_rest_where_the_node_does, 0, 2);
    tcase_add_loop_test(tests, both_legs_block, 0, 2);
    tcase_add_loop_test(tests, a_boost_pfc_diode_rests_above_the_line, 0, 2);
    tcase_add_loop_test(tests, llc_rectifiers_rest_at_winding_and_output, 0, 4);
}

int main(void)
{
    return story_main("blocked", fill);
}
