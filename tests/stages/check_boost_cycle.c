/* check_boost_cycle.c - one switching cycle of a boost stage against integrals of its exponentials, and the
 * waves it is written out as. */
#include <math.h>

#include "../../plugins/stages/boost_waves.h"

#include "gauss_panels.h"
#include "lottery.h"
#include "story.h"

/* --------------------------------------------------------------- integrals -- */

/* i' = (u - r i) / l from i0, at t. */
static double current_at(double i0, double u, double r, double l, double t)
{
    double x = r * t / l;
    return x > 0.0 ? i0 * exp(-x) - u / r * expm1(-x) : i0 + u * t / l;
}

typedef struct rise {
    double i0, u, r, l;
} rise;

static double rise_at(const void *of, double t)
{
    const rise *p = of;
    return current_at(p->i0, p->u, p->r, p->l, t);
}

static double square_at(const void *of, double t)
{
    double i = rise_at(of, t);
    return i * i;
}

/* Charge and square of that over t. */
static void integrals(double i0, double u, double r, double l, double t, double *charge, double *square)
{
    const rise own = {i0, u, r, l};
    *charge = gauss_panels(rise_at, &own, t, 60);
    *square = gauss_panels(square_at, &own, t, 60);
}

static boost_circuit draw_circuit(lottery *luck, double amperes, double period, double *voltage)
{
    boost_circuit c = {.output = lottery_between(luck, 100, 450), .drop = lottery_between(luck, 0, 2)};
    *voltage = c.output * lottery_between(luck, 0.02, 0.98);
    double ohms = *voltage / amperes;
    c.inductance = ohms * period * lottery_scale(luck, 0.02, 3);
    c.rise_resistance = lottery_below(luck, 4) ? ohms * lottery_scale(luck, 1e-6, 0.2) : 0.0;
    c.fall_resistance = lottery_below(luck, 4) ? ohms * lottery_scale(luck, 1e-6, 0.2) : 0.0;
    return c;
}

/* Both phases follow their circuits, charges and squares are integrals, and what goes in comes out or is
 * lost. */
static void check_cycle(const boost_circuit *c, const boost_cycle *k, double voltage)
{
    double charge, square, off = voltage - c->output - c->drop, end = k->full ? k->valley : 0.0;
    ck_assert(k->voltage == voltage && k->on > 0 && k->off > 0);
    ck_near(k->peak, current_at(k->valley, voltage, c->rise_resistance, c->inductance, k->on), 1e-12, 0);
    ck_near(end, current_at(k->peak, off, c->fall_resistance, c->inductance, k->off), 1e-12, 1e-12 * k->peak);
    integrals(k->valley, voltage, c->rise_resistance, c->inductance, k->on, &charge, &square);
    ck_near(k->charge_on, charge, 1e-11, 0);
    ck_near(k->square_on, square, 1e-11, 0);
    integrals(k->peak, off, c->fall_resistance, c->inductance, k->off, &charge, &square);
    ck_near(k->charge_off, charge, 1e-11, 0);
    ck_near(k->square_off, square, 1e-11, 0);
    ck_near(voltage * (k->charge_on + k->charge_off),
            c->output * k->charge_off + boost_cycle_loss(c, k) * k->period, 1e-11, 0);
}

START_TEST(a_cycle_from_zero_is_that_of_its_circuits)
{
    lottery luck = lottery_open("boost from zero");
    for (int run = 0; run < 1000; run++) {
        double v, period = lottery_scale(&luck, 1e-6, 1e-4), on = period * lottery_between(&luck, 0.1, 0.9);
        boost_circuit c = draw_circuit(&luck, lottery_scale(&luck, 0.01, 30), period, &v);
        double delay = lottery_between(&luck, 0, 0.2) * period,
               shortest = lottery_between(&luck, 0, 3) * period;
        boost_cycle k;
        boost_cycle_of_on_time(&c, v, on, boost_rise(&c, on), delay, shortest, &k);
        ck_assert(k.on == on && k.valley == 0.0);
        check_cycle(&c, &k, v);
        ck_near(k.period, fmax(k.on + k.off + delay, shortest), 1e-14, 0);
        ck_assert_int_eq(k.full, k.on + k.off + delay >= shortest);
    }
}
END_TEST

