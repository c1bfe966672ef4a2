/* check_inductive_pulse.c - charging pulses behind an inductance: their integrals against sums, the quick way
 * to a steady one against the sure one, and their limits. */
#include "../../plugins/stages/inductive_pulse.h"

#include <stdio.h>

#include "gauss_panels.h"
#include "lottery.h"
#include "story.h"

static const double pi = 3.14159265358979324;

/* Any rectifier of some watts on its mains, behind 3 uH to 10 mH: pulses from one to several a half line. */
static inductive_pulse any_pulse(lottery *l)
{
    double frequency = lottery_between(l, 45, 65), voltage = lottery_between(l, 90, 264);
    inductive_pulse q = {.inductance = lottery_scale(l, 3e-6, 1e-2)};
    charging_pulse *p = &q.whole;
    *p = (charging_pulse){.crest = sqrt(2.0) * voltage, .drop = 1.6, .omega = 2 * pi * frequency};
    p->half = 0.5 / frequency;
    p->resistance = lottery_scale(l, 0.1, 4);
    double power = lottery_scale(l, 0.3, 70);
    p->capacitance = fmax(power, 3.0) * lottery_between(l, 1e-6, 5e-6) * (voltage < 150 ? 2 : 1);
    if (lottery_below(l, 4) > 0)
        p->power = power;
    else
        p->current = power / p->crest;
    return q;
}

static double lowest(const inductive_pulse *q)
{
    return asin((0.3 * q->whole.crest + q->whole.drop) / q->whole.crest);
}

/* ------------------------------------------------------------- integrals -- */

typedef struct product {
    const ring_modes *m;
    const ring_form *f, *g; /* g NULL: 1 */
    double turn;
    bool sine;
} product;

static double product_at(const void *of, double s)
{
    const product *p = of;
    double wave = p->sine ? sin(p->turn * s) : cos(p->turn * s);
    return ring_at(p->m, p->f, s) * (p->g ? ring_at(p->m, p->g, s) : 1.0) * wave;
}

static double summed(const ring_modes *m, const ring_form *f, const ring_form *g, double length, double turn,
                     bool sine)
{
    return gauss_panels(product_at, &(product){m, f, g, turn, sine}, length, 400);
}

static ring_form any_form(lottery *l)
{
    return (ring_form){lottery_between(l, -1, 1), lottery_between(l, -1, 1), lottery_between(l, -1, 1),
                       lottery_between(l, -1, 1), lottery_between(l, -1, 1)};
}

START_TEST(integrals_are_sums_over_the_pulse)
{
    lottery l = lottery_open("ring moments");
    for (int run = 0; run < 300; run++) {
        double omega = 2 * pi * lottery_between(&l, 45, 65), length = lottery_scale(&l, 0.05, 2.0) / omega;
        double a = lottery_scale(&l, 1e-2, 20) / length, b = lottery_scale(&l, 0.1, 30) / length;
        ring_modes m = {RING_RINGS, a, b, omega};
        if (run % 3 == 1) m = (ring_modes){RING_ALIKE, a, 0.5 * a * lottery_between(&l, 0.01, 1), omega};
        if (run % 3 == 2) m = (ring_modes){RING_FADES, a, a + b, omega};
        ring_form f = any_form(&l), g = any_form(&l);
        ring_instant end = ring_instant_at(&m, length);
        ring_moments of = ring_moments_of(&m, length, &end);
        ck_near(ring_total(&f, &of), summed(&m, &f, NULL, length, 0, false), 0, 1e-12 * length);
        ck_near(ring_product(&f, &g, &of), summed(&m, &f, &g, length, 0, false), 0, 1e-12 * length);
        ring_form rise = ring_rise(&m, &f);
        ck_near(ring_total(&rise, &of), ring_value(&f, &end) - ring_at(&m, &f, 0), 0, 1e-12);
        double x = omega * length;
        for (int n = 1; n < 40; n += 6) {
            double complex turn = cos(n * x) + I * sin(n * x), step = cos(x) + I * sin(x);
            double complex z = ring_fourier(&m, &f, n, length, &end, turn, step);
            ck_near(creal(z), summed(&m, &f, NULL, length, n * omega, false), 0, 1e-12 * length);
            ck_near(cimag(z), summed(&m, &f, NULL, length, n * omega, true), 0, 1e-12 * length);
        }
    }
}
END_TEST

/* ---------------------------------------------------------------- circuit -- */

/* The forms must satisfy both equations of the circuit at any time, and begin without current. */
START_TEST(forms_satisfy_the_circuit)
{
    lottery l = lottery_open("ring forms");
    for (int run = 0; run < 300; run++) {
        inductive_pulse q = any_pulse(&l);
        charging_pulse *p = &q.whole;
        p->middle = 0.9 * p->crest;
        p->conductance = p->power / (p->middle * p->middle);
        ring_charge k = {.start = lottery_between(&l, 0.8, 1.5) / p->omega};
        inductive_forms(&q, &k);
        ring_form climb = ring_rise(&k.modes, &k.voltage);
        double scale = p->crest / hypot(p->resistance, p->omega * q.inductance);
        ck_near(ring_at(&k.modes, &k.line, 0), 0, 0, 1e-13 * scale);
        for (int n = 0; n < 5; n++) {
            double s = n * 3e-4, i = ring_at(&k.modes, &k.line, s), v = ring_at(&k.modes, &k.voltage, s);
            double push = p->crest * sin(p->omega * (k.start + s)) - p->drop - p->resistance * i - v;
            ck_near(q.inductance * ring_at(&k.modes, &k.rise, s), push, 0, 1e-10 * p->crest);
            double load = pulse_load(p) - p->conductance * v;
            ck_near(p->capacitance * ring_at(&k.modes, &climb, s), i - load, 0, 1e-12 * scale);
        }
    }
}
END_TEST

