/* check_boost_course.c - both boost power-factor stages against their course in time over a whole half line,
 * their bursts, their shared paths and what their rectifiers' charge costs. */
#include <math.h>
#include <string.h>

#include "boost_course.h"
#include "stage_bench.h"
#include "story.h"

static const double pi = 3.14159265358979324;

static unsigned seed;

static double any(double low, double high)
{
    seed = seed * 1664525u + 1013904223u;
    return low + (high - low) * (double)(seed >> 8) / 16777216.0;
}

/* The design's bar for a named electrical quantity. */
static const double bar = 5e-3;

static void agree(unsigned at, const stage_bench *b, const char *what, double expected, double relative)
{
    double value = stage_bench_quantity(b, what), off = fabs(value / expected - 1.0);
    if (!(off <= relative))
        ck_abort_msg("seed %u: %s = %.8g, in time %.8g (%.3g %%)", at, what, value, expected, 100 * off);
}

typedef struct path { /* of one phase, and what all share */
    double inductance, winding, channel, drop, slope, sense, leg_drop, leg;
} path;

static path any_path(void)
{
    return (path){any(2e-4, 7e-4), any(0.02, 0.3), any(0.02, 0.3), any(0.3, 1.5),
                  any(0.01, 0.1),  any(0, 0.1),    any(0.5, 1.2),  any(0, 0.05)};
}

static void set_mains(stage_bench *b, double voltage, double frequency)
{
    b->in.input_voltage = voltage;
    b->in.input_frequency = frequency;
}

static void put_bridged(stage_bench *b, const path *c)
{
    stage_bench_fill(b, "switch", HL_FAMILY_SWITCH, 1)->resistance = c->channel;
    hl_terminal *diode = stage_bench_fill(b, "rectifier", HL_FAMILY_DIODE, 1);
    diode->voltage = c->drop;
    diode->resistance = c->slope;
    hl_terminal *coil = stage_bench_fill(b, "boost_inductor", HL_FAMILY_MAGNETIC, 1);
    coil->inductance = c->inductance;
    coil->winding_resistance[0] = c->winding;
    stage_bench_fill(b, "sense_resistor", HL_FAMILY_RESISTOR, 1)->resistance = c->sense;
}

static void put_totem_pole(stage_bench *b, const path *c, hl_family slow)
{
    stage_bench_fill(b, "fast_switch", HL_FAMILY_SWITCH, 1)->resistance = c->channel;
    hl_terminal *leg = stage_bench_fill(b, "slow_rectifier", slow, 1);
    leg->voltage = slow == HL_FAMILY_DIODE ? c->leg_drop : 0.0;
    leg->resistance = c->leg;
    hl_terminal *coil = stage_bench_fill(b, "boost_inductor", HL_FAMILY_MAGNETIC, 1);
    coil->inductance = c->inductance;
    coil->winding_resistance[0] = c->winding;
    stage_bench_fill(b, "sense_resistor", HL_FAMILY_RESISTOR, 1)->resistance = c->sense;
}

static stage_bench *bridged(const path *c)
{
    stage_bench *b = stage_bench_create("boost_pfc", "boost_pfc");
    put_bridged(b, c);
    return b;
}

static stage_bench *totem_pole(const path *c, hl_family slow)
{
    stage_bench *b = stage_bench_create("totem_pole_pfc", "totem_pole_pfc");
    put_totem_pole(b, c, slow);
    return b;
}

static void compare(unsigned at, stage_bench *b, const boost_course_totals *s)
{
    double t = s->time, all = s->on_square + s->off_square;
    agree(at, b, "switch_current_average", s->on_charge / t, bar);
    agree(at, b, "switch_current_rms", sqrt(s->on_square / t), bar);
    agree(at, b, "rectifier_current_average", s->off_charge / t, bar);
    agree(at, b, "rectifier_current_rms", sqrt(s->off_square / t), bar);
    agree(at, b, "inductor_current_rms", sqrt(all / t), bar);
    agree(at, b, "inductor_current_line_rms", sqrt(s->mean_square / t), bar);
    agree(at, b, "inductor_current_ripple_rms", sqrt((all - s->mean_square) / t), bar);
    agree(at, b, "inductor_current_peak", s->peak, bar);
    agree(at, b, "switching_frequency", s->cycles / t, bar);
    ck_near(b->out.input.power, s->energy / t, bar, 0);
}

