/* check_gan_transistor.c - what sets the GaN transistor apart: reverse drop, dynamic resistance, no recovery.
 */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "story.h"

static const double room = 298.15;

static device_bench *transistor(void)
{
    device_bench *b = device_bench_create("gan_transistor");
    device_bench_set(b, "on_resistance", 0.1);
    device_bench_set(b, "rated_voltage", 650);
    device_bench_set(b, "dynamic_resistance_factor", 1);
    device_bench_expect_prepared(b);
    return b;
}

/* Off with 3 V below the source, the channel opens in reverse only when the drain lies lower by that much
 * more. */
START_TEST(negative_gate_adds_to_the_reverse_drop)
{
    device_bench *b = transistor();
    double plain = device_bench_terminal(b, room, 0).reverse_voltage;
    device_bench_set(b, "gate_off_voltage", -3);
    device_bench_expect_prepared(b);
    hl_terminal t = device_bench_terminal(b, room, 0);
    ck_near(t.reverse_voltage, plain + 3, 1e-12, 0);
    ck_near(t.reverse_resistance, t.resistance, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

START_TEST(dynamic_factor_multiplies_conduction)
{
    device_bench *b = transistor();
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, (one_cycle){.frequency = 1e5, .rms = 3});
    double plain = device_bench_loss(b, &stress, room).watts[HL_CONDUCTION];
    ck_near(plain, 0.9, 1e-12, 0);
    device_bench_set(b, "dynamic_resistance_factor", 1.3);
    device_bench_expect_prepared(b);
    ck_near(device_bench_loss(b, &stress, room).watts[HL_CONDUCTION], 1.3 * plain, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

START_TEST(no_charge_is_recovered)
{
    device_bench *b = transistor();
    one_cycle_store store;
    hl_stress stress =
        one_cycle_stress(&store, (one_cycle){.frequency = 1e5, .off = 10, .voltage_off = 400, .slope = 1e9});
    ck_assert_double_eq(device_bench_loss(b, &stress, room).watts[HL_REVERSE_RECOVERY], 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, negative_gate_adds_to_the_reverse_drop);
    tcase_add_test(tests, dynamic_factor_multiplies_conduction);
    tcase_add_test(tests, no_charge_is_recovered);
}

int main(void)
{
    return story_main("gan_transistor", fill);
}
