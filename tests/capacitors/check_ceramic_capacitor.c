/* check_ceramic_capacitor.c - capacitance over bias, and what it does to the impedance. */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "story.h"

/* A trade page on the bias of ceramic capacitors (ufcapacitors.com; low grade, class not stated): a 10 uF 10
 * V part keeps 5 uF at 5 V in case 0805 and 9.3 uF in 1206. As tables they come back; the law without a table
 * halves at 0.6 of the rated voltage, so it keeps 5.9 uF at 5 V, between the two. */
START_TEST(bias_points)
{
    const double kept[] = {5e-6, 9.3e-6};
    for (int k = 0; k < 2; k++) {
        double v[] = {0, 5}, factor[] = {1, kept[k] / 10e-6};
        device_bench *b = device_bench_create("ceramic_capacitor");
        device_bench_set(b, "capacitance", 10e-6);
        device_bench_set(b, "rated_voltage", 10);
        device_bench_expect_prepared(b);
        double law = device_bench_terminal(b, 298.15, 5).capacitance;
        ck_assert(law > kept[0] && law < kept[1]);
        device_bench_curve(b, "bias_factor", 2, v, factor);
        device_bench_expect_prepared(b);
        ck_near(device_bench_terminal(b, 298.15, 5).capacitance, kept[k], 1e-12, 0);
        double real, imaginary;
        b->model->device->impedance(b->state, 298.15, 5, 1e4, &real, &imaginary);
        ck_near(imaginary, -1 / (2 * 3.14159265358979 * 1e4 * kept[k]), 2e-4, 0); /* less the ESL */
        device_bench_destroy(b);
    }
}
END_TEST

START_TEST(class_1_knows_no_bias)
{
    device_bench *b = device_bench_create("ceramic_capacitor");
    device_bench_set(b, "capacitance", 10e-9);
    device_bench_set(b, "rated_voltage", 50);
    device_bench_choose(b, "dielectric", "class_1");
    device_bench_expect_prepared(b);
    ck_near(device_bench_terminal(b, 298.15, 50).capacitance, 10e-9, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, bias_points);
    tcase_add_test(tests, class_1_knows_no_bias);
}

int main(void)
{
    return story_main("ceramic_capacitor", fill);
}