/* ------------------------------------------------------------ time domain -- */

/* Average-current mode over the whole half line with its resting part, all resistances and drops. */
START_TEST(continuous_mode_agrees_over_a_whole_half_line)
{
    seed = 511u;
    for (int run = 0; run < 8; run++) {
        unsigned at = seed;
        path c = any_path();
        double mains = any(90, 250), frequency = any(47, 63), output = any(380, 410),
               period = 1 / any(6e4, 1.4e5);
        stage_bench *b = bridged(&c);
        stage_bench_choose(b, "mode", "continuous");
        stage_bench_set(b, "switching_frequency", 1 / period);
        set_mains(b, mains, frequency);
        stage_bench_load(b, output, any(40, 350) / output);
        stage_bench_expect_solved(b);
        stage_bench_check_contract(b, 1e-9);
        boost_course course = {c.inductance,
                               c.winding + c.channel + c.sense,
                               c.winding + c.slope + c.sense,
                               c.drop,
                               0,
                               sqrt(2.0) * mains,
                               2 * pi * frequency,
                               output};
        boost_course_totals s;
        boost_course_average(&course, sqrt(2.0) * stage_bench_quantity(b, "input_current_rms"), period, &s);
        compare(at, b, &s);
        stage_bench_destroy(b);
    }
}
END_TEST

/* The totem pole in both modes: line, inductor, slow leg, fast leg, bus. The on-time and the amplitude are
 * the stage's, all else is integrated. */
START_TEST(totem_pole_agrees_over_a_whole_half_line)
{
    seed = 1203u;
    for (int run = 0; run < 10; run++) {
        unsigned at = seed;
        path c = any_path();
        hl_family slow = run % 4 < 2 ? HL_FAMILY_DIODE : HL_FAMILY_SWITCH;
        double mains = any(90, 250), frequency = any(47, 63), output = any(380, 410),
               period = 1 / any(6e4, 1.4e5);
        stage_bench *b = totem_pole(&c, slow);
        stage_bench_choose(b, "mode", run % 2 ? "boundary" : "continuous");
        stage_bench_set(b, "switching_frequency", 1 / period);
        stage_bench_set(b, "dead_time", 0);
        b->part[0].output_charge = run % 2 ? any(0, 3e-8) : 0;
        set_mains(b, mains, frequency);
        stage_bench_load(b, output, any(60, 300) / output);
        stage_bench_expect_solved(b);
        stage_bench_check_contract(b, 1e-9);
        double all = c.winding + c.channel + c.sense + c.leg, drop = slow == HL_FAMILY_DIODE ? c.leg_drop : 0;
        double delay = pi * sqrt(c.inductance * 2 * b->part[0].output_charge / output);
        boost_course course = {c.inductance,       all,   all, 0, drop, sqrt(2.0) * mains,
                               2 * pi * frequency, output};
        boost_course_totals s;
        if (run % 2) {
            boost_course_boundary(&course, stage_bench_quantity(b, "on_time"), delay, &s);
        } else {
            /* the amplitude from the mean current, which follows v less the drop from its zero on */
            double start = asin(drop / course.crest),
                   mean = stage_bench_quantity(b, "switch_current_average") +
                          stage_bench_quantity(b, "rectifier_current_average");
            double shape =
                (course.crest * cos(start) - drop * (pi / 2 - start)) / (course.crest - drop) * 2 / pi;
            boost_course_average(&course, mean / shape, period, &s);
        }
        compare(at, b, &s);
        double through = sqrt(0.5 * (s.on_square + s.off_square) / s.time);
        agree(at, b, "slow_leg_current_average", 0.5 * (s.on_charge + s.off_charge) / s.time, bar);
        agree(at, b, "slow_leg_current_rms_with_ripple", through, bar);
        agree(at, b, "fast_switch_current_rms", through, bar);
        stage_bench_destroy(b);
    }
}
END_TEST

/* ------------------------------------------------------------- totem pole -- */

static double mean_square(const hl_stress *s, const double *array)
{
    double sum = 0;
    for (size_t k = 0; array && k < s->n; k++) sum += s->weight[k] * array[k] * array[k];
    return sum;
}

