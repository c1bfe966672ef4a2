/* check_film_capacitor.c - loss factor and series resistance of film capacitors. */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "published.h"
#include "story.h"

static const double pi = 3.14159265358979323846;

static double resistance_at(const device_bench *b, double frequency)
{
    double real, imaginary;
    b->model->device->impedance(b->state, 293.15, 0, frequency, &real, &imaginary);
    return real;
}

/* TDK, data sheet of a metallised polypropylene series: upper limits of tan delta at 1, 10, 100 kHz:
 * 0.8, 1.0, 2.0 per thousand up to 27 nF; 0.8, 1.0, 3.0 up to 100 nF. The sheet prints no ESR; tan delta / (2
 * pi f C) is 0.145 ohm for 22 nF and 0.048 ohm for 100 nF at 100 kHz. */
START_TEST(loss_factor_table_gives_the_resistance)
{
    double f[] = {1e3, 1e4, 1e5}, small[] = {0.8e-3, 1e-3, 2e-3}, large[] = {0.8e-3, 1e-3, 3e-3};
    const struct {
        double farads, *table, ohms;
    } row[] = {{22e-9, small, 0.145}, {100e-9, large, 0.048}};
    for (int k = 0; k < 2; k++) {
        device_bench *b = device_bench_create("film_capacitor");
        device_bench_set(b, "capacitance", row[k].farads);
        device_bench_set(b, "rated_voltage", 630);
        device_bench_curve(b, "loss_factor_curve", 3, f, row[k].table);
        device_bench_expect_prepared(b);
        ck_published("TDK, data sheet of a metallised polypropylene series: ESR at 100 kHz by tan delta, ohm",
                     resistance_at(b, 1e5), row[k].ohms, 0, 0.0005);
        for (int j = 0; j < 3; j++)
            ck_published("TDK, data sheet of a metallised polypropylene series: tan delta",
                         resistance_at(b, f[j]) * 2 * pi * f[j] * row[k].farads, row[k].table[j], 1e-9, 0);
        device_bench_destroy(b);
    }
}
END_TEST

/* Vishay, data sheet of a dc-link film series, 500 V rows: ESR at 10 kHz and the rms current for a rise of 15
 * K at 85 degC: 1 uF 36.5 mohm 2.8 A; 4 uF 12 mohm 5.5 A; 15 uF 3 mohm 15 A; 30 uF 2 mohm 18.5 A. Loss at
 * that current 0.286, 0.363, 0.675, 0.685 W; tan delta at 10 kHz within the printed limits of 0.0085 (1 uF)
 * and 0.012 (30 uF). */
START_TEST(rated_current_and_loss_factor_limits)
{
    const struct {
        double farads, ohms, amperes, watts, limit;
    } row[] = {{1e-6, 36.5e-3, 2.8, 0.286, 0.0085},
               {4e-6, 12e-3, 5.5, 0.363, 0},
               {15e-6, 3e-3, 15, 0.675, 0},
               {30e-6, 2e-3, 18.5, 0.6845, 0.012}};
    for (int k = 0; k < 4; k++) {
        device_bench *b = device_bench_create("film_capacitor");
        device_bench_set(b, "capacitance", row[k].farads);
        device_bench_set(b, "rated_voltage", 500);
        device_bench_set(b, "esr", row[k].ohms);
        device_bench_set(b, "esr_frequency", 1e4);
        device_bench_set(b, "rated_ripple_current", row[k].amperes);
        device_bench_expect_prepared(b);
        double f[] = {1e4}, square[] = {row[k].amperes * row[k].amperes};
        hl_stress stress = {
            .struct_size = sizeof stress, .lines = 1, .line_frequency = f, .line_rms_squared = square};
        hl_loss loss = device_bench_loss(b, &stress, 358.15);
        ck_published("Vishay, data sheet of a dc-link film series: loss at the rated current, W",
                     device_bench_watts(&loss), row[k].watts, 0, 0.0005);
        hl_limit ripple = device_bench_limit(b, &stress, 358.15, "ripple current");
        ck_near(ripple.value / ripple.rated, 1, 1e-12, 0);
        double tangent = resistance_at(b, 1e4) * 2 * pi * 1e4 * row[k].farads;
        if (row[k].limit > 0) ck_assert_double_lt(tangent, row[k].limit);
        device_bench_destroy(b);
    }
}
END_TEST

