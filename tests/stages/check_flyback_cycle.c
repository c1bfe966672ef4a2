/* check_flyback_cycle.c - the pieces of which a flyback's cycle is made, against laws that hold for each.
 *
 * The derivatives lead the searches: with others these come later to the same cycle, or not at all, so no
 * figure of a stage tells.  Here they are compared with chords. */
#include "../../plugins/stages/flyback_figures.h"
#include "../../plugins/stages/flyback_solve.h"

#include <stdio.h>

#include "lottery.h"
#include "story.h"

enum { RUNS = 400 };

/* Any adapter's flyback, from nearly lossless to one whose resistances bend its currents; for every other one
 * the pulse first lifts a capacitor at the clamp. */
static flyback_circuit any_circuit(lottery *l, double *peak)
{
    double output = lottery_scale(l, 5, 24), ratio = lottery_between(l, 70, 130) / output;
    flyback_circuit c = {.input = lottery_between(l, 90, 380), .ratio = ratio, .reflected = ratio * output};
    c.magnetizing = lottery_scale(l, 2e-4, 2e-3);
    c.leakage = c.magnetizing * lottery_scale(l, 3e-3, 0.1);
    c.clamp = c.reflected * (1.0 + c.leakage / c.magnetizing) * lottery_between(l, 1.1, 2);
    *peak = c.input * lottery_scale(l, 1e-6, 1e-5) / c.magnetizing;
    double ohms = c.reflected / *peak;
    c.winding = ohms * lottery_scale(l, 1e-4, 0.3);
    c.on_resistance = c.winding + ohms * lottery_scale(l, 1e-4, 0.3);
    c.on_resistance = fmin(c.on_resistance, 0.7 * c.input / *peak);
    c.clamp_path = ohms * lottery_scale(l, 1e-4, 0.3);
    c.reflected_resistance = ohms * lottery_scale(l, 1e-4, 0.5);
    if (lottery_below(l, 2)) {
        c.fill_voltage = 0.9 * c.reflected;
        c.fill_charge =
            0.5 * (c.magnetizing + c.leakage) * *peak * *peak / c.fill_voltage * lottery_scale(l, 0.01, 2.0);
    }
    return c;
}

/* Of `ends` by what they changed between them; near: 1e-5 of the larger. */
static void expect_slope(double slope, double before, double after, double width, double size)
{
    double chord = (after - before) / width;
    if (!(fabs(slope - chord) <= 1e-5 * (fabs(slope) + fabs(chord)) + size))
        ck_abort_msg("a slope is %.9g, a chord %.9g", slope, chord);
}

START_TEST(slopes_of_a_discontinuous_cycle_are_those_of_chords)
{
    lottery l = lottery_open("flyback discontinuous slopes");
    int used_up = 0, filled = 0;
    for (int run = 0; run < RUNS; run++) {
        double peak, h;
        flyback_circuit c = any_circuit(&l, &peak);
        flyback_cycle k, low, high;
        h = 1e-5 * peak;
        flyback_discontinuous(&c, peak, -0.1 * peak, &k);
        flyback_discontinuous(&c, peak - h, -0.1 * peak, &low);
        flyback_discontinuous(&c, peak + h, -0.1 * peak, &high);
        if ((low.handed > 0.0) != (high.handed > 0.0)) continue;
        used_up += k.handed <= 0.0;
        filled += k.fill > 0.0 && k.handed > 0.0;
        expect_slope(k.period_slope[0], low.period, high.period, 2 * h, 1e-8 * k.period / peak);
        expect_slope(k.charge_slope[0], low.charge, high.charge, 2 * h, 1e-8 * k.charge / peak);
    }
    printf("flyback: %d pulses lift the clamp, %d no more than that\n", filled, used_up);
    ck_assert(used_up > 10 && filled > 50);
}
END_TEST