/* A current that dips below zero for a fiftieth of a radian after a whole turn: 1 - cos bs and a little that
 * sinks. With x = bs - 2 pi, x^2 / 2 = 1 - cos(2 pi w / b) in thousandths. */
START_TEST(a_short_dip_is_the_end)
{
    const charging_pulse p = {.half = 0.01};
    ring_charge k = {.modes = {RING_RINGS, 0.0, 1000.0, 100.0}, .line = {1.0, -1.001, 0.0, 0.001, 0.0}};
    k.rise = ring_rise(&k.modes, &k.line);
    ck_assert(inductive_first_end(&p, &k, 9e-3));
    double sunk = 1e-3 * (1.0 - cos(0.2 * pi));
    ck_near(1000.0 * k.length, 2.0 * pi - sqrt(2.0 * sunk), 1e-3, 0);
}
END_TEST

static void expect_same(const inductive_pulse *quick, const inductive_pulse *sure)
{
    ck_assert_uint_eq(quick->n, sure->n);
    ck_near(quick->whole.start, sure->whole.start, 0, 1e-9 * sure->whole.half);
    ck_near(quick->whole.length, sure->whole.length, 0, 1e-9 * sure->whole.half);
    ck_near(quick->whole.end, sure->whole.end, 1e-9, 0);
}

/* From a first guess, and from the pulse of a load a tenth larger. Where two conductions just touch the way
 * back is by the sure one. */
START_TEST(the_quick_way_leads_where_the_sure_one_does)
{
    lottery l = lottery_open("inductive_pulse");
    int tried = 0, several = 0, guessed = 0, followed = 0;
    for (int run = 0; run < 1000; run++) {
        inductive_pulse given = any_pulse(&l), sure = given, quick = given, larger = given;
        larger.whole.power *= 1.1;
        larger.whole.current *= 1.1;
        if (!inductive_search(&sure, lowest(&sure)) || !inductive_search(&larger, lowest(&larger))) continue;
        if (sure.unbroken || sure.crowded || larger.unbroken || larger.crowded) continue;
        tried++;
        several += sure.n > 1;
        if (inductive_guess(&quick, lowest(&quick)) &&
            inductive_follow(&quick, lowest(&quick), quick.n == 1)) {
            guessed++;
            expect_same(&quick, &sure);
        }
        larger.whole.power = given.whole.power;
        larger.whole.current = given.whole.current;
        if (inductive_follow(&larger, lowest(&larger), larger.n == 1)) {
            followed++;
            expect_same(&larger, &sure);
        }
    }
    printf("inductive_pulse: of %d pulses (%d in pieces) %d from a guess, %d from a neighbour\n", tried,
           several, guessed, followed);
    ck_assert_int_ge(tried, 900);
    ck_assert_int_ge(several, 50);
    ck_assert_int_ge(guessed, tried * 97 / 100);
    ck_assert_int_ge(followed, tried * 97 / 100);
}
END_TEST

/* A start a little later, with the load held as it is linearised, through all conductions of the half line.
 */
START_TEST(the_miss_changes_with_the_start_as_chords_say)
{
    lottery l = lottery_open("inductive_pulse slope");
    int compared = 0, several = 0;
    for (int run = 0; run < 400; run++) {
        inductive_pulse q = any_pulse(&l);
        if (!inductive_search(&q, lowest(&q)) || q.unbroken || q.crowded) continue;
        double late, angle = q.whole.omega * q.whole.start, move = 1e-6 * (0.5 * pi - angle);
        inductive_pulse low = q, high = q;
        double slope = inductive_miss_slope(&q, pulse_sag(&q.whole), &late) / q.whole.omega;
        double above = inductive_miss(&high.whole, angle + move),
               below = inductive_miss(&low.whole, angle - move);
        if (low.n != q.n || high.n != q.n) continue;
        /* rounding of the chord: 1e-13 V of each miss */
        double blur = 1e-16 * q.whole.crest * 1e3 / move;
        ck_near(slope, (above - below) / (2.0 * move), 1e-3, blur);
        compared++;
        several += q.n > 1;
    }
    ck_assert_int_ge(compared, 300);
    ck_assert_int_ge(several, 20);
}
END_TEST

static double rms(const inductive_pulse *q)
{
    double sum = 0.0;
    for (size_t n = 0; n < q->n; n++)
        sum += ring_product(&q->charge[n].line, &q->charge[n].line, &q->charge[n].moments);
    return sqrt(sum / q->whole.half);
}

