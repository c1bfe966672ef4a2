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
    /* 170 K/W: at 112.5 degC with 80 mW it stands in air of 98.9 degC, where the line allows 56.1 K of rise
     */
    ck_near(device_bench_limit(b, &s, 273.15 + 112.5, "resistor power").rated, 0.33, 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

/* W allowed by a derating line over air, read off as a data sheet draws it: IEC 60115-1 (from memory). */
static double line_over_air(double rated, double full_c, double zero_c, double air_c)
{
    if (air_c <= full_c) return rated;
    return air_c >= zero_c ? 0.0 : rated * (zero_c - air_c) / (zero_c - full_c);
}

/* In each air the part is as hot as its line makes it: the share of its rating that it uses is the one read
 * off the line for that air.  Run exactly as rated, on the flat or on the slope, it uses all of it. */
START_TEST(resistor_is_judged_by_the_air_about_it)
{
    static const struct {
        double rated, full_c, zero_c, ohms;
    } sheet[] = {{2, 70, 155, 68e3}, {0.25, 70, 155, 1e6}, {5, 25, 275, 0.1}, {3, 100, 170, 0.01}};
    for (size_t k = 0; k < sizeof sheet / sizeof *sheet; k++) {
        double rated = sheet[k].rated, full = sheet[k].full_c, zero = sheet[k].zero_c;
        double theta = (zero - full) / rated;
        device_bench *b = device_bench_create("resistor");
        device_bench_set(b, "resistance", sheet[k].ohms);
        device_bench_set(b, "rated_power", rated);
        device_bench_set(b, "rated_temperature", full + 273.15);
        device_bench_set(b, "zero_power_temperature", zero + 273.15);
        device_bench_expect_prepared(b);
        for (double air = 0; air < zero - 0.5; air += 7)
            for (double share = 0.1; share < 2; share += 0.3) {
                double allowed = line_over_air(rated, full, zero, air), watts = share * allowed;
                hl_stress s = total(sqrt(watts / sheet[k].ohms), 0);
                hl_limit at = device_bench_limit(b, &s, air + theta * watts + 273.15, "resistor power");
                ck_near(at.value / at.rated, share, 1e-9, 0);
            }
        device_bench_destroy(b);
    }
}
END_TEST

/* A leaded 2 W resistor (70 and 155 degC) at 131.6 degC with 0.999 W: theta 42.5 K/W, so air of 89.1 degC,
 * where (155 - 89.1) / 42.5 = 1.55 W is allowed.  And hot from elsewhere, beyond 155 degC, any power is too
 * much. */
START_TEST(resistor_near_its_line_is_not_beyond_it)
{
    device_bench *b = device_bench_create("resistor");
    device_bench_set(b, "resistance", 68e3);
    device_bench_set(b, "rated_power", 2);
    device_bench_expect_prepared(b);
    hl_stress s = total(sqrt(0.999 / 68e3), 0), little = total(sqrt(1e-3 / 68e3), 0), none = total(0, 0);
    hl_limit at = device_bench_limit(b, &s, 131.6 + 273.15, "resistor power");
    ck_near(at.value / at.rated, 0.999 / (0.999 + 23.4 / 42.5), 1e-9, 0);
    at = device_bench_limit(b, &little, 156 + 273.15, "resistor power");
    ck_assert(at.rated > 0 && at.value > at.rated);
    at = device_bench_limit(b, &none, 200 + 273.15, "resistor power");
    ck_assert(at.rated > 0 && at.value == 0);
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
    tcase_add_test(tests, resistor_is_judged_by_the_air_about_it);
    tcase_add_test(tests, resistor_near_its_line_is_not_beyond_it);
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
