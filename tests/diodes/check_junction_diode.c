/* check_junction_diode.c - recovery of the junction diode against the charge-control equation solved in time.
 */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "lottery.h"
#include "story.h"

/* dq/dt = i - q / tau with i falling at `slope`, by Heun steps until the charge is gone; then the triangle
 * the model's charge stands for, peak^2 / (2 slope). */
static double charge_in_time(double tau, double current, double slope)
{
    double q = current * tau, t = 0, h = fmin(tau, (current / slope + tau)) * 2e-5;
    while (q > 0) {
        double rate = current - slope * t - q / tau;
        double ahead = current - slope * (t + h) - (q + h * rate) / tau, next = q + 0.5 * h * (rate + ahead);
        if (next <= 0) {
            t += h * q / (q - next);
            break;
        }
        q = next;
        t += h;
    }
    double peak = slope * t - current;
    return peak * peak / (2 * slope);
}

static device_bench *diode_of(double charge, double current, double slope)
{
    device_bench *b = device_bench_create("junction_diode");
    device_bench_set(b, "rated_voltage", 600);
    device_bench_set(b, "threshold_voltage", 0.9);
    device_bench_set(b, "slope_resistance", 0.02);
    device_bench_set(b, "recovery_charge", charge);
    device_bench_set(b, "recovery_current", current);
    device_bench_set(b, "recovery_slope", slope);
    device_bench_expect_prepared(b);
    return b;
}

static double charge_lost(const device_bench *b, double current, double slope, double temperature)
{
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(
        &store, (one_cycle){.frequency = 1e5, .off = current, .voltage_off = 400, .slope = slope});
    return device_bench_loss(b, &stress, temperature).watts[HL_REVERSE_RECOVERY] / 400e5;
}

START_TEST(test_point_is_met)
{
    device_bench *b = diode_of(0.6e-6, 8, 2e8);
    ck_near(charge_lost(b, 8, 2e8, 298.15), 0.6e-6, 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

/* A life time of 150 ns makes the test charge; every other current and slope must then agree with the
 * equation. */
START_TEST(recovery_follows_charge_control)
{
    double tau = 150e-9, test = charge_in_time(tau, 8, 2e8);
    device_bench *b = diode_of(test, 8, 2e8);
    lottery luck = lottery_open("recovery_follows_charge_control");
    for (int k = 0; k < 12; k++) {
        double current = lottery_scale(&luck, 0.3, 30), slope = lottery_scale(&luck, 2e7, 2e9);
        ck_near(charge_lost(b, current, slope, 298.15), charge_in_time(tau, current, slope), 2e-3, 0);
    }
    device_bench_destroy(b);
}
END_TEST

START_TEST(hot_diode_recovers_more)
{
    device_bench *b = diode_of(0.6e-6, 8, 2e8);
    ck_near(charge_lost(b, 8, 2e8, 398.15), 2 * 0.6e-6, 1e-9, 0); /* 1 % per kelvin by default */
    ck_assert_double_eq(charge_lost(b, 0, 2e8, 398.15), 0);
    device_bench_destroy(b);
}
END_TEST

/* A depletion layer beside the stored charge: (2/3) V Q of Q ~ v^1/2, in full at a hard commutation and from
 * the residual up at a swing without current, where nothing recovers; nothing of it where none is stated. */
START_TEST(depletion_charge_is_booked_beside_the_recovery)
{
    device_bench *b = diode_of(0.6e-6, 8, 2e8);
    one_cycle_store store;
    one_cycle hard = {.frequency = 1e5, .off = 8, .voltage_off = 400, .slope = 2e8};
    hl_stress stress = one_cycle_stress(&store, hard);
    ck_assert_double_eq(device_bench_loss(b, &stress, 298.15).watts[HL_OUTPUT_CHARGE], 0);
    device_bench_set(b, "capacitive_charge", 20e-9);
    device_bench_set(b, "capacitive_voltage", 400);
    device_bench_expect_prepared(b);
    hl_loss loss = device_bench_loss(b, &stress, 298.15);
    ck_near(loss.watts[HL_OUTPUT_CHARGE], 2.0 / 3 * 400 * 20e-9 * 1e5, 1e-12, 0);
    ck_near(loss.watts[HL_REVERSE_RECOVERY], 0.6e-6 * 400e5, 1e-9, 0);
    stress = one_cycle_stress(&store, (one_cycle){.frequency = 1e5, .voltage_off = 400, .swing = 100});
    loss = device_bench_loss(b, &stress, 298.15);
    double k = 20e-9 / sqrt(400), q = k * (20 - sqrt(300)), e = k / 3 * (8000 - pow(300, 1.5));
    ck_near(loss.watts[HL_OUTPUT_CHARGE], 1e5 * (400 * q - e), 1e-10, 0);
    ck_assert_double_eq(loss.watts[HL_REVERSE_RECOVERY], 0);
    ck_near(device_bench_terminal(b, 298.15, 400).output_charge, 20e-9, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, test_point_is_met);
    tcase_add_test(tests, recovery_follows_charge_control);
    tcase_add_test(tests, hot_diode_recovers_more);
    tcase_add_test(tests, depletion_charge_is_booked_beside_the_recovery);
}

int main(void)
{
    return story_main("junction_diode", fill);
}