START_TEST(slopes_of_a_continuous_cycle_are_those_of_chords)
{
    lottery l = lottery_open("flyback continuous slopes");
    int cut = 0, tried = 0;
    for (int run = 0; run < RUNS; run++) {
        double peak;
        flyback_circuit c = any_circuit(&l, &peak);
        flyback_cycle k, low, high;
        flyback_discontinuous(&c, peak, 0.0, &k);
        if (!(k.handed > 0.0)) continue;
        double off = k.fill + (k.off - k.fill) * lottery_between(&l, 0.02, 0.9);
        double side[2] = {1e-5 * peak, 1e-5 * off};
        if (fabs(off - k.fill - k.reset) < 1e-3 * off) continue; /* on the border of the two ways */
        tried++;
        flyback_continuous(&c, peak, off, &k);
        cut += !(k.fall > 0.0);
        for (int v = 0; v < 2; v++) {
            double h = side[v], dp = v ? 0.0 : h, dq = v ? h : 0.0;
            flyback_continuous(&c, peak - dp, off - dq, &low);
            flyback_continuous(&c, peak + dp, off + dq, &high);
            double each = v ? off : peak;
            expect_slope(k.period_slope[v], low.period, high.period, 2 * h, 1e-8 * k.period / each);
            expect_slope(k.charge_slope[v], low.charge, high.charge, 2 * h, 1e-8 * k.charge / each);
        }
    }
    printf("flyback: of %d continuous cycles %d end while the leakage resets\n", tried, cut);
    ck_assert(tried > RUNS / 2 && cut > 20);
}
END_TEST

/* A pulse that lifts the clamp brings just the charge that is asked for, or all of what it has. */
START_TEST(a_fill_brings_its_charge)
{
    lottery l = lottery_open("flyback fill");
    for (int run = 0; run < RUNS; run++) {
        double peak, by_peak;
        flyback_circuit c = any_circuit(&l, &peak);
        flyback_cycle k = {.peak = peak};
        flyback_fill(&c, &k, &by_peak);
        flyback_leg leg = flyback_fill_leg(&c);
        ck_near(k.filled, flyback_leg_charge(&leg, peak, k.fill), 1e-13, 1e-25);
        if (k.handed > 0.0) {
            ck_near(k.filled, c.fill_charge, 1e-13, 0);
            ck_near(k.handed, flyback_leg_at(&leg, peak, k.fill), 1e-12, 0);
        } else {
            ck_assert_double_lt(k.filled, c.fill_charge * (1.0 + 1e-12));
            ck_near(flyback_leg_at(&leg, peak, k.fill), 0.0, 0, 1e-12 * peak);
        }
    }
}
END_TEST

/* ------------------------------------------------------------- exponentials -- */

/* In long double: by their definitions from 1/2 on, by their series below. */
START_TEST(phi_are_what_they_are_defined_as)
{
    for (double x = -40.0; x < 40.0; x += 0.01171875) {
        long double wide = x, first = 0.0L, second = 0.0L, term = 1.0L;
        for (int k = 1; k < 25; k++) {
            term /= k;
            first += term;
            second += term / (k + 1);
            term *= wide;
        }
        if (fabs(x) > 0.5) {
            first = expm1l(wide) / wide;
            second = (expm1l(wide) - wide) / (wide * wide);
        }
        ck_near(flyback_phi1(x), (double)first, 1e-15, 0);
        ck_near(flyback_phi2(x), (double)second, 4e-15, 0);
        double small = 1e-6 * x;
        ck_near(flyback_phi1(small), 1.0 + 0.5 * small * (1.0 + small / 3.0 * (1.0 + small / 4.0)), 3e-16, 0);
    }
}
END_TEST

static flyback_span any_span(lottery *l)
{
    double peak;
    flyback_circuit c = any_circuit(l, &peak);
    return lottery_below(l, 2) ? flyback_reset_span(&c) : flyback_commutation_span(&c);
}

/* What two equal times do one after the other: exp(2At) = exp(At)^2, and so for its integrals. From 1/4 to
 * 1/2 the one is a power series, the other not; further down both are, with fewer terms. */
