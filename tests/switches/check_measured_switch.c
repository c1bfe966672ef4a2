/* check_measured_switch.c - three figures, or none: an ideal switch. */
#include "device_bench.h"
#include "device_properties.h"
#include "story.h"

static const one_cycle hard = {.frequency = 1e5,
                               .average = 2,
                               .rms = 3,
                               .on = 3,
                               .off = 4,
                               .voltage_on = 400,
                               .voltage_off = 400,
                               .reverse = 0.5,
                               .swing = 400};

START_TEST(without_figures_it_is_ideal)
{
    device_bench *b = device_bench_create("measured_switch");
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, hard);
    hl_loss loss = device_bench_loss(b, &stress, 350);
    ck_assert_double_eq(device_bench_watts(&loss), 0);
    device_bench_destroy(b);
}
END_TEST

START_TEST(each_figure_books_its_own_loss)
{
    device_bench *b = device_bench_create("measured_switch");
    device_bench_set(b, "resistance", 0.1);
    device_bench_set(b, "reverse_voltage", 0.8);
    device_bench_set(b, "output_charge", 40e-9);
    device_bench_set(b, "output_voltage", 400);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, hard);
    hl_loss loss = device_bench_loss(b, &stress, 350);
    ck_near(loss.watts[HL_CONDUCTION], 0.9, 1e-12, 0);
    ck_near(loss.watts[HL_REVERSE_CONDUCTION], 0.4, 1e-12, 0);
    ck_near(loss.watts[HL_OUTPUT_CHARGE], 1e5 * 400 * 40e-9, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, without_figures_it_is_ideal);
    tcase_add_test(tests, each_figure_books_its_own_loss);
}

int main(void)
{
    return story_main("measured_switch", fill);
}
