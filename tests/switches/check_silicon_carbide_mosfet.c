/* check_silicon_carbide_mosfet.c - flat over temperature, high body-diode drop, depletion capacitance. */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "story.h"

static device_bench *transistor(void)
{
    device_bench *b = device_bench_create("silicon_carbide_mosfet");
    device_bench_set(b, "on_resistance", 0.06);
    device_bench_set(b, "rated_voltage", 650);
    device_bench_set(b, "output_charge", 70e-9);
    device_bench_set(b, "output_voltage", 400);
    device_bench_expect_prepared(b);
    return b;
}

/* Without a table the power law stands in, says so, and rises less than silicon's. */
START_TEST(power_law_stands_in_for_a_table)
{
    device_bench *b = transistor();
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, (one_cycle){.frequency = 1e5, .rms = 10});
    hl_loss loss = device_bench_loss(b, &stress, 423.15);
    ck_near(loss.watts[HL_CONDUCTION], 6.0 * 423.15 / 298.15, 1e-12, 0);
    ck_assert(loss.flags & HL_FALLBACK);
    device_bench_destroy(b);
}
END_TEST

/* Charge alone is stated: a depletion layer holds a third of v Q. */
START_TEST(energy_of_a_depletion_layer)
{
    device_bench *b = transistor();
    hl_terminal t = device_bench_terminal(b, 298.15, 400);
    ck_near(t.output_charge, 70e-9, 1e-12, 0);
    ck_near(t.output_energy, 70e-9 * 400 / 3, 1e-12, 0);
    ck_near(device_bench_terminal(b, 298.15, 100).output_charge, 35e-9, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

/* Common-source inductance lengthens both current transitions by L I over the mean drive left: by hand,
 * 1/2 V I^2 L (1 / (18 - 5.5) + 1 / 5.5) f. */
START_TEST(common_source_inductance_costs_overlap)
{
    device_bench *b = transistor();
    device_bench_choose(b, "turn_off_law", "channel");
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(
        &store, (one_cycle){.frequency = 1e5, .on = 20, .off = 20, .voltage_on = 400, .voltage_off = 400});
    hl_loss without = device_bench_loss(b, &stress, 298.15);
    device_bench_set(b, "common_source_inductance", 5e-9);
    device_bench_expect_prepared(b);
    hl_loss with = device_bench_loss(b, &stress, 298.15);
    double expected = 0.5 * 400 * 20 * 20 * 5e-9 * (1 / 12.5 + 1 / 5.5) * 1e5;
    ck_near(device_bench_watts(&with) - device_bench_watts(&without), expected, 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, power_law_stands_in_for_a_table);
    tcase_add_test(tests, energy_of_a_depletion_layer);
    tcase_add_test(tests, common_source_inductance_costs_overlap);
}

int main(void)
{
    return story_main("silicon_carbide_mosfet", fill);
}
