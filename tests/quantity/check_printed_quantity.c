/* SI to text and back, and the judgement whether a figure is usual. */
#include "story.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "lottery.h"

/* clang-format off */
static const struct { double value; const char *unit; int digits; const char *text; } shown[] = {
    {0.150, "ohm", 4, "150 mohm"},        {4700, "ohm", 4, "4.7 kohm"},     {0.33e-6, "F", 4, "330 nF"},
    {2e-6, "H", 3, "2 uH"},               {296.55, "degC", 3, "23.4 degC"}, {273.15, "degC", 3, "0 degC"},
    {1.8, "K/W", 3, "1.8 K/W"},           {0.018, "K/W", 3, "0.018 K/W"},   {0.256, "%", 3, "25.6 %"},
    {0.256, "1", 3, "0.256"},             {65000, "Hz", 3, "65 kHz"},       {0.31, "m", 3, "310 mm"},
    {40e-6, "m^2", 3, "40 mm^2"},         {40e-6, "mm^2", 3, "40 mm^2"},    {999.96, "V", 4, "1 kV"},
    {999.94, "V", 4, "999.9 V"},          {-0.015, "A", 3, "-15 mA"},       {0, "ohm", 3, "0 ohm"},
    {123456789, "W", 3, "123 MW"},        {1e-18, "A", 3, "0.001 fA"},      {350e3, "W/m^3", 3, "350 kW/m^3"},
    {0.25, "W/(m K)", 3, "0.25 W/(m K)"}, {300e6, "A/s", 3, "300 A/us"},    {50e9, "V/s", 3, "50 V/ns"},
    {200e-6, "1/K", 3, "200 ppm/K"},      {0.0039, "1/K", 3, "0.39 %/K"},   {3600, "h", 3, "1 h"},
    {1.25, "rad", 3, "1.25 rad"},         {0.0039, "rad", 3, "0.0039 rad"},   {0.5, "1", 3, "0.5"},
    {12e-6, "V s", 3, "12 uV s"},         {0.012, "kg", 3, "12 g"},         {1.5, "\xCE\xA9", 3, "1.5 ohm"},
    {2e-6, "\xC2\xB5""F", 3, "2 uF"},     {1e12, "1", 3, "1e12"},           {123456, "1", 3, "123000"},
    {1.25e-9, "K/W", 3, "1.25e-9 K/W"},   {12, "A^2 s", 3, "12 A^2 s"},     {7, "blobs", 3, "7 blobs"},
    {7, NULL, 3, "7"},                    {NAN, "V", 3, "nan V"},           {-INFINITY, "V", 3, "-inf V"},
    {1.5, "V", 0, "2 V"},                 {1.5, "V", 99, "1.5 V"},          {600, "s", 3, "600 s"},
};

/* 0.5 mohm to 20 ohm is usual in these rows unless they say otherwise. */
static const struct { const char *text, *unit; double value, low, high; const char *why; } odd[] = {
    {"150 Mohm", "ohm", 150e6, 0.5e-3, 20, "150 Mohm is outside 0.5 mohm … 20 ohm; did you mean 150 mohm?"},
    {"10 mF", "F", 10e-3, 1e-12, 5e-3, "10 mF is outside 1 pF … 5 mF; did you mean 10 uF?"},
    {"10 mohm", "ohm", 10e-3, 1e5, 1e8, "did you mean 10 Mohm?"},
    {"47 kohm", "ohm", 47e3, 0.5e-3, 1e2, "did you mean 47 ohm?"},
    {"150 K", "degC", 150, 218.15, 473.15, "150 K is outside -55 degC … 200 degC; did you mean 150 degC?"},
    {"3", "1", 3, 0, 2, "3 is outside 0 … 2; check figure and unit"},
    {"45", "1", 45, 0, 1, "45 is outside 0 … 1; did you mean 45 %?"},
    {"0.5 %", "1", 0.005, 0.1, 1, "did you mean 0.5?"},
    {"5000 K/W", "K/W", 5000, 0.01, 500, "5000 K/W is outside 0.01 K/W … 500 K/W; check figure and unit"},
    {"88 m", "m", 88, 1e-4, 0.5, "did you mean 88 mm?"},
    {"3 mm^2", "m^2", 3e-6, 1e-13, 1e-10, "did you mean 3 um^2?"},
    {"1000000000000000000000 V", "V", 1e21, 1, 2, "check figure and unit"},
    {"4R7", "ohm", 4.7, 10, 20, "4R7 is outside 10 ohm … 20 ohm; check figure and unit"},
    {"x", "ohm", NAN, 10, 20, "not a finite number"},
    {"x", "ohm", INFINITY, 0, 0, "not a finite number"},
    {"-5 V", "V", -5, 0, 10, "-5 V is outside 0 V … 10 V; check figure and unit"},
};
/* clang-format on */

START_TEST(a_value_prints_as_an_engineer_writes_it)
{
    char text[64];
    hl_quantity_print(shown[_i].value, shown[_i].unit, shown[_i].digits, text, sizeof text);
    const char *end = shown[_i].text;
    ck_assert_str_eq(text, end);
}
END_TEST

START_TEST(a_short_buffer_truncates)
{
    char text[8];
    memset(text, 'z', sizeof text);
    hl_quantity_print(123.4, "ohm", 4, text, 4);
    ck_assert_str_eq(text, "123");
    ck_assert_int_eq(text[4], 'z');
    hl_quantity_print(123.4, "ohm", 4, text, 0);
    hl_quantity_print_exact(123.4, "ohm", text, 1);
    ck_assert_str_eq(text, "");
}
END_TEST

