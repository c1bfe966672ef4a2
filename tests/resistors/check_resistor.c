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

/* With n = 1 an inrush thermistor keeps its voltage, so its loss grows with the current; cold it is R25. */
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

/* What a fit's end or the range of a law leaves: 3 % of the cold resistance while no hot one is stated, and
 * said so; so far as exp(12) of it by temperature, which no thermistor reaches. */
START_TEST(thermistor_without_a_hot_resistance_says_so)
{
    device_bench *b = device_bench_create("inrush_thermistor");
    device_bench_set(b, "cold_resistance", 5);
    device_bench_set(b, "rated_current", 2);
    device_bench_expect_prepared(b);
    hl_stress full = total(2, 0), none = total(0, 0);
    hl_loss loss = device_bench_loss(b, &full, room);
    ck_near(device_bench_watts(&loss), 0.03 * 5 * 4, 1e-12, 0);
    ck_assert_uint_eq(loss.flags, HL_FALLBACK);
    ck_assert_uint_eq(device_bench_loss(b, &none, room).flags, 0);
    device_bench_choose(b, "law", "temperature");
    device_bench_set(b, "b_value", 3000);
    device_bench_expect_prepared(b);
    ck_assert_uint_eq(device_bench_loss(b, &full, room).flags, 0);
    ck_near(device_bench_terminal(b, 100, 0).resistance, 5 * exp(12), 1e-12, 0);
    ck_near(device_bench_loss(b, &full, 100).slope, 0, 0, 0);
    device_bench_destroy(b);
}
END_TEST

/* Beyond twice its rating a fuse has opened: it is no hotter than there. What an inrush may hold of the
 * melting I2t is told where both are stated. */
START_TEST(fuse_beyond_its_rating_and_its_melting_integral)
{
    device_bench *b = device_bench_create("fuse");
    device_bench_set(b, "cold_resistance", 0.02);
    device_bench_set(b, "rated_current", 4);
    device_bench_set(b, "voltage_drop", 0.12); /* half as much again as when cold */
    device_bench_expect_prepared(b);
    hl_stress thrice = total(12, 0);
    hl_loss loss = device_bench_loss(b, &thrice, room);
    ck_near(device_bench_watts(&loss), 144 * 0.02 * (1 + 0.5 * 4), 1e-12, 0);
    hl_limit list[HL_LIMITS_MAX];
    ck_assert_uint_eq(b->model->device->limits(b->state, &thrice, room, list), 1);
    device_bench_set(b, "melting_integral", 10);
    device_bench_expect_prepared(b);
    ck_assert_uint_eq(b->model->device->limits(b->state, &thrice, room, list), 1);
    device_bench_set(b, "inrush_integral", 3);
    device_bench_expect_prepared(b);
    hl_limit inrush = device_bench_limit(b, &thrice, room, "inrush I2t");
    ck_near(inrush.value / inrush.rated, 0.3, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

/* The law below the knee is held where it ends: at twice the rated voltage, and at e^30 of the leakage at
 * room. */
START_TEST(varistor_is_held_where_its_law_ends)
{
    device_bench *b = device_bench_create("varistor");
    device_bench_set(b, "rated_voltage", 300);
    device_bench_set(b, "leakage_current", 5e-6);
    device_bench_expect_prepared(b);
    hl_stress s = {.struct_size = sizeof s, .voltage_dc = 900},
              usual = {.struct_size = sizeof s, .voltage_dc = 300};
    hl_loss high = device_bench_loss(b, &s, room), warm = device_bench_loss(b, &usual, room + 40),
            hot = device_bench_loss(b, &usual, room + 30 * 40 / log(2) + 10);
    ck_near(device_bench_watts(&high), 900 * 5e-6 * 8, 1e-12, 0);
    ck_near(device_bench_watts(&warm), 300 * 5e-6 * 2, 1e-12, 0); /* doubled by 40 K */
    ck_near(device_bench_watts(&hot), 300 * 5e-6 * exp(30), 1e-12, 0);
    ck_near(hot.slope, 0, 0, 0);
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
    tcase_add_test(tests, thermistor_without_a_hot_resistance_says_so);
    tcase_add_test(tests, fuse_beyond_its_rating_and_its_melting_integral);
    tcase_add_test(tests, varistor_is_held_where_its_law_ends);
}

int main(void)
{
    return story_main("resistor", fill);
}