/* Without a slow leg's drop the half wave is a boost stage with a synchronous rectifier; its two duties are
 * shared between two switches, and what it loses is what its parts lose. */
START_TEST(half_waves_share_the_losses)
{
    path c = {4e-4, 0.1, 0.08, 0, 0, 0.02, 0, 0.03};
    stage_bench *b = totem_pole(&c, HL_FAMILY_SWITCH), *s = bridged(&c);
    stage_bench_fill(s, "rectifier", HL_FAMILY_SWITCH, 1)->resistance = c.channel;
    s->part[3].resistance = c.sense + c.leg;
    stage_bench *both[2] = {b, s};
    for (int k = 0; k < 2; k++) {
        stage_bench_choose(both[k], "mode", "continuous");
        stage_bench_set(both[k], "switching_frequency", 65e3);
        stage_bench_set(both[k], "dead_time", 80e-9);
        set_mains(both[k], 115, 60);
        stage_bench_load(both[k], 390, 0.7);
        stage_bench_expect_solved(both[k]);
        stage_bench_check_contract(both[k], 1e-9);
    }
    const char *same[] = {"switch_current_rms",      "rectifier_current_rms",        "inductor_current_rms",
                          "input_current_rms",       "output_capacitor_current_rms", "switching_frequency",
                          "turn_off_current_average"};
    for (size_t k = 0; k < sizeof same / sizeof *same; k++)
        ck_near(stage_bench_quantity(b, same[k]), stage_bench_quantity(s, same[k]), 1e-9, 0);
    const hl_stress *fast = stage_bench_stress(b, "fast_switch"),
                    *slow = stage_bench_stress(b, "slow_rectifier");
    const hl_stress *sw = stage_bench_stress(s, "switch"), *re = stage_bench_stress(s, "rectifier");
    double channel = mean_square(fast, fast->current_rms), body = mean_square(fast, fast->reverse_rms);
    ck_near(2 * channel, mean_square(sw, sw->current_rms) + mean_square(re, re->current_rms), 1e-9, 0);
    ck_near(2 * body, mean_square(re, re->reverse_rms), 1e-9, 0);
    double coil = mean_square(slow, slow->current_rms);
    ck_near(2 * coil, pow(stage_bench_quantity(b, "inductor_current_rms"), 2), 1e-9, 0);
    double lost = 2 * c.channel * (channel + body) + 2 * c.leg * coil + (c.winding + c.sense) * 2 * coil;
    ck_near(b->out.circuit_loss, lost, 1e-9, 0);
    ck_assert_uint_eq(b->model->stage->positions(b->values, 0), 2);
    ck_assert_uint_eq(b->model->stage->positions(b->values, 1), 2);
    /* an ac input: a whole line period without a mean */
    ck_near(hl_wave_period(&b->out.input.line), 1.0 / 60, 1e-12, 0);
    ck_near(hl_wave_average(&b->out.input.line), 0, 0, 1e-12);
    ck_near(hl_wave_rms(&b->out.input.line), b->out.input.current, 1e-6, 0);
    stage_bench_destroy(b);
    stage_bench_destroy(s);
}
END_TEST

/* A slow diode loses V0 <i> + r <i^2>, exactly what the book has. */
START_TEST(slow_diodes_close_the_book)
{
    path c = {3e-4, 0, 0, 0, 0, 0, 0.9, 0.04};
    for (int mode = 0; mode < 2; mode++) {
        stage_bench *b = totem_pole(&c, HL_FAMILY_DIODE);
        stage_bench_set(b, "mode", mode);
        stage_bench_set(b, "switching_frequency", 1e5);
        set_mains(b, 100, 50);
        stage_bench_load(b, 390, 0.5);
        stage_bench_expect_solved(b);
        stage_bench_check_contract(b, 1e-9);
        const hl_stress *slow = stage_bench_stress(b, "slow_rectifier");
        double lost = 2 * (c.leg_drop * slow->current_average[0] + c.leg * pow(slow->current_rms[0], 2));
        ck_near(b->out.circuit_loss, lost, 1e-9, 0);
        stage_bench_destroy(b);
    }
}
END_TEST

/* ----------------------------------------------------------------- bursts -- */

