/* check_turn_off.c - the relief of turn-off by the output capacitance, against the transition solved in time.
 */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "story.h"

static const double room = 298.15;

typedef struct circuit {
    double current, bus, resistance, gate_source, gate_drain, output, threshold,
        plateau; /* plateau at `current` */
} circuit;

/* Energy in the channel as the gate is discharged to zero: constant C_gs, C_gd, C_ds and transconductance,
 * constant load current, a diode that holds the drain at the bus. Euler steps of 1e-4 of the shorter time. */
static double energy_in_time(const circuit *c)
{
    double slope = c->current / (c->plateau - c->threshold), gate = c->plateau, drain = 0, energy = 0;
    double all = c->gate_source + c->gate_drain, out = c->output + c->gate_drain;
    double determinant = all * out - c->gate_drain * c->gate_drain;
    double h = 1e-4 * c->resistance * fmin(c->gate_source, c->gate_drain * c->bus / c->plateau);
    while (gate > c->threshold) {
        double channel = slope * (gate - c->threshold), pull = -gate / c->resistance,
               spare = c->current - channel;
        bool held = drain >= c->bus;
        double gate_rate = held ? pull / all : (pull * out + spare * c->gate_drain) / determinant;
        double drain_rate = held ? 0 : (spare * all + pull * c->gate_drain) / determinant;
        double next = fmin(fmax(drain + h * drain_rate, 0), c->bus);
        energy += 0.5 * h * channel * (drain + next);
        drain = next;
        gate += h * gate_rate;
    }
    return energy;
}

static double energy_of_model(const circuit *c, const char *law)
{
    device_bench *b = device_bench_create("silicon_mosfet");
    device_bench_set(b, "on_resistance", 0.1);
    device_bench_set(b, "rated_voltage", 650);
    device_bench_set(b, "plateau_voltage", c->plateau);
    device_bench_set(b, "threshold_voltage", c->threshold);
    device_bench_set(b, "gate_resistance_off", c->resistance);
    device_bench_set(b, "internal_gate_resistance", 0);
    device_bench_set(b, "gate_drain_charge", c->gate_drain * c->bus);
    device_bench_set(b, "gate_source_charge_after_threshold", c->gate_source * (c->plateau - c->threshold));
    device_bench_set(b, "gate_charge_voltage", c->bus);
    device_bench_set(b, "output_exponent", 1); /* constant capacitance */
    device_bench_set(b, "output_voltage", c->bus);
    device_bench_set(b, "output_charge", (c->output + c->gate_drain) * c->bus);
    device_bench_choose(b, "turn_off_law", law);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress =
        one_cycle_stress(&store, (one_cycle){.frequency = 1, .off = c->current, .voltage_off = c->bus});
    double energy = device_bench_loss(b, &stress, room).watts[HL_TURN_OFF];
    device_bench_destroy(b);
    return energy;
}

/* From no snubbing to a channel that is long shut when the voltage rises; slow and fast gates, steep and flat
 * transconductance. The law leaves out that the gate itself takes part of the current fall during the rise:
 * at most 7 % of the plain overlap. */
START_TEST(snubbed_turn_off_matches_the_circuit_in_time)
{
    const circuit base = {10, 400, 10, 2e-9, 20e-12, 0, 3, 5};
    for (int kind = 0; kind < 4; kind++) {
        circuit c = base;
        if (kind == 1) c.plateau = 4;
        if (kind == 2) c.resistance = 2;
        if (kind == 3) c.gate_source = 0.2e-9;
        for (c.output = 1e-12; c.output < 2e-9; c.output *= 2.5) {
            double plain = energy_of_model(&c, "channel");
            ck_near(energy_of_model(&c, "snubbed"), energy_in_time(&c), 0, 0.07 * plain);
        }
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, snubbed_turn_off_matches_the_circuit_in_time);
}

int main(void)
{
    return story_main("turn_off", fill);
}
