/* check_schottky_diode.c - forward drop by threshold and slope, by a curve, by one point; leakage. */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "published.h"
#include "story.h"

static double drop_at(const device_bench *b, double current, double temperature)
{
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, (one_cycle){.average = current, .rms = current});
    return device_bench_loss(b, &stress, temperature).watts[HL_CONDUCTION] / current;
}

/* STMicroelectronics, data sheet of a 170 V 30 A Schottky diode, Rev 5, 2019, table 3 and loss equation: 0.65
 * V and 4.6 mohm at 125 degC; maximum drop 0.70 V at 15 A, 0.79 V at 30 A. The line is a fit to the upper
 * currents: at 30 A it gives 0.788 V, at half of that 0.719 V, 2.7 % above the printed point. */
START_TEST(loss_equation_of_a_data_sheet)
{
    device_bench *b = device_bench_create("schottky_diode");
    device_bench_set(b, "rated_voltage", 170);
    device_bench_set(b, "threshold_voltage", 0.65);
    device_bench_set(b, "slope_resistance", 4.6e-3);
    device_bench_set(b, "forward_temperature", 398.15);
    device_bench_expect_prepared(b);
    ck_published("STMicroelectronics, data sheet of a 170 V 30 A Schottky diode, 2019: drop at 30 A, V",
                 drop_at(b, 30, 398.15), 0.79, 0, 0.005);
    ck_published("STMicroelectronics, data sheet of a 170 V 30 A Schottky diode, 2019: drop at 15 A, V",
                 drop_at(b, 15, 398.15), 0.70, 0.028, 0);
    device_bench_destroy(b);
}
END_TEST

/* Texas Instruments, data sheet of a 2 MHz step-down regulator, eq. 55: 0.5 V, 2 A, D 0.314: 686 mW.
 * L. Dinwoodie (Unitrode / Texas Instruments), application note on an isolated 50 W flyback, p. 8: 0.47 V, 10
 * A: 4.7 W. Both a constant drop. */
START_TEST(catch_diode_and_flyback_rectifier)
{
    const struct {
        double drop, mean, printed, room;
    } row[] = {{0.5, 2 * (1 - 0.314), 0.686, 0.0005}, {0.47, 10, 4.7, 0.05}};
    for (int k = 0; k < 2; k++) {
        device_bench *b = device_bench_create("schottky_diode");
        device_bench_set(b, "rated_voltage", 40);
        device_bench_set(b, "forward_voltage", row[k].drop);
        device_bench_expect_prepared(b);
        one_cycle_store store;
        hl_stress stress =
            one_cycle_stress(&store, (one_cycle){.average = row[k].mean, .rms = 1.3 * row[k].mean});
        hl_loss loss = device_bench_loss(b, &stress, 298.15);
        ck_published(
            "Texas Instruments, step-down regulator, eq. 55; L. Dinwoodie, 50 W flyback, p. 8: rectifier, W",
            device_bench_watts(&loss), row[k].printed, 0, row[k].room);
        device_bench_destroy(b);
    }
}
END_TEST

/* A curve that is a straight line gives what threshold and slope give, for any waveform. */
START_TEST(straight_curve_equals_threshold_and_slope)
{
    double i[] = {0, 2, 10}, v[] = {0.3, 0.34, 0.5};
    device_bench *curve = device_bench_create("schottky_diode"),
                 *line = device_bench_create("schottky_diode");
    device_bench_set(curve, "rated_voltage", 60);
    device_bench_curve(curve, "forward_curve", 3, i, v);
    device_bench_expect_prepared(curve);
    device_bench_set(line, "rated_voltage", 60);
    device_bench_set(line, "threshold_voltage", 0.3);
    device_bench_set(line, "slope_resistance", 0.02);
    device_bench_expect_prepared(line);
    for (double t = 250; t < 420; t += 40) {
        one_cycle_store store;
        hl_stress stress = one_cycle_stress(&store, (one_cycle){.average = 2, .rms = 3.7});
        hl_loss a = device_bench_loss(curve, &stress, t), b = device_bench_loss(line, &stress, t);
        ck_near(device_bench_watts(&a), device_bench_watts(&b), 1e-12, 0);
        ck_near(a.slope, b.slope, 1e-9, 0);
    }
    device_bench_destroy(curve);
    device_bench_destroy(line);
}
END_TEST

/* Doubles every so many kelvin, and so does its slope: beyond some rise no heat path keeps up. */
START_TEST(leakage_doubles)
{
    device_bench *b = device_bench_create("schottky_diode");
    device_bench_set(b, "rated_voltage", 100);
    device_bench_set(b, "threshold_voltage", 0.3);
    device_bench_set(b, "slope_resistance", 0);
    device_bench_set(b, "leakage_current", 1e-4);
    device_bench_set(b, "leakage_doubling", 11);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, (one_cycle){.voltage_off = 100, .duty = 0.25});
    hl_loss cold = device_bench_loss(b, &stress, 298.15), warm = device_bench_loss(b, &stress, 298.15 + 110);
    ck_near(cold.watts[HL_LEAKAGE], 1e-4 * 100 * 0.75, 1e-12, 0);
    ck_near(warm.watts[HL_LEAKAGE], 1024 * cold.watts[HL_LEAKAGE], 1e-9, 0);
    ck_near(warm.slope, warm.watts[HL_LEAKAGE] * log(2) / 11, 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

/* Cycles at other voltages, one of them none: the slope is that of the sum, by difference and as P ln 2 / d,
 * whichever comes last. */
START_TEST(slope_of_leakage_is_that_of_all_cycles)
{
    device_bench *b = device_bench_create("schottky_diode");
    device_bench_set(b, "rated_voltage", 100);
    device_bench_set(b, "threshold_voltage", 0.3);
    device_bench_set(b, "slope_resistance", 0);
    device_bench_set(b, "leakage_current", 1e-4);
    device_bench_set(b, "leakage_doubling", 12);
    device_bench_expect_prepared(b);
    const double weight[] = {0.3, 0.5, 0.2}, blocks[][3] = {{48, 12, 0}, {0, 48, 12}, {12, 0, 48}};
    for (int k = 0; k < 3; k++) {
        hl_stress s = {.struct_size = sizeof s, .n = 3, .weight = weight, .voltage_off = blocks[k]};
        hl_loss at = device_bench_loss(b, &s, 340), above = device_bench_loss(b, &s, 340.01),
                below = device_bench_loss(b, &s, 339.99);
        double expected = 0; /* p = 1 */
        for (int i = 0; i < 3; i++) expected += weight[i] * 1e-4 * pow(blocks[k][i], 2) / 100;
        ck_near(at.watts[HL_LEAKAGE], expected * exp2((340 - 298.15) / 12), 1e-12, 0);
        ck_near(at.slope, at.watts[HL_LEAKAGE] * log(2) / 12, 1e-12, 0);
        ck_near(at.slope, (above.watts[HL_LEAKAGE] - below.watts[HL_LEAKAGE]) / 0.02, 1e-6, 0);
    }
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, loss_equation_of_a_data_sheet);
    tcase_add_test(tests, catch_diode_and_flyback_rectifier);
    tcase_add_test(tests, straight_curve_equals_threshold_and_slope);
    tcase_add_test(tests, leakage_doubles);
    tcase_add_test(tests, slope_of_leakage_is_that_of_all_cycles);
}

int main(void)
{
    return story_main("schottky_diode", fill);
}
