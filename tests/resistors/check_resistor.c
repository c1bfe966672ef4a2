/* check_resistor.c - shunt and bleeder, thermistor, fuse, varistor. */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "published.h"
#include "story.h"

static const double room = 298.15;

static hl_stress total(double rms, double dc)
{
    return (hl_stress){.struct_size = sizeof(hl_stress),
                       .total_rms = rms,
                       .total_average = rms,
                       .total_peak = rms,
                       .voltage_dc = dc,
                       .voltage_peak = dc};
}

/* A. Bouziani, 1200 W LLC design file, "Power efficiency of the LLC", 2026: its input shunt is rated 20 A at
 * 50 mV (2.5 mohm), its output shunt 50 A at 100 mV (2 mohm): Ohm's and Joule's laws. */
START_TEST(shunts_at_their_rating)
{
    const struct {
        double amperes, volts;
    } row[] = {{20, 50e-3}, {50, 100e-3}};
    for (int k = 0; k < 2; k++) {
        device_bench *b = device_bench_create("resistor");
        device_bench_set(b, "resistance", row[k].volts / row[k].amperes);
        device_bench_set(b, "rated_power", 5);
        device_bench_expect_prepared(b);
        hl_stress s = total(row[k].amperes, 380); /* the voltage of its place is not across it */
        hl_loss loss = device_bench_loss(b, &s, room);
        ck_published("A. Bouziani, 1200 W 400/48 V LLC design file, 2026, shunts at their rating, W",
                     device_bench_watts(&loss), row[k].amperes * row[k].volts, 1e-12, 0);
        hl_limit power = device_bench_limit(b, &s, room, "resistor power");
        ck_near(power.value, row[k].amperes * row[k].volts, 1e-12, 0);
        device_bench_destroy(b);
    }
}
END_TEST

START_TEST(bleeder_lives_on_the_voltage)
{
    device_bench *b = device_bench_create("resistor");
    device_bench_set(b, "resistance", 2e6);
    device_bench_choose(b, "connection", "across");
    device_bench_set(b, "rated_power", 0.5);
    device_bench_expect_prepared(b);
    hl_stress s = total(0, 400);
    hl_loss loss = device_bench_loss(b, &s, room);
    ck_near(device_bench_watts(&loss), 0.08, 1e-12, 0);
    /* half way down the derating line from 70 to 155 degC */
    ck_near(device_bench_limit(b, &s, 273.15 + 112.5, "resistor power").rated, 0.25, 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

/* With n = 1 an inrush thermistor keeps its voltage, so its loss grows with the current; when cold it is R25.
 */
START_TEST(thermistor_keeps_its_voltage)
{
    device_bench *b = device_bench_create("inrush_thermistor");
    device_bench_set(b, "cold_resistance", 5);
    device_bench_set(b, "hot_resistance", 0.11);
    device_bench_set(b, "rated_current", 4);
    device_bench_expect_prepared(b);
    hl_stress full = total(4, 0), half = total(2, 0), little = total(0.01, 0);
    hl_loss a = device_bench_loss(b, &full, room), c = device_bench_loss(b, &half, room),
            d = device_bench_loss(b, &little, room);
    ck_near(device_bench_watts(&a), 0.11 * 16, 1e-12, 0);
    ck_near(device_bench_watts(&c), 0.5 * 0.11 * 16, 1e-12, 0);
    ck_near(device_bench_watts(&d), 5 * 1e-4, 1e-12, 0);
    device_bench_choose(b, "law", "temperature");
    device_bench_set(b, "b_value", 3000);
    device_bench_expect_prepared(b);
    ck_near(device_bench_terminal(b, 423.15, 0).resistance, 5 * exp(3000 * (1 / 423.15 - 1 / 298.15)), 1e-12,
            0);
    device_bench_destroy(b);
}
END_TEST

/* Ametherm, "Selecting an inrush current limiter", precharge example: 2.35 mF at 746.59 V peak hold 655 J.
 * The limit sets what the user states beside what the part bears. */
START_TEST(inrush_energy_against_rating)
{
    double energy = 0.5 * 2.35e-3 * 746.59 * 746.59;
    ck_published("Ametherm, Selecting an inrush current limiter, precharge example: energy, J", energy, 655,
                 0, 0.5);
    device_bench *b = device_bench_create("inrush_thermistor");
    device_bench_set(b, "cold_resistance", 25);
    device_bench_set(b, "inrush_energy", energy);
    device_bench_set(b, "rated_energy", 700);
    device_bench_expect_prepared(b);
    hl_stress s = total(1, 0);
    hl_limit limit = device_bench_limit(b, &s, room, "inrush energy");
    ck_near(limit.value / limit.rated, energy / 700, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

START_TEST(fuse_warms_to_its_printed_drop)
{
    device_bench *b = device_bench_create("fuse");
    device_bench_set(b, "cold_resistance", 0.02);
    device_bench_set(b, "rated_current", 4);
    device_bench_set(b, "voltage_drop", 0.12);
    device_bench_expect_prepared(b);
    hl_stress full = total(4, 0), little = total(0.1, 0);
    hl_loss a = device_bench_loss(b, &full, room), c = device_bench_loss(b, &little, room);
    ck_near(device_bench_watts(&a), 0.48, 1e-12, 0);
    ck_near(device_bench_watts(&c), 2e-4, 1e-3, 0);
    device_bench_destroy(b);
}
END_TEST

/* As a resistance in the circuit and as a loss the varistor is the same thing. */
START_TEST(varistor_leaks_alike_in_circuit_and_ledger)
{
    device_bench *b = device_bench_create("varistor");
    device_bench_set(b, "rated_voltage", 300);
    device_bench_set(b, "leakage_current", 5e-6);
    device_bench_expect_prepared(b);
    hl_stress s = {.struct_size = sizeof s, .voltage_peak = 230 * sqrt(2)};
    double ohms = device_bench_terminal(b, 330, 230).resistance;
    hl_loss loss = device_bench_loss(b, &s, 330);
    ck_near(device_bench_watts(&loss), 230 * 230 / ohms, 1e-9, 0);
    hl_stress rated = {.struct_size = sizeof rated, .voltage_peak = 300 * sqrt(2)};
    hl_loss full = device_bench_loss(b, &rated, room);
    ck_near(device_bench_watts(&full), 300 * 5e-6, 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, shunts_at_their_rating);
    tcase_add_test(tests, bleeder_lives_on_the_voltage);
    tcase_add_test(tests, thermistor_keeps_its_voltage);
    tcase_add_test(tests, inrush_energy_against_rating);
    tcase_add_test(tests, fuse_warms_to_its_printed_drop);
    tcase_add_test(tests, varistor_leaks_alike_in_circuit_and_ledger);
}

int main(void)
{
    return story_main("resistor", fill);
}