START_TEST(a_motion_twice_as_long_is_the_motion_twice)
{
    lottery l = lottery_open("flyback motion");
    for (int run = 0; run < 4 * RUNS; run++) {
        flyback_span s = any_span(&l);
        double x = run % 2 ? lottery_between(&l, 0.25, 0.5) : lottery_scale(&l, 1e-5, 10.0);
        double t = x / fabs(s.trace);
        flyback_motion one = flyback_motion_at(&s, t), two = flyback_motion_at(&s, 2 * t);
        for (int column = 0; column < 2; column++) {
            flyback_pair unit = {column == 0, column == 1}, end[3];
            double size[3] = {1.0, t, t * t};
            for (int k = 0; k < 3; k++) end[k] = flyback_apply(one.m[k], unit);
            flyback_pair twice[3] = {
                flyback_apply(one.m[0], end[0]), flyback_add(end[1], 1.0, flyback_apply(one.m[0], end[1])),
                flyback_add(flyback_add(end[2], t, end[1]), 1.0, flyback_apply(one.m[0], end[2]))};
            for (int k = 0; k < 3; k++) {
                flyback_pair whole = flyback_apply(two.m[k], unit);
                ck_near(whole.leak, twice[k].leak, 2e-14, 2e-15 * size[k]);
                ck_near(whole.core, twice[k].core, 2e-14, 2e-15 * size[k]);
            }
        }
    }
}
END_TEST

/* The series with which an event is looked for tells what the motion does, value and slope. */
START_TEST(a_course_follows_the_motion)
{
    lottery l = lottery_open("flyback course");
    for (int run = 0; run < 4 * RUNS; run++) {
        flyback_span s = any_span(&l);
        double t = lottery_scale(&l, 1e-5, 2.0) / fabs(s.trace), slope;
        flyback_pair x0 = {lottery_between(&l, 0, 2), lottery_between(&l, 0, 2)}, weight = {1.0, -0.6};
        flyback_course h = flyback_course_of(&s, x0, weight);
        flyback_pair x = flyback_span_at(&s, x0, t), rate = flyback_rate(&s, x);
        double value = flyback_course_at(&h, t, &slope), steep = fabs(h.rate.leak) + fabs(h.rate.core);
        ck_near(value, flyback_weighed(weight, x), 0, 1e-14 * (2.0 + steep * t));
        ck_near(slope, flyback_weighed(weight, rate), 0, 1e-13 * (steep + fabs(rate.leak)));
    }
}
END_TEST

/* The time of an event is that at which it happens: nothing is left of what was to be zero. */
START_TEST(an_event_is_when_nothing_is_left)
{
    lottery l = lottery_open("flyback events");
    for (int run = 0; run < RUNS; run++) {
        double peak;
        flyback_circuit c = any_circuit(&l, &peak);
        flyback_span off = flyback_reset_span(&c), on = flyback_commutation_span(&c);
        flyback_pair x0 = {peak, peak}, weight = {1.0, 0.0};
        double t = flyback_span_until(&off, x0, weight);
        flyback_pair x = flyback_span_at(&off, x0, t);
        ck_assert(t > 0.0);
        ck_near(x.leak, 0.0, 0, 1e-13 * peak);
        x0 = (flyback_pair){0.0, lottery_between(&l, 0.05, 0.9) * peak};
        t = flyback_span_until(&on, x0, (flyback_pair){-1.0, 1.0});
        x = flyback_span_at(&on, x0, t);
        ck_assert(t > 0.0);
        ck_near(x.leak, x.core, 0, 1e-13 * x0.core);
    }
}
END_TEST

/* From small times, where both are written as series, to some time constants. */
START_TEST(the_time_of_a_leg_leads_to_its_current)
{
    lottery l = lottery_open("flyback leg time");
    for (int run = 0; run < 4 * RUNS; run++) {
        flyback_leg leg = {lottery_between(&l, 10, 100), lottery_scale(&l, 1e-3, 30), 1e-3};
        double t = lottery_scale(&l, 1e-8, 3.0) * leg.inductance / leg.resistance;
        ck_near(flyback_leg_time(&leg, 0.0, flyback_leg_at(&leg, 0.0, t)), t, 2e-14, 0);
    }
}
END_TEST

/* A ring that comes to zero volts is told to have done so when it does, on its way down for the first time.
 */