/* Below burst_power everything is that of the threshold, for a share of the time. */
START_TEST(bursts_scale_with_their_share_of_time)
{
    path c = {3e-4, 0.1, 0.15, 0.9, 0.04, 0.05, 0, 0};
    for (int mode = 0; mode < 2; mode++) {
        stage_bench *b = bridged(&c);
        stage_bench_set(b, "mode", mode);
        stage_bench_set(b, "switching_frequency", 1e5);
        stage_bench_set(b, "burst_power", 30);
        set_mains(b, 230, 50);
        stage_bench_load(b, 395, 30.0 / 395);
        stage_bench_expect_solved(b);
        double average = stage_bench_quantity(b, "switch_current_average"), loss = b->out.circuit_loss;
        double rms = stage_bench_quantity(b, "inductor_current_rms"),
               f = stage_bench_quantity(b, "switching_frequency");
        double line = b->out.input.current, cap = stage_bench_quantity(b, "output_capacitor_current_rms");
        double peak = stage_bench_quantity(b, "inductor_current_peak"), output = b->out.output.current;
        ck_near(stage_bench_quantity(b, "burst_duty"), 1, 1e-12, 0);
        stage_bench_load(b, 395, 6.0 / 395);
        stage_bench_expect_solved(b);
        stage_bench_check_contract(b, 1e-9);
        ck_near(stage_bench_quantity(b, "burst_duty"), 0.2, 1e-12, 0);
        ck_near(stage_bench_quantity(b, "switch_current_average"), 0.2 * average, 1e-9, 0);
        ck_near(stage_bench_quantity(b, "inductor_current_rms"), sqrt(0.2) * rms, 1e-9, 0);
        ck_near(stage_bench_quantity(b, "switching_frequency"), f, 1e-9, 0);
        ck_near(stage_bench_quantity(b, "inductor_current_peak"), peak, 1e-9, 0);
        ck_near(b->out.circuit_loss, 0.2 * loss, 1e-9, 0);
        ck_near(b->out.input.current, 0.2 * line, 1e-9, 0);
        double packets = cap * cap + output * output; /* mean square of what the rectifier gives */
        ck_near(stage_bench_quantity(b, "output_capacitor_current_rms"),
                sqrt(0.2 * packets - 0.04 * output * output), 1e-9, 0);
        const hl_stress *sw = stage_bench_stress(b, "switch");
        ck_near(sw->weight[sw->n - 1], 0.8, 1e-9, 0);
        ck_assert_double_eq(sw->frequency[sw->n - 1], 0);
        ck_assert_uint_eq(b->out.output.wave[sw->n - 1].n, 0);
        ck_near(sw->total_rms * sw->total_rms, mean_square(sw, sw->current_rms), 1e-9, 0);
        stage_bench_destroy(b);
    }
}
END_TEST

/* Nothing jumps where bursts begin, and they run down to no load. */
START_TEST(bursts_begin_without_a_jump)
{
    path c = {3e-4, 0.1, 0.15, 0.9, 0.04, 0.05, 0.8, 0.02};
    const char *smooth[] = {
        "switch_current_rms", "inductor_current_rms",         "input_current_rms",
        "burst_duty",         "output_capacitor_current_rms", "turn_off_overlap_power_per_time"};
    for (int stage = 0; stage < 2; stage++) {
        stage_bench *b = stage ? totem_pole(&c, HL_FAMILY_DIODE) : bridged(&c);
        double last[6] = {0};
        stage_bench_choose(b, "mode", "boundary");
        stage_bench_set(b, "maximum_frequency", 2.5e5);
        stage_bench_set(b, "burst_power", 20);
        set_mains(b, 230, 50);
        for (int k = 0; k < 400; k++) {
            double power = 40 * pow(0.98, k);
            stage_bench_load(b, 395, power / 395);
            stage_bench_expect_solved(b);
            stage_bench_check_contract(b, 1e-9);
            for (size_t i = 0; i < 6; i++) {
                double value = stage_bench_quantity(b, smooth[i]);
                if (k && !(fabs(value / last[i] - 1) < 0.05))
                    ck_abort_msg("%s jumps at %.4g W", smooth[i], power);
                last[i] = value;
            }
        }
        stage_bench_destroy(b);
    }
}
END_TEST

/* -------------------------------------------------------- charge of diodes -- */

