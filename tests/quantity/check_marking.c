/* Codes printed on parts. */
#include "story.h"

#include <string.h>

#include "heatledger/quantity.h"

/* clang-format off */
/* source: IEC 60062, tables of the letter and digit code for resistance and capacitance (from memory: R33, 3R3,
 * 33R, K33, 3K3, ... and p33, 3p3, n33, 33n, u33, m33); the three-figure rows and the inductor rows
 * are common practice. */
static const struct { const char *text, *unit; double value; } good[] = {
    {"R33", "ohm", 0.33},    {"3R3", "ohm", 3.3},     {"33R", "ohm", 33},      {"330R", "ohm", 330},
    {"K33", "ohm", 330},     {"3K3", "ohm", 3300},    {"33K", "ohm", 33e3},    {"M33", "ohm", 330e3},
    {"3M3", "ohm", 3.3e6},   {"33M", "ohm", 33e6},    {"G33", "ohm", 330e6},   {"3G3", "ohm", 3.3e9},
    {"T33", "ohm", 330e9},   {"3T3", "ohm", 3.3e12},  {"59R04", "ohm", 59.04}, {"5K904", "ohm", 5904},
    {"4R7", "ohm", 4.7},     {"R15", "ohm", 0.15},    {"4k7", "ohm", 4700},    {"1M5", "ohm", 1.5e6},
    {"R005", "ohm", 0.005},  {"5L0", "ohm", 5e-3},    {"5m0", "ohm", 5e-3},    {"4R7J", "ohm", 4.7},
    {"4R7K", "ohm", 4.7},    {"33KJ", "ohm", 33e3},   {"470 ohm", "ohm", 470}, {"2\xCE\xA9""2", "ohm", 2.2},
    {"p33", "F", 0.33e-12},  {"3p3", "F", 3.3e-12},   {"33p", "F", 33e-12},    {"330p", "F", 330e-12},
    {"n33", "F", 330e-12},   {"3n3", "F", 3.3e-9},    {"33n", "F", 33e-9},     {"u33", "F", 0.33e-6},
    {"\xC2\xB5""33", "F", 0.33e-6}, {"3\xCE\xBC""3", "F", 3.3e-6}, {"33u", "F", 33e-6}, {"3m3", "F", 3.3e-3},
    {"2n2", "F", 2.2e-9},    {"2n2K", "F", 2.2e-9},   {"473", "F", 47e-9},     {"334K", "F", 0.33e-6},
    {"104M", "F", 0.1e-6},   {"479", "F", 4.7e-12},   {"47", "F", 47e-12},     {"3F3", "F", 3.3},
    {"4R7", "H", 4.7e-6},    {"R47", "H", 0.47e-6},   {"220", "H", 22e-6},     {"101", "H", 100e-6},
    {"220M", "H", 22e-6},    {"10u", "H", 10e-6},     {"4m7", "H", 4.7e-3},    {"22n", "H", 22e-9},
    {" 4R7 ", "ohm", 4.7},   {"275 V", "V", 275},     {"250 mA", "A", 0.25},
};

static const struct { const char *text, *unit, *why; } bad[] = {
    {"470", "ohm", "can mean two values"},     {"4702", "ohm", "can mean two values"},
    {"R", "ohm", "has no figures"},   {"", "ohm", "not a marking code here"},
    {"4R7R", "ohm", "4R7, R15 or 4K7"},        {"4R7X", "ohm", "not a marking code"},
    {"4n7", "ohm", "not a marking code"},      {"4R7", "F", "2n2, u47 or 473"},
    {"4.R7", "ohm", "not a marking code"},     {"4R-7", "ohm", "not a marking code"},
    {"478", "F", "number of zeros"},           {"4733", "F", "too long for the three-figure code"},
    {"4 R7", "ohm", "not a marking code"},     {"12345678901R", "ohm", "not a marking code"},
    {"R7K7", "ohm", "not a marking code"},     {"4R7", "A", "is not a unit known here"},
    {"4R7", "furlong", "not one known here"},  {"479", "H", "number of zeros"},
};
/* clang-format on */

START_TEST(a_marking_reads_as_its_value)
{
    double value = -1;
    char why[256] = "";
    const char *text = good[_i].text;
    ck_assert_msg(hl_marking_read(text, strlen(text), good[_i].unit, &value, why, sizeof why), "%s: %s", text,
                  why);
    ck_assert_msg(value == good[_i].value, "%s = %.17g, expected %.17g", text, value, good[_i].value);
}
END_TEST

START_TEST(what_is_no_marking_is_refused)
{
    double value;
    char why[256] = "";
    const char *text = bad[_i].text;
    ck_assert_msg(!hl_marking_read(text, strlen(text), bad[_i].unit, &value, why, sizeof why), "%s", text);
    ck_assert_msg(strstr(why, bad[_i].why) != NULL, "%s: got '%s', expected '%s'", text, why, bad[_i].why);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, a_marking_reads_as_its_value, 0, sizeof good / sizeof *good);
    tcase_add_loop_test(tests, what_is_no_marking_is_refused, 0, sizeof bad / sizeof *bad);
}

int main(void)
{
    return story_main("marking", fill);
}
