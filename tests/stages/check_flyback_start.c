/* check_flyback_start.c - where the search for a continuous cycle begins.
 *
 * From a poor start the search leads to the same cycle, later or by the climb: no figure of a stage tells. */
#include "../../plugins/stages/flyback_solve.h"

#include <stdio.h>

#include "lottery.h"
#include "story.h"

/* A flyback of an adapter, and a load a half to three times that of the border of the modes. */
static flyback_circuit any_circuit(lottery *l, double *period, double *load)
{
    double output = lottery_between(l, 5, 24), ratio = lottery_between(l, 70, 130) / output;
    flyback_circuit c = {.input = lottery_between(l, 90, 380), .ratio = ratio, .reflected = ratio * output};
    c.clamp = c.reflected * lottery_between(l, 1.3, 2);
    *period = lottery_between(l, 8e-6, 16e-6);
    double off = *period * c.input / (c.input + c.reflected), ripple = lottery_between(l, 0.5, 3);
    c.magnetizing = c.reflected * off / ripple;
    *load = c.ratio * off / *period * 0.5 * ripple * lottery_between(l, 1.2, 3);
    return c;
}

/* Without losses and leakage the start is the cycle itself. */
START_TEST(a_lossless_start_is_the_cycle)
{
    lottery l = lottery_open("flyback start");
    for (int run = 0; run < 200; run++) {
        double period, load, peak, off;
        flyback_circuit c = any_circuit(&l, &period, &load);
        flyback_cycle k;
        flyback_continuous_guess(&c, period, load, &peak, &off);
        ck_assert(flyback_solve_continuous(&c, period, load, peak, off, &k));
        ck_near(peak, k.peak, 1e-9, 0);
        ck_near(off, k.off, 1e-9, 0);
    }
}
END_TEST

/* With a hundredth of leakage and some resistance it is near. */
START_TEST(a_lossy_start_is_near_the_cycle)
{
    lottery l = lottery_open("flyback lossy start");
    double worst = 0;
    for (int run = 0; run < 200; run++) {
        double period, load, peak, off;
        flyback_circuit c = any_circuit(&l, &period, &load);
        flyback_cycle k;
        double resistance = 0.01 * c.reflected * c.ratio / load;
        c.leakage = 0.01 * c.magnetizing;
        c.on_resistance = c.reflected_resistance = resistance;
        c.winding = 0.5 * resistance;
        flyback_continuous_guess(&c, period, load, &peak, &off);
        ck_assert(flyback_solve_continuous(&c, period, load, peak, off, &k));
        worst = fmax(worst, fmax(fabs(peak / k.peak - 1), fabs(off / k.off - 1)));
    }
    printf("flyback start: off by %.3g at most\n", worst);
    ck_assert_double_le(worst, 0.04);
}
END_TEST

/* The peak of a discontinuous cycle, and that of a quasi-resonant one, are found from wherever the search
 * begins. */
START_TEST(any_start_leads_to_the_same_peak)
{
    lottery l = lottery_open("flyback peaks");
    for (int run = 0; run < 200; run++) {
        double period, load;
        flyback_circuit c = any_circuit(&l, &period, &load);
        flyback_cycle k, sure;
        flyback_ring ring;
        double charge = load * period;
        c.leakage = 0.01 * c.magnetizing;
        c.on_resistance = c.reflected_resistance = 0.02 * c.reflected * c.ratio / load;
        c.winding = 0.5 * c.on_resistance;
        if (run % 2) {
            c.fill_charge = 0.02 * charge / c.ratio;
            c.fill_voltage = 0.9 * c.reflected;
        }
        ck_assert(flyback_peak_for(&c, charge, 0.0, 0.0, &sure));
        ck_near(sure.charge, charge, 1e-12, 0);
        ck_assert(flyback_peak_for(&c, charge, 0.0, sure.peak * lottery_scale(&l, 0.01, 100), &k));
        ck_near(k.peak, sure.peak, 1e-11, 0);
        flyback_tank tank = {.input = c.input,
                             .reflected = c.reflected,
                             .inductance = c.magnetizing + c.leakage,
                             .capacitance = 1e-10,
                             .resistance = c.winding};
        ck_assert(flyback_ring_to(&tank, 2, true, &ring));
        ck_assert(flyback_solve_resonant(&c, &ring, load, 0.0, &sure));
        ck_near(sure.charge, load * sure.period, 1e-12, 0);
        ck_assert(flyback_solve_resonant(&c, &ring, load, sure.peak * lottery_scale(&l, 0.5, 2), &k));
        ck_near(k.peak, sure.peak, 1e-11, 0);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_lossless_start_is_the_cycle);
    tcase_add_test(tests, a_lossy_start_is_near_the_cycle);
    tcase_add_test(tests, any_start_leads_to_the_same_peak);
}

int main(void)
{
    return story_main("start of a continuous flyback", fill);
}
