/* check_reverse_recovery.c - the charge of a reversed junction against the equation it is the root of, and
 * its limits. */
#include "../../plugins/diodes/reverse_recovery.h"

#include "lottery.h"
#include "story.h"

/* x - 1 + e^-x, by its series where the difference has no digits. */
static long double stored(long double x)
{
    if (x > 0.1L) return x - 1.0L + expl(-x);
    long double sum = 0.0L;
    for (int k = 14; k >= 2; k--) sum = (1.0L - sum) * x / k;
    return sum * x;
}

/* Q of charge control: the time at which the stored charge is gone, halved in. */
static double charge_by_halving(double life_time, double current, double slope)
{
    long double m = (long double)current / ((long double)slope * life_time), low = 0.0L,
                high = m + 1.0L + sqrtl(2 * m);
    for (int k = 0; k < 200; k++) {
        long double middle = 0.5L * (low + high);
        if (stored(middle) < m)
            low = middle;
        else
            high = middle;
    }
    long double reverse = -expm1l(-low);
    return (double)(0.5L * slope * life_time * life_time * reverse * reverse);
}

START_TEST(charge_is_what_halving_finds)
{
    lottery luck = lottery_open("reverse recovery");
    for (int k = 0; k < 2000; k++) {
        double life_time = lottery_scale(&luck, 1e-9, 1e-5), current = lottery_scale(&luck, 0.01, 100.0);
        double m = lottery_scale(&luck, 1e-3, 1e3), slope = current / (m * life_time);
        ck_near(recovered_charge(life_time, current, slope), charge_by_halving(life_time, current, slope),
                1e-11, 0);
    }
}
END_TEST

/* All of the stored charge, I tau, for a commutation faster by far than the life time; a tau^2 / 2 for a slow
 * one. */
START_TEST(limits_are_those_of_fast_and_slow_commutations)
{
    for (double m = 1e-15; m < 2e-6; m *= 10.0) {
        double life_time = 50e-9, current = 3.0, fast = current / (m * life_time);
        ck_near(recovered_charge(life_time, current, fast), current * life_time, sqrt(m) + 1e-7, 0);
        double slow = current * m / (100.0 * life_time);
        ck_near(recovered_charge(life_time, current, slow), 0.5 * slow * life_time * life_time, 1e-12, 0);
    }
}
END_TEST

START_TEST(life_time_gives_its_charge_back)
{
    lottery luck = lottery_open("life time");
    for (int k = 0; k < 2000; k++) {
        double life_time = lottery_scale(&luck, 1e-9, 1e-5), current = lottery_scale(&luck, 0.01, 100.0);
        double slope = current / (lottery_scale(&luck, 1e-4, 1e4) * life_time);
        double charge = recovered_charge(life_time, current, slope);
        ck_near(recovery_life_time(charge, current, slope), life_time, 1e-8, 0);
    }
    ck_assert_double_eq(recovery_life_time(0.0, 1.0, 1e8), 0.0);
    ck_assert_double_eq(recovery_life_time(1e-9, 0.0, 1e8), 0.0);
    ck_assert_double_eq(recovery_life_time(1e-9, 1.0, 0.0), 0.0);
}
END_TEST

/* W: no charge, no voltage or no slope, no power; the stated slope where the stage tells none. */
START_TEST(power_is_charge_times_voltage_times_rate)
{
    const recovery r = {.life_time = 40e-9, .slope = 2e8, .coefficient = 0.006, .temperature = 300.0},
                   none = {0};
    const recovery untold = {.life_time = 40e-9};
    double charge = recovered_charge(40e-9, 5.0, 3e8), slope;
    ck_near(recovery_power(&r, 5.0, 3e8, 100.0, 1e5), charge * 1e7, 1e-14, 0);
    ck_near(recovery_power(&r, 5.0, 0.0, 100.0, 1e5), recovered_charge(40e-9, 5.0, 2e8) * 1e7, 1e-14, 0);
    ck_assert_double_eq(recovery_power(&none, 5.0, 3e8, 100.0, 1e5), 0.0);
    ck_assert_double_eq(recovery_power(&untold, 5.0, 0.0, 100.0, 1e5), 0.0);
    ck_assert_double_eq(recovery_power(&r, 0.0, 3e8, 100.0, 1e5), 0.0);
    ck_assert_double_eq(recovery_power(&r, 5.0, 3e8, 0.0, 1e5), 0.0);
    ck_near(recovery_factor(&r, 350.0, &slope), 1.3, 1e-14, 0);
    ck_near(slope, 0.006, 1e-14, 0);
    ck_near(recovery_factor(&r, 151.0, &slope), 0.106, 1e-12, 0);
    ck_near(recovery_factor(&r, 149.0, &slope), 0.1, 1e-14, 0);
    ck_assert_double_eq(slope, 0.0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, charge_is_what_halving_finds);
    tcase_add_test(tests, limits_are_those_of_fast_and_slow_commutations);
    tcase_add_test(tests, life_time_gives_its_charge_back);
    tcase_add_test(tests, power_is_charge_times_voltage_times_rate);
}

int main(void)
{
    return story_main("reverse recovery", fill);
}
