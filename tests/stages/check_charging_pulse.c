/* check_charging_pulse.c - the quick way to a steady charging pulse against the sure one.
 *
 * Where the quick way fails the sure one is taken, so no figure of a stage tells that it always does. */
#include "../../plugins/stages/charging_pulse.h"

#include <stdio.h>

#include "lottery.h"
#include "story.h"

static const double pi = 3.14159265358979324;

/* Any rectifier of some watts on its mains. */
static charging_pulse any_pulse(lottery *l)
{
    double frequency = lottery_between(l, 45, 65), voltage = lottery_between(l, 90, 264);
    charging_pulse p = {.crest = sqrt(2.0) * voltage, .drop = 1.6, .omega = 2 * pi * frequency};
    p.half = 0.5 / frequency;
    p.resistance = pow(10, lottery_between(l, -2.5, 0.7));
    double power = lottery_between(l, 3, 70);
    p.capacitance = power * lottery_between(l, 2e-6, 5e-6) * (voltage < 150 ? 2 : 1);
    if (lottery_below(l, 4) > 0)
        p.power = power;
    else
        p.current = power / p.crest;
    return p;
}

static void expect_same(const charging_pulse *quick, const charging_pulse *sure)
{
    ck_near(quick->start, sure->start, 1e-9, 0);
    ck_near(quick->length, sure->length, 1e-9, 0);
    ck_near(quick->middle, sure->middle, 1e-7, 0); /* the sure way leaves off there */
    ck_near(quick->end, sure->end, 1e-9, 0);
}

/* From a first guess, and from the pulse of a load a tenth larger. */
START_TEST(the_quick_way_leads_where_the_sure_one_does)
{
    lottery l = lottery_open("charging_pulse");
    int tried = 0, guessed = 0, followed = 0;
    for (int run = 0; run < 400; run++) {
        charging_pulse given = any_pulse(&l), sure = given, quick = given, larger = given;
        double lowest = asin((0.3 * given.crest + given.drop) / given.crest);
        larger.power *= 1.1;
        larger.current *= 1.1;
        if (!pulse_search(&sure, lowest) || !pulse_search(&larger, lowest)) continue;
        tried++;
        if (pulse_guess(&quick, lowest) && pulse_follow(&quick, lowest)) {
            guessed++;
            expect_same(&quick, &sure);
        }
        larger.power = given.power;
        larger.current = given.current;
        if (pulse_follow(&larger, lowest)) {
            followed++;
            expect_same(&larger, &sure);
        }
    }
    printf("charging_pulse: of %d pulses %d from a guess, %d from a neighbour\n", tried, guessed, followed);
    ck_assert_int_ge(tried, 300);
    ck_assert_int_ge(guessed, tried * 98 / 100);
    ck_assert_int_ge(followed, tried * 98 / 100);
}
END_TEST

/* A start a little later, with the load held as it is linearised: what the quick way steps by. */
START_TEST(the_miss_changes_with_the_start_as_chords_say)
{
    lottery l = lottery_open("charging_pulse slope");
    int compared = 0;
    for (int run = 0; run < 200; run++) {
        charging_pulse p = any_pulse(&l);
        double lowest = asin((0.3 * p.crest + p.drop) / p.crest), late;
        if (!pulse_search(&p, lowest)) continue;
        double angle = p.omega * p.start, move = 1e-6 * (0.5 * pi - angle);
        charging_pulse low = p, high = p;
        double slope = pulse_miss_slope(&p, pulse_sag(&p), &late) / p.omega;
        double chord = (pulse_miss(&high, angle + move) - pulse_miss(&low, angle - move)) / (2.0 * move);
        ck_near(slope, chord, 1e-4, 0);
        ck_near(late / p.omega, (high.length - low.length) / (2.0 * move), 1e-4, 0);
        compared++;
    }
    ck_assert_int_ge(compared, 150);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_miss_changes_with_the_start_as_chords_say);
    tcase_add_test(tests, the_quick_way_leads_where_the_sure_one_does);
}

int main(void)
{
    return story_main("charging pulse", fill);
}