/* Boundary mode, v above half the bus: the drain is turned on at 2 v - Vo, and by as much the diode is
 * charged; below, nothing. Resting cycles charge it by v. The switch is told nothing of it. With current left
 * the diode's model takes its whole voltage. */
START_TEST(diodes_are_charged_by_what_the_drain_still_swings)
{
    path c = {3e-4, 0, 0, 0, 0, 0, 0, 0};
    stage_bench *b = bridged(&c);
    stage_bench_choose(b, "mode", "boundary");
    set_mains(b, 230, 50);
    stage_bench_load(b, 400, 0.4);
    stage_bench_expect_solved(b);
    const hl_stress *sw = stage_bench_stress(b, "switch"), *re = stage_bench_stress(b, "rectifier");
    size_t charged = 0;
    for (size_t k = 0; k < sw->n; k++) {
        double v =
            400 * (1 - sw->frequency[k] * stage_bench_quantity(b, "on_time")); /* ideal volt-second balance */
        ck_near(re->charge_on[k], fmax(0, 2 * v - 400), 1e-6, 1e-6);
        ck_near(re->charge_on[k], sw->voltage_on[k], 1e-12, 0);
        ck_assert_double_eq(sw->charge_on[k], 0);
        ck_assert_double_eq(re->current_off[k], 0);
        charged += re->charge_on[k] > 1;
    }
    ck_assert_uint_gt(charged, sw->n / 3);
    ck_assert_uint_lt(charged, sw->n);
    stage_bench_choose(b, "mode", "continuous");
    stage_bench_set(b, "switching_frequency", 1e5);
    stage_bench_expect_solved(b);
    for (size_t k = 0; k < sw->n; k++) ck_assert((re->current_off[k] > 0) == (re->charge_on[k] == 0));
    stage_bench_destroy(b);
}
END_TEST

/* The diode's capacitance rings with the switch's: pi sqrt(L (Qs + Qd) / V). */
START_TEST(a_diode_takes_part_in_the_ring)
{
    path c = {3e-4, 0, 0, 0, 0, 0, 0, 0};
    stage_bench *b = bridged(&c);
    stage_bench_choose(b, "mode", "boundary");
    set_mains(b, 230, 50);
    stage_bench_load(b, 400, 0.4);
    b->part[0].output_charge = 50e-9;
    b->part[1].output_charge = 20e-9;
    stage_bench_expect_solved(b);
    ck_near(1 / stage_bench_quantity(b, "switching_frequency_maximum"),
            stage_bench_quantity(b, "on_time") + pi * sqrt(3e-4 * 70e-9 / 400), 1e-6, 0);
    stage_bench_destroy(b);
}
END_TEST

/* ------------------------------------------------------------ interleaving -- */

/* Two phases: of one phase's ripple dI the sum keeps (1 - 2 D) / (1 - D), D <= 1/2, or (2 D - 1) / D:
 * textbook (lossless, straight slopes).  The bus sees pulses half a period apart. */
START_TEST(two_phases_cancel_ripple_at_both_sides)
{
    path c = {3e-4, 0, 0, 0, 0, 0, 0, 0};
    stage_bench *b = bridged(&c);
    stage_bench_choose(b, "mode", "continuous");
    stage_bench_set(b, "switching_frequency", 1e5);
    stage_bench_set(b, "phases", 2);
    set_mains(b, 180, 50);
    stage_bench_load(b, 390, 2);
    stage_bench_expect_solved(b);
    const hl_stress *sw = stage_bench_stress(b, "switch");
    size_t full = 0;
    for (size_t k = 0; k < sw->n; k++) {
        if (!(sw->current_on[k] > 0)) continue;
        full++;
        double d = sw->duty[k], ripple = sw->current_peak[k] - sw->current_on[k], high, low;
        hl_wave_peaks(&b->out.input.wave[k], &high, &low);
        ck_near(high - low, ripple * (d > 0.5 ? (2 * d - 1) / d : (1 - 2 * d) / (1 - d)), 1e-6, 1e-9);
        const hl_wave *bus = &b->out.output.wave[k];
        double mean = hl_wave_average(bus), cosine[2], sine[2];
        double valley = sw->current_on[k], middle = valley + 0.5 * ripple;
        ck_near(mean, 2 * middle * (1 - d), 1e-9, 0);
        hl_wave_fourier(bus, 2, cosine, sine);
        ck_near(hypot(cosine[0], sine[0]), 0, 0, 1e-9 * middle); /* the fundamental of equal phases is gone */
        ck_assert_double_gt(hypot(cosine[1], sine[1]), 1e-4 * middle);
    }
    ck_assert_uint_ge(full, 4);
    stage_bench_destroy(b);
}
END_TEST