/* Asked for a mean current: full where it never comes to zero, else with rest; none is refused that the
 * resistances allow: these are a fifth of what would take the whole voltage at most. */
START_TEST(a_cycle_of_a_mean_current_carries_it)
{
    lottery luck = lottery_open("boost of a mean");
    int full = 0, all = 2000;
    for (int run = 0; run < all; run++) {
        double v, period = lottery_scale(&luck, 1e-6, 1e-4), mean = lottery_scale(&luck, 0.01, 30);
        boost_circuit c = draw_circuit(&luck, mean, period, &v);
        boost_cycle k;
        ck_assert_msg(boost_cycle_of_mean(&c, v, mean, period, &k), "run %d: refused", run);
        check_cycle(&c, &k, v);
        ck_near(k.charge_on + k.charge_off, mean * period, 1e-11, 0);
        ck_assert(k.period == period && k.on + k.off <= period * (1 + 1e-12) && k.valley >= 0.0);
        if (k.full) ck_near(k.on + k.off, period, 1e-14, 0);
        full += k.full;
    }
    ck_assert(full > all / 4 && full < all * 3 / 4);
}
END_TEST

/* R1 i alone takes the voltage: no duty ratio balances; nor does a pulse as long as the period bring the
 * charge. */
START_TEST(a_current_out_of_reach_is_refused)
{
    boost_circuit c = {.inductance = 1e-4, .rise_resistance = 10, .fall_resistance = 10, .output = 400};
    boost_cycle k;
    ck_assert(!boost_cycle_of_mean(&c, 100, 10.5, 1e-5, &k));
    ck_assert(boost_cycle_of_mean(&c, 100, 1, 1e-5, &k));
    ck_assert(!boost_discontinuous(&c, 100, 1e-3, 1e-5, &k));
}
END_TEST

/* ------------------------------------------------------------------- waves -- */

static double value_at(const hl_segment s[], size_t n, double t)
{
    size_t k = 0;
    while (k + 1 < n && t > s[k].duration) t -= s[k++].duration;
    return s[k].offset + s[k].slope * t + s[k].cosine * exp(-s[k].decay * t);
}

/* The exponential, or where it is short (bend.h) a chord that is off by x / 8 of the ripple in the middle, or
 * between the two. */
START_TEST(a_wave_is_its_cycle)
{
    lottery luck = lottery_open("boost waves");
    int bent = 0;
    for (int run = 0; run < 1000; run++) {
        double v, period = lottery_scale(&luck, 1e-6, 1e-4), mean = lottery_scale(&luck, 0.01, 30);
        boost_circuit c = draw_circuit(&luck, mean, period, &v);
        boost_cycle k;
        hl_segment coil[BOOST_SEGMENTS], flux[BOOST_SEGMENTS], out[BOOST_SEGMENTS];
        ck_assert(boost_cycle_of_mean(&c, v, mean, period, &k));
        size_t n = boost_write(&c, &k, coil, flux, out);
        ck_assert_uint_eq(n, k.full ? 2 : 3);
        double off = v - c.output - c.drop, r[2] = {c.rise_resistance, c.fall_resistance};
        double from[2] = {k.valley, k.peak}, to[2] = {k.peak, k.full ? k.valley : 0.0}, u[2] = {v, off};
        double length[2] = {k.on, k.off};
        for (int p = 0; p < 2; p++) {
            double x = r[p] * length[p] / c.inductance, t = lottery_between(&luck, 0, 1) * length[p];
            double i = current_at(from[p], u[p], r[p], c.inductance, t), written = value_at(&coil[p], 1, t);
            double ripple = fabs(to[p] - from[p]), l = c.inductance;
            double area =
                flux[p].offset * length[p] +
                (flux[p].decay > 0 ? -flux[p].cosine * expm1(-flux[p].decay * length[p]) / flux[p].decay : 0);
            ck_assert(coil[p].duration == length[p] && flux[p].duration == length[p] &&
                      out[p].duration == length[p]);
            if (x < 0.039) ck_assert(fabs(written - i) <= x / 7 * ripple + 1e-12 * k.peak);
            if (x > 0.041) {
                ck_near(written, i, 0, 1e-12 * fmax(k.peak, fabs(u[p] / r[p])));
                ck_near(value_at(&flux[p], 1, t), u[p] - r[p] * i, 0, 1e-11 * fabs(u[p]));
                bent++;
            }
            ck_near(area, l * (to[p] - from[p]), 0, 1e-11 * l * k.peak);
            ck_assert(value_at(&out[p], 1, t) == (p ? written : 0.0));
        }
        if (n == 3) {
            ck_near(coil[2].duration, period - k.on - k.off, 0, 1e-12 * period);
            ck_assert(value_at(&coil[2], 1, 0) == 0 && value_at(&flux[2], 1, 0) == 0 && out[2].offset == 0);
        }
    }
    ck_assert_int_gt(bent, 100);
}
END_TEST