/* As L goes to 0 every figure goes to that of the circuit without it, in proportion. */
START_TEST(without_inductance_it_is_the_resistive_pulse)
{
    lottery l = lottery_open("inductive_pulse limit");
    for (int run = 0; run < 100; run++) {
        inductive_pulse q = any_pulse(&l);
        charging_pulse plain = q.whole;
        plain.resistance = q.whole.resistance = fmax(plain.resistance, 0.3);
        if (!pulse_solve(&plain, lowest(&q), NULL)) continue;
        double was = sqrt(pulse_product(&plain.line, &plain.line, &plain.moments) / plain.half),
               near = INFINITY;
        for (int power = -9; power >= -16; power--) {
            inductive_pulse small = q;
            small.inductance = pow(10, power);
            ck_assert(inductive_solve(&small, lowest(&q), NULL));
            double off = fabs(rms(&small) / was - 1.0);
            ck_assert_double_lt(off, fmax(0.2 * near, 1e-9));
            near = off;
        }
        ck_assert_double_lt(near, 1e-9);
        inductive_pulse last = q;
        last.inductance = 1e-16;
        ck_assert(inductive_solve(&last, lowest(&q), NULL));
        ck_near(last.whole.valley, plain.valley, 1e-10, 0);
        ck_near(inductive_mean_voltage(&last), pulse_mean_voltage(&plain), 1e-10, 0);
    }
}
END_TEST

/* Where ringing turns to fading the two modes coincide: no figure may notice. */
START_TEST(nothing_jumps_where_the_modes_coincide)
{
    inductive_pulse q = {.whole = {.crest = 325, .drop = 1.6, .omega = 100 * pi, .half = 0.01}};
    q.whole.resistance = 2;
    q.whole.capacitance = 80e-6;
    q.whole.power = 40;
    double low = 40e-6, high = 160e-6, last = 0, before = 0; /* R^2 C / 4 = 80 uH */
    for (int pass = 0; pass < 60; pass++) {
        inductive_pulse one = q;
        one.inductance = sqrt(low * high);
        ck_assert(inductive_solve(&one, lowest(&q), NULL));
        if (one.charge[0].modes.kind == RING_RINGS)
            high = one.inductance;
        else
            low = one.inductance;
    }
    ck_near(low, 80e-6, 2e-2, 0);
    for (int step = -40; step <= 40; step++) {
        inductive_pulse one = q;
        one.inductance = low * (1.0 + 1e-7 * step);
        ck_assert(inductive_solve(&one, lowest(&q), NULL));
        double now = rms(&one), rise = now - last;
        if (step > -39) ck_near(rise, before, 0, 1e-9 * now);
        before = rise;
        last = now;
    }
}
END_TEST

/* Stiff source and bus: with R = 0 and a bus of no ripple
 *   i = Vp / (w L) (cos x0 - cos x - (x - x0) sin x0), until it is zero again.
 * source: N. Mohan, T. Undeland, W. Robbins, Power Electronics, 3rd ed. 2003, 5-2-2 */
START_TEST(a_stiff_bus_draws_the_textbook_pulse)
{
    inductive_pulse q = {.inductance = 2e-3,
                         .whole = {.crest = 325,
                                   .omega = 100 * pi,
                                   .half = 0.01,
                                   .resistance = 1e-5,
                                   .capacitance = 3,
                                   .current = 1.3}};
    ck_assert(inductive_search(&q, lowest(&q)));
    ck_assert_uint_eq(q.n, 1);
    double x0 = q.whole.omega * q.whole.start, x1 = x0 + q.whole.omega * q.whole.length;
    ck_near(cos(x0) - cos(x1), (x1 - x0) * sin(x0), 1e-4, 0);
    double sum = 0, most = 0, scale = 325 / (100 * pi * 2e-3);
    for (int k = 0; k < 20000; k++) {
        double x = x0 + (x1 - x0) * (k + 0.5) / 20000;
        double i = scale * (cos(x0) - cos(x) - (x - x0) * sin(x0));
        sum += i * i * (x1 - x0) / 20000 / pi;
        most = fmax(most, i);
    }
    ck_near(rms(&q), sqrt(sum), 2e-4, 0);
    ck_near(inductive_top(q.charge, &q.charge[0].line), most, 2e-4, 0);
    ck_near(ring_total(&q.charge[0].line, &q.charge[0].moments), 1.3 * 0.01, 1e-9,
            0); /* what the load takes */
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, integrals_are_sums_over_the_pulse);
    tcase_add_test(tests, forms_satisfy_the_circuit);
    tcase_add_test(tests, a_short_dip_is_the_end);
    tcase_add_test(tests, the_quick_way_leads_where_the_sure_one_does);
    tcase_add_test(tests, the_miss_changes_with_the_start_as_chords_say);
    tcase_add_test(tests, without_inductance_it_is_the_resistive_pulse);
    tcase_add_test(tests, nothing_jumps_where_the_modes_coincide);
    tcase_add_test(tests, a_stiff_bus_draws_the_textbook_pulse);
}

int main(void)
{
    return story_main("inductive pulse", fill);
}