/* Both phases through one resistor, stepped in time until periodic; mean square of the ripple of i1 + i2.
 * (The mean itself hangs on the last digits of the duty ratio, which a controller minds.) */
static double two_phases_in_time(const path *c, double v, double output, double duty, double period)
{
    enum { CYCLES = 1500, STEPS = 400 };
    double i[2] = {0, 0}, h = period / STEPS, square = 0, mean = 0;
    for (int k = 0; k < CYCLES * STEPS; k++) {
        double sum = i[0] + i[1], middle[2];
        for (int turn = 0; turn < 2; turn++) {
            double all = turn ? middle[0] + middle[1] : sum, now[2] = {i[0], i[1]};
            if (turn) now[0] = middle[0], now[1] = middle[1];
            for (int p = 0; p < 2; p++) {
                double at = fmod((double)(k % STEPS) / STEPS + 0.5 * p, 1.0) * STEPS;
                double on = fmin(fmax(duty * STEPS - at, 0), 1); /* its share of the step */
                double u = v - (1 - on) * (output + c->drop) - c->sense * all;
                double slope =
                    (u - (c->winding + on * c->channel + (1 - on) * c->slope) * now[p]) / c->inductance;
                if (turn)
                    i[p] += h * slope;
                else
                    middle[p] = i[p] + 0.5 * h * slope;
            }
        }
        double after = i[0] + i[1];
        if (k < (CYCLES - 1) * STEPS) continue;
        square += (sum * sum + sum * after + after * after) / 3 / STEPS;
        mean += 0.5 * (sum + after) / STEPS;
    }
    return square - mean * mean;
}

/* The sense resistor loses R <(i1 + i2)^2>, and the book has the same; the coupled circuit in time agrees. */
START_TEST(shared_resistor_sees_what_is_left_of_the_ripple)
{
    path c = {2e-4, 0, 0, 0, 0, 0.25, 0, 0};
    double lost[2];
    for (int mode = 0; mode < 2; mode++) {
        stage_bench *b = bridged(&c);
        stage_bench_set(b, "mode", mode);
        stage_bench_set(b, "switching_frequency", 1e5);
        stage_bench_set(b, "phases", 2);
        set_mains(b, 180, 50);
        stage_bench_load(b, 390, 2);
        stage_bench_expect_solved(b);
        stage_bench_check_contract(b, 1e-9);
        const hl_stress *sense = stage_bench_stress(b, "sense_resistor");
        ck_near(b->out.circuit_loss, c.sense * sense->total_rms * sense->total_rms, 1e-8, 0);
        double line = stage_bench_quantity(b, "input_current_rms"),
               ripple = stage_bench_quantity(b, "input_ripple_current_rms");
        ck_near(sense->total_rms, hypot(line, ripple), 1e-9, 0);
        double one = stage_bench_quantity(b, "inductor_current_ripple_rms");
        ck_assert_double_lt(ripple, one); /* of 2 one in step, sqrt 2 one at random, less by cancellation */
        lost[mode] = b->out.circuit_loss;
        stage_bench_destroy(b);
    }
    ck_assert_double_gt(lost[1], lost[0]); /* boundary mode leaves more */
    path real = {2e-4, 0.1, 0.15, 0.9, 0.04, 0.1, 0, 0};
    stage_bench *b = bridged(&real);
    stage_bench_choose(b, "mode", "continuous");
    stage_bench_set(b, "switching_frequency", 1e5);
    stage_bench_set(b, "phases", 2);
    set_mains(b, 180, 50);
    stage_bench_load(b, 390, 2);
    stage_bench_expect_solved(b);
    const hl_stress *sw = stage_bench_stress(b, "switch");
    double crest = sqrt(2.0) * 180, amplitude = sqrt(2.0) * stage_bench_quantity(b, "input_current_rms");
    size_t full = 0;
    for (size_t k = 0; k < sw->n; k++) {
        if (!(sw->current_on[k] > 0.5) || full++ % 3) continue;
        double mean = hl_wave_average(&b->out.input.wave[k]), v = crest * mean / amplitude;
        double square = two_phases_in_time(&real, v, 390, sw->duty[k], 1e-5);
        double one =
            sw->current_peak[k] - sw->current_on[k]; /* where all cancels, what is left hangs on duty */
        ck_near(hl_wave_mean_square(&b->out.input.wave[k]) - mean * mean, square, bar, 1e-5 * one * one);
    }
    ck_assert_uint_ge(full, 4);
    stage_bench_destroy(b);
}
END_TEST