START_TEST(a_ring_is_at_zero_when_it_is_said_to_be)
{
    lottery l = lottery_open("flyback ring");
    int reached = 0;
    for (int run = 0; run < RUNS; run++) {
        flyback_ring r;
        flyback_tank k = {.input = lottery_between(&l, 50, 200),
                          .inductance = 1e-3,
                          .capacitance = lottery_scale(&l, 3e-11, 1e-9)};
        k.reflected = k.input * lottery_between(&l, 0.9, 3);
        k.resistance = lottery_scale(&l, 1e-3, 0.3) * sqrt(k.inductance / k.capacitance);
        ck_assert(flyback_ring_to(&k, 1, true, &r));
        if (!r.zero_reached) continue;
        reached++;
        double t = r.part[0].duration, half = FLYBACK_PI / r.omega;
        ck_assert(t > 0.0 && t < half);
        ck_near(flyback_ring_voltage(&r, k.reflected, t), -k.input, 1e-12, 0);
        ck_near(r.current, flyback_ring_current(&r, &k, k.reflected, t), 1e-12, 1e-15);
        ck_assert(r.voltage == 0.0 && r.current <= 0.0);
    }
    ck_assert_int_gt(reached, RUNS / 2);
}
END_TEST

/* ------------------------------------------------------------------ moments -- */

/* i = a + b e^(-rt): the integrals of i and i^2 in closed form, up to many time constants. */
START_TEST(moments_of_a_leg_are_those_of_its_exponential)
{
    lottery l = lottery_open("flyback leg moments");
    for (int run = 0; run < RUNS; run++) {
        flyback_leg leg = {lottery_between(&l, -100, 100), lottery_scale(&l, 0.3, 30), 1e-3};
        double from = lottery_between(&l, -2, 5), r = leg.resistance / leg.inductance;
        double t = lottery_scale(&l, 0.05, 60) / r, a = leg.drive / leg.resistance, b = from - a;
        double e1 = -expm1(-r * t) / r, e2 = -expm1(-2 * r * t) / (2 * r);
        flyback_moments m = flyback_leg_moments(&leg, from, t, true);
        flyback_moments other = flyback_leg_moments(&leg, from, t, false);
        double size = fabs(a) + fabs(from);
        ck_near(m.core, a * t + b * e1, 0, 1e-12 * size * t);
        ck_near(m.core_square, a * a * t + 2 * a * b * e1 + b * b * e2, 0, 1e-12 * size * size * t);
        ck_assert(m.leak == m.core && m.leak_square == m.core_square && m.product == m.core_square);
        ck_assert(other.core == m.core && other.leak == 0.0 && other.product == 0.0);
        ck_near(flyback_leg_charge(&leg, from, t), m.core, 0, 1e-12 * size * t);
        ck_near(flyback_leg_time(&leg, from, flyback_leg_at(&leg, from, 0.3 / r)), 0.3 / r, 1e-12, 0);
    }
}
END_TEST

/* A third and the rest bring what the whole does, also where the fast decay has long died out; the charge is
 * that of the motion's integral. */
START_TEST(moments_of_a_span_add_up)
{
    lottery l = lottery_open("flyback span moments");
    for (int run = 0; run < RUNS; run++) {
        flyback_span s = any_span(&l);
        double t = lottery_scale(&l, 0.1, 200) / fabs(s.trace);
        flyback_pair x0 = {lottery_between(&l, 0, 2), lottery_between(&l, 0, 2)};
        flyback_moments whole = flyback_span_moments(&s, x0, t);
        flyback_moments first = flyback_span_moments(&s, x0, t / 3);
        flyback_moments rest = flyback_span_moments(&s, flyback_span_at(&s, x0, t / 3), 2 * t / 3);
        flyback_motion m = flyback_motion_at(&s, t);
        flyback_pair moved = flyback_apply(m.m[2], flyback_rate(&s, x0));
        double squares = whole.leak_square + whole.core_square, size = sqrt(squares * t);
        ck_near(whole.leak, first.leak + rest.leak, 0, 1e-12 * size);
        ck_near(whole.core, first.core + rest.core, 0, 1e-12 * size);
        ck_near(whole.leak_square, first.leak_square + rest.leak_square, 0, 1e-12 * squares);
        ck_near(whole.core_square, first.core_square + rest.core_square, 0, 1e-12 * squares);
        ck_near(whole.product, first.product + rest.product, 0, 1e-12 * squares);
        ck_near(whole.leak, x0.leak * t + moved.leak, 0, 1e-11 * size);
        ck_near(whole.core, x0.core * t + moved.core, 0, 1e-11 * size);
    }
}
END_TEST