/* tan delta at 1 kHz less the film's own is the metal: seen again as ESR at 100 kHz. */
START_TEST(metal_and_film_part_company_over_frequency)
{
    device_bench *b = device_bench_create("film_capacitor");
    device_bench_set(b, "capacitance", 1e-6);
    device_bench_set(b, "rated_voltage", 400);
    device_bench_set(b, "loss_factor", 5e-4);
    device_bench_set(b, "dielectric_loss_factor", 2e-4);
    device_bench_expect_prepared(b);
    double metal = 3e-4 / (2 * pi * 1e3 * 1e-6);
    ck_near(resistance_at(b, 1e3), 5e-4 / (2 * pi * 1e3 * 1e-6), 1e-12, 0);
    ck_near(resistance_at(b, 1e5), metal + 2e-4 / (2 * pi * 1e5 * 1e-6), 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

/* A loss factor at 1 kHz is the film's: at 100 kHz a 30 nF part has some 36 mohm, not the ohm that a
 * thousandth of difference to another film would make of it. */
START_TEST(low_frequency_loss_factor_is_the_films)
{
    device_bench *b = device_bench_create("film_capacitor");
    device_bench_set(b, "capacitance", 30e-9);
    device_bench_set(b, "rated_voltage", 630);
    device_bench_set(b, "loss_factor", 4e-4);
    device_bench_expect_prepared(b);
    ck_near(resistance_at(b, 1e3), 4e-4 / (2 * pi * 1e3 * 30e-9), 1e-9, 0);
    ck_near(resistance_at(b, 1e5), 0.036, 0.02, 0);
    device_bench_destroy(b);
}
END_TEST

/* tan delta = film + w C R at two frequencies, far apart or near each other, gives back both: seen between
 * them. */
START_TEST(two_points_fix_film_and_metal)
{
    const double apart[] = {100, 1.1}, film = 3e-4, metal = 5e-3, farads = 1e-6;
    for (int k = 0; k < 2; k++) {
        double low = 1e3, high = low * apart[k], between = low * sqrt(apart[k]);
        device_bench *b = device_bench_create("film_capacitor");
        device_bench_set(b, "capacitance", farads);
        device_bench_set(b, "rated_voltage", 400);
        device_bench_set(b, "loss_factor_frequency", low);
        device_bench_set(b, "loss_factor", film + 2 * pi * low * farads * metal);
        device_bench_set(b, "esr_frequency", high);
        device_bench_set(b, "esr", metal + film / (2 * pi * high * farads));
        device_bench_expect_prepared(b);
        ck_near(resistance_at(b, between), metal + film / (2 * pi * between * farads), 1e-9, 0);
        ck_near(resistance_at(b, 1e6), metal + film / (2 * pi * 1e6 * farads), 1e-9, 0);
        device_bench_destroy(b);
    }
}
END_TEST

/* An ESR below what the usual film alone would make of it is all film; a loss factor at 1 kHz is the metal's
 * by half at most. */
START_TEST(no_more_is_metal_or_film_than_was_stated)
{
    device_bench *b = device_bench_create("film_capacitor");
    device_bench_set(b, "capacitance", 1e-6);
    device_bench_set(b, "rated_voltage", 400);
    device_bench_set(b, "esr", 1e-4);
    device_bench_set(b, "esr_frequency", 1e5);
    device_bench_expect_prepared(b);
    ck_near(resistance_at(b, 1e5), 1e-4, 1e-12, 0);
    ck_near(resistance_at(b, 1e4), 1e-3, 1e-12, 0);
    device_bench_reset(b);
    device_bench_set(b, "capacitance", 1e-6);
    device_bench_set(b, "rated_voltage", 400);
    device_bench_set(b, "loss_factor", 1e-4);
    device_bench_expect_prepared(b);
    ck_near(resistance_at(b, 1e3), 1e-4 / (2 * pi * 1e3 * 1e-6), 1e-12, 0);
    ck_near(resistance_at(b, 1e5), 0.5e-4 / (2 * pi * 1e-6) * (1 / 1e3 + 1 / 1e5), 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

/* Rated for mains alone it stands the crest of that. */
START_TEST(an_alternating_rating_is_one_of_its_crest)
{
    device_bench *b = device_bench_create("safety_film_capacitor");
    device_bench_set(b, "capacitance", 0.33e-6);
    device_bench_set(b, "rated_ac_voltage", 310);
    device_bench_expect_prepared(b);
    ck_near(device_bench_terminal(b, 298.15, 0).rated_voltage, 310 * sqrt(2), 1e-12, 0);
    device_bench_set(b, "rated_voltage", 800);
    device_bench_expect_prepared(b);
    ck_near(device_bench_terminal(b, 298.15, 0).rated_voltage, 800, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, loss_factor_table_gives_the_resistance);
    tcase_add_test(tests, rated_current_and_loss_factor_limits);
    tcase_add_test(tests, low_frequency_loss_factor_is_the_films);
    tcase_add_test(tests, metal_and_film_part_company_over_frequency);
    tcase_add_test(tests, two_points_fix_film_and_metal);
    tcase_add_test(tests, no_more_is_metal_or_film_than_was_stated);
    tcase_add_test(tests, an_alternating_rating_is_one_of_its_crest);
}

int main(void)
{
    return story_main("film_capacitor", fill);
}