/* At any time the sum of as many copies, each later by its share of the period. */
START_TEST(interleaved_copies_add_up)
{
    lottery luck = lottery_open("boost interleaved");
    for (int run = 0; run < 500; run++) {
        size_t n = 2 + lottery_below(&luck, 2);
        unsigned phases = 2 + (unsigned)lottery_below(&luck, 3);
        double period = lottery_scale(&luck, 1e-6, 1e-4), at = 0.0, edge[3] = {0.3, 0.8, 1};
        hl_segment one[BOOST_SEGMENTS], all[BOOST_MERGED];
        edge[0] = lottery_between(&luck, 0.1, 0.6);
        edge[1] = n == 2 ? 1 : lottery_between(&luck, 0.65, 0.95);
        for (size_t k = 0; k < n; k++) {
            one[k] = (hl_segment){.duration = (edge[k] - at) * period,
                                  .offset = lottery_between(&luck, -2, 2),
                                  .slope = lottery_between(&luck, -2, 2) / period};
            at = edge[k];
        }
        size_t merged = boost_interleave(one, n, period, phases, all);
        double length = 0.0;
        ck_assert_uint_le(merged, BOOST_MERGED);
        for (size_t k = 0; k < merged; k++) length += all[k].duration;
        ck_near(length, period, 1e-12, 0);
        for (int look = 0; look < 20; look++) {
            double t = lottery_between(&luck, 0, 1) * period, sum = 0.0;
            for (unsigned p = 0; p < phases; p++)
                sum += value_at(one, n, fmod(t - period * p / phases + 2 * period, period));
            ck_near(value_at(all, merged, t), sum, 0, 1e-9);
        }
    }
}
END_TEST

/* An exponential is summed by the chord through its ends. */
START_TEST(a_chord_meets_both_ends)
{
    double value, slope, x = 3.0 * 0.2;
    hl_segment s = {.duration = 0.2, .offset = 1, .slope = 2, .cosine = -4, .decay = 3};
    boost_chord(&s, 0, &value, &slope);
    ck_near(value, -3, 1e-15, 0);
    boost_chord(&s, 0.2, &value, &slope);
    ck_near(value, 1.4 - 4 * exp(-x), 1e-14, 0);
    ck_near(slope, (1.4 - 4 * exp(-x) + 3) / 0.2, 1e-14, 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_cycle_from_zero_is_that_of_its_circuits);
    tcase_add_test(tests, a_cycle_of_a_mean_current_carries_it);
    tcase_add_test(tests, a_current_out_of_reach_is_refused);
    tcase_add_test(tests, a_wave_is_its_cycle);
    tcase_add_test(tests, interleaved_copies_add_up);
    tcase_add_test(tests, a_chord_meets_both_ends);
}

int main(void)
{
    return story_main("boost cycle", fill);
}