/* No moment of the clamp phase has more secondary current than is said, and one has as much. */
START_TEST(the_secondary_peak_is_its_summit)
{
    enum { MOMENTS = 2000 };
    lottery l = lottery_open("flyback secondary peak");
    int within = 0;
    for (int run = 0; run < RUNS; run++) {
        double peak, most = 0.0, said;
        flyback_circuit c = any_circuit(&l, &peak);
        flyback_cycle k;
        c.fill_charge = 0.0;
        c.reflected_resistance *= 3.0;
        flyback_discontinuous(&c, peak, 0.0, &k);
        if (!(k.reset > 0.0)) continue;
        flyback_span s = flyback_reset_span(&c);
        for (int n = 0; n <= MOMENTS; n++) {
            flyback_pair x = flyback_span_at(&s, (flyback_pair){k.handed, k.handed}, k.reset * n / MOMENTS);
            most = fmax(most, c.ratio * (x.core - x.leak));
        }
        said = flyback_secondary_peak(&c, &k);
        within += said > c.ratio * (k.at_reset.core - k.at_reset.leak) * (1.0 + 1e-6);
        ck_near(said, most, 1e-6, 0);
        ck_assert_double_ge(said, most * (1.0 - 1e-12));
    }
    printf("flyback: %d of %d secondary currents have their summit within the clamp phase\n", within, RUNS);
    ck_assert(within > 10);
}
END_TEST

/* ------------------------------------------------------------------- climb -- */

/* From the border of the modes up in steps leads to the cycle that the lossless start leads to, and also
 * where that start leads nowhere. */
START_TEST(the_climb_leads_to_the_same_cycle)
{
    lottery l = lottery_open("flyback climb");
    int both = 0, climbed = 0, none = 0;
    for (int run = 0; run < RUNS; run++) {
        double peak, at, off;
        flyback_circuit c = any_circuit(&l, &peak);
        flyback_cycle k, sure;
        c.fill_charge = 0.0;
        if (run % 3 == 0) c.on_resistance = c.winding = 0.0;
        flyback_discontinuous(&c, peak, 0.0, &k);
        double period = k.period, load = k.charge / period * lottery_between(&l, 1.1, 1.8);
        flyback_continuous_guess(&c, period, load, &at, &off);
        bool quick = flyback_solve_continuous(&c, period, load, at, off, &k) && flyback_sound(&k);
        bool slow = flyback_climb(&c, period, load, &sure) && flyback_sound(&sure);
        both += quick && slow;
        climbed += slow && !quick;
        none += quick && !slow;
        if (!slow) continue;
        ck_near(sure.period, period, 1e-11, 0);
        ck_near(sure.charge, load * period, 1e-11, 0);
        if (!quick) continue;
        ck_near(sure.peak, k.peak, 1e-9, 0);
        ck_near(sure.off, k.off, 1e-9, 0);
    }
    printf("flyback: both ways lead to %d cycles, the climb alone to %d, the start alone to %d\n", both,
           climbed, none);
    ck_assert(both > RUNS / 2 && none == 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, slopes_of_a_discontinuous_cycle_are_those_of_chords);
    tcase_add_test(tests, slopes_of_a_continuous_cycle_are_those_of_chords);
    tcase_add_test(tests, a_fill_brings_its_charge);
    tcase_add_test(tests, phi_are_what_they_are_defined_as);
    tcase_add_test(tests, a_motion_twice_as_long_is_the_motion_twice);
    tcase_add_test(tests, a_course_follows_the_motion);
    tcase_add_test(tests, an_event_is_when_nothing_is_left);
    tcase_add_test(tests, the_time_of_a_leg_leads_to_its_current);
    tcase_add_test(tests, a_ring_is_at_zero_when_it_is_said_to_be);
    tcase_add_test(tests, moments_of_a_leg_are_those_of_its_exponential);
    tcase_add_test(tests, moments_of_a_span_add_up);
    tcase_add_test(tests, the_secondary_peak_is_its_summit);
    tcase_add_test(tests, the_climb_leads_to_the_same_cycle);
}

int main(void)
{
    return story_main("pieces of a flyback's cycle", fill);
}