START_TEST(an_odd_figure_is_met_with_a_likely_reading)
{
    char why[256] = "";
    const char *text = odd[_i].text;
    ck_assert(!hl_quantity_plausible(text, strlen(text), odd[_i].value, odd[_i].unit, odd[_i].low,
                                     odd[_i].high, why, sizeof why));
    ck_assert_msg(strstr(why, odd[_i].why) != NULL, "%s: got '%s', expected '%s'", text, why, odd[_i].why);
}
END_TEST

START_TEST(a_usual_figure_passes)
{
    char why[64];
    ck_assert(hl_quantity_plausible("1 ohm", 5, 1, "ohm", 0.5, 20, why, sizeof why));
    ck_assert(hl_quantity_plausible("20 ohm", 6, 20, "ohm", 0.5, 20, why, sizeof why));
    ck_assert(hl_quantity_plausible("1 Gohm", 6, 1e9, "ohm", 0, 0, why, sizeof why));
}
END_TEST

/* Any double, in any unit, comes back bit for bit. */
START_TEST(exact_text_reads_back_to_the_same_bits)
{
    static const char *const units[] = {"ohm",   "F",      "degC", "K/W", "1",   "%",       "mm",
                                        "min",   "h",      "in",   "kg",  "V s", "W/(m K)", "A^2 s",
                                        "ppm/K", "kW/m^3", "V/us", "mil", "Wh",  "m^2",     "Hz"};
    lottery luck = lottery_open("exact_text_reads_back_to_the_same_bits");
    for (int round = 0; round < 40000; round++) {
        const char *unit = units[lottery_below(&luck, sizeof units / sizeof *units)];
        double value, again = 0;
        if (round % 4 == 0) { /* any bits */
            uint64_t bits = lottery_next(&luck);
            memcpy(&value, &bits, sizeof value);
        } else {
            value = lottery_scale(&luck, 1e-18, 1e12) * (round % 4 == 1 ? -1 : 1);
        }
        if (!isfinite(value)) continue;
        if (strcmp(unit, "degC") == 0) value = fabs(value);
        char text[128], why[200] = "";
        hl_quantity_print_exact(value, unit, text, sizeof text);
        bool ok = hl_quantity_read(text, strlen(text), unit, &again, why, sizeof why);
        ck_assert_msg(ok, "seed %llu: %.17g %s printed '%s': %s", luck.seed, value, unit, text, why);
        ck_assert_msg(memcmp(&value, &again, sizeof value) == 0,
                      "seed %llu: %.17g %s printed '%s', read %.17g", luck.seed, value, unit, text, again);
    }
}
END_TEST

/* What is shown to people is within half a unit of its last digit. */
START_TEST(shown_text_is_right_to_its_digits)
{
    static const char *const units[] = {"ohm", "F",  "K/W", "1",   "%",   "m",
                                        "h",   "kg", "m^2", "A/s", "1/K", "s"};
    lottery luck = lottery_open("shown_text_is_right_to_its_digits");
    for (int round = 0; round < 20000; round++) {
        const char *unit = units[lottery_below(&luck, sizeof units / sizeof *units)];
        double value = lottery_scale(&luck, 1e-15, 1e9), again = 0;
        int digits = 1 + (int)lottery_below(&luck, 8);
        char text[128], why[200] = "";
        hl_quantity_print(value, unit, digits, text, sizeof text);
        bool ok = hl_quantity_read(text, strlen(text), unit, &again, why, sizeof why);
        ck_assert_msg(ok, "seed %llu: '%s': %s", luck.seed, text, why);
        double room = 0.5 * pow(10, 1 - digits) * (1 + 1e-9);
        ck_assert_msg(fabs(again / value - 1) <= room, "seed %llu: %.17g %s with %d digits printed '%s'",
                      luck.seed, value, unit, digits, text);
    }
}
END_TEST

START_TEST(a_bare_number_has_the_fewest_digits_that_read_back)
{
    static const struct {
        double value;
        const char *text;
    } plain[] = {{0.1, "0.1"}, {14.999999999945366, "14.999999999945366"}, {1e-300, "1e-300"}, {-2, "-2"}};
    char text[32];
    for (size_t i = 0; i < sizeof plain / sizeof *plain; i++) {
        hl_number_print(plain[i].value, text, sizeof text);
        ck_assert_str_eq(text, plain[i].text);
    }
    lottery luck = lottery_open("bare numbers");
    for (int round = 0; round < 20000; round++) {
        double value = lottery_scale(&luck, 1e-300, 1e300);
        hl_number_print(value, text, sizeof text);
        ck_assert_msg(strtod(text, NULL) == value, "seed %llu: %s", luck.seed, text);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, a_value_prints_as_an_engineer_writes_it, 0, sizeof shown / sizeof *shown);
    tcase_add_loop_test(tests, an_odd_figure_is_met_with_a_likely_reading, 0, sizeof odd / sizeof *odd);
    tcase_add_test(tests, a_short_buffer_truncates);
    tcase_add_test(tests, a_usual_figure_passes);
    tcase_add_test(tests, a_bare_number_has_the_fewest_digits_that_read_back);
    tcase_add_test(tests, exact_text_reads_back_to_the_same_bits);
    tcase_add_test(tests, shown_text_is_right_to_its_digits);
}

int main(void)
{
    return story_main("printed quantity", fill);
}
