/* check_turn_off.c - the relief of turn-off by the output capacitance, against the transition solved in time.
 */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "story.h"

static const double room = 298.15;

/* Channel current falls in a straight line within `fall`; the rest charges a constant C until it blocks
 * `bus`, where a diode holds it. Energy in the channel by the trapezoidal rule. */
static double energy_in_time(double current, double bus, double fall, double capacitance)
{
    enum { STEPS = 200000 };
    double h = fall / STEPS, v = 0, energy = 0;
    for (int k = 0; k < STEPS; k++) {
        double i0 = current * (1 - (double)k / STEPS), i1 = current * (1 - (k + 1.0) / STEPS);
        double next = fmin(v + h * (current - 0.5 * (i0 + i1)) / capacitance, bus);
        energy += 0.5 * h * (i0 * v + i1 * next);
        v = next;
    }
    return energy;
}

/* Constant capacitance (exponent 1); 20 nC of plateau through 10 ohm at 5 V make 40 ns; from light to heavy
 * relief.
 */
START_TEST(relief_matches_the_transition_in_time)
{
    double fall = 40e-9, bus = 400;
    device_bench *b = device_bench_create("silicon_mosfet");
    device_bench_set(b, "on_resistance", 0.1);
    device_bench_set(b, "rated_voltage", 650);
    device_bench_set(b, "plateau_voltage", 5);
    device_bench_set(b, "threshold_voltage", 3);
    device_bench_set(b, "gate_resistance_off", 10);
    device_bench_set(b, "internal_gate_resistance", 0);
    device_bench_set(b, "gate_drain_charge", fall * 5 / 10);
    device_bench_set(b, "gate_source_charge_after_threshold", 0);
    device_bench_set(b, "gate_charge_voltage", bus);
    device_bench_set(b, "output_exponent", 1);
    device_bench_set(b, "output_voltage", bus);
    const double farads[] = {1e-12, 20e-12, 100e-12, 200e-12, 1e-9}, current = 4;
    for (int k = 0; k < 5; k++) {
        device_bench_set(b, "output_charge", farads[k] * bus);
        device_bench_expect_prepared(b);
        one_cycle_store store;
        hl_stress stress =
            one_cycle_stress(&store, (one_cycle){.frequency = 1, .off = current, .voltage_off = bus});
        double energy = device_bench_loss(b, &stress, room).watts[HL_TURN_OFF];
        ck_near(energy, energy_in_time(current, bus, fall, farads[k]), 1e-3, 0);
    }
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, relief_matches_the_transition_in_time);
}

int main(void)
{
    return story_main("turn_off", fill);
}