/* -------------------------------------------------------------- properties -- */

START_TEST(random_totem_poles_close_the_book)
{
    const char *more = getenv("HEATLEDGER_PROPERTY_RUNS");
    long runs = more ? atol(more) : 4000, solved = 0;
    stage_bench *kind[3] = {stage_bench_create("boost_pfc", NULL), stage_bench_create("totem_pole_pfc", NULL),
                            stage_bench_create("totem_pole_pfc", NULL)};
    seed = 4242u;
    for (long run = 0; run < runs; run++) {
        unsigned at = seed;
        path c = {pow(10, any(-5, -2.3)),
                  any(0, 2),
                  any(0, 3),
                  any(0, 3),
                  any(0, 1),
                  any(0, 1),
                  any(0, 3),
                  any(0, 1)};
        stage_bench *b = kind[run % 3];
        if (run % 3)
            put_totem_pole(b, &c, run % 3 == 1 ? HL_FAMILY_DIODE : HL_FAMILY_SWITCH);
        else
            put_bridged(b, &c);
        stage_bench_unset(b, "maximum_frequency");
        stage_bench_unset(b, "burst_power");
        stage_bench_choose(b, "mode", run % 5 < 3 ? "boundary" : "continuous");
        stage_bench_set(b, "switching_frequency", pow(10, any(4.2, 6.3)));
        if (run % 7) stage_bench_set(b, "maximum_frequency", pow(10, any(4.5, 6.5)));
        if (run % 2) stage_bench_set(b, "burst_power", pow(10, any(-2, 3)));
        stage_bench_set(b, "phases", 1 + (double)(run % 4));
        stage_bench_set(b, "cycles", run % 11 ? 16 : 32);
        b->part[0].output_charge = any(0, 2e-7);
        set_mains(b, any(1, 320), any(40, 440));
        stage_bench_load(b, any(100, 450), pow(10, any(-6, 1)));
        b->in.extra_loss = any(0, 0.03) * b->in.load.power;
        b->in.output_capacitance = any(0, 1e-3);
        if (stage_bench_solve(b) == HL_STAGE_SOLVED) {
            const char *fault = stage_bench_fault(b, 1e-9);
            if (fault) ck_abort_msg("seed %u: %s (imbalance %.3g)", at, fault, stage_bench_imbalance(b));
            solved++;
        } else if (!b->out.reason.text[0])
            ck_abort_msg("seed %u: refused without a sentence", at);
    }
    for (int k = 0; k < 3; k++) stage_bench_destroy(kind[k]);
    ck_assert_int_gt(solved, runs / 4);
    printf("boost stages: %ld of %ld random points solved\n", solved, runs);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, continuous_mode_agrees_over_a_whole_half_line);
    tcase_add_test(tests, totem_pole_agrees_over_a_whole_half_line);
    tcase_add_test(tests, half_waves_share_the_losses);
    tcase_add_test(tests, slow_diodes_close_the_book);
    tcase_add_test(tests, bursts_scale_with_their_share_of_time);
    tcase_add_test(tests, bursts_begin_without_a_jump);
    tcase_add_test(tests, diodes_are_charged_by_what_the_drain_still_swings);
    tcase_add_test(tests, a_diode_takes_part_in_the_ring);
    tcase_add_test(tests, two_phases_cancel_ripple_at_both_sides);
    tcase_add_test(tests, shared_resistor_sees_what_is_left_of_the_ripple);
    tcase_add_test(tests, random_totem_poles_close_the_book);
}

int main(void)
{
    return story_main("boost course", fill);
}
