/* Text with a unit to SI: what is read, what is refused and in which words, in every locale. */
#include "story.h"

#include <float.h>
#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "lottery.h"

/* clang-format off */
/* Expected values are written as decimal literals: the compiler rounds them to the nearest double, so equality
 * below means bit for bit. */
static const struct { const char *text, *unit; double value; } good[] = {
    {"150 mohm", "ohm", 0.150},             {"150mohm", "ohm", 0.150},
    {"0.33 uF", "F", 0.33e-6},              {"0.33 \xC2\xB5""F", "F", 0.33e-6},
    {"0.33 \xCE\xBC""F", "F", 0.33e-6},     {"4.7 k\xCE\xA9", "ohm", 4700},
    {"4.7 k\xE2\x84\xA6", "ohm", 4700},     {"4.7 kOhm", "\xCE\xA9", 4700},
    {"1 Mohm", "ohm", 1e6},                 {"1 mohm", "ohm", 1e-3},
    {"30 nC", "C", 30e-9},                  {"230 Vrms", "V", 230},
    {"5 Vdc", "V", 5},                      {"1.5 Arms", "A", 1.5},
    {"450 V", "V", 450},                    {"-10 mV", "V", -10e-3},
    {"\xE2\x88\x92""40 degC", "degC", -40 + 273.15}, {"25 degC", "degC", 25 + 273.15},
    {"25 \xC2\xB0""C", "degC", 25 + 273.15}, {"25\xE2\x84\x83", "K", 25 + 273.15},
    {"300 K", "degC", 300},                 {"300 K", "K", 300},
    {"1.8 K/W", "K/W", 1.8},                {"1.8 \xC2\xB0""C/W", "K/W", 1.8},
    {"0.25 W/(m K)", "W/(m K)", 0.25},      {"0.25 W/m/K", "W/(m K)", 0.25},
    {"900 J/(kg K)", "J/(kg K)", 900},      {"0.9 J/(g K)", "J/(kg K)", 900},
    {"12 A^2 s", "A^2 s", 12},              {"12 A\xC2\xB2 s", "A^2 s", 12},
    {"88 mm^2", "m^2", 88e-6},              {"88 mm2", "mm^2", 88e-6},
    {"88 mm\xC2\xB2", "m^2", 88e-6},        {"5 cm^3", "m^3", 5e-6},
    {"200 ppm/K", "1/K", 200e-6},           {"0.39 %/K", "1/K", 0.39e-2},
    {"0.0039 1/K", "1/K", 0.0039},          {"50 V/us", "V/s", 50e6},
    {"300 A/us", "A/s", 300e6},             {"350 kW/m^3", "W/m^3", 350e3},
    {"350 mW/cm^3", "W/m^3", 350e3},        {"390 mT", "T", 0.390},
    {"12 uWb", "Wb", 12e-6},                {"12 uV s", "Wb", 12e-6},
    {"1.2 mJ", "J", 1.2e-3},                {"20 Wh", "J", 72e3},
    {"3 Ah", "C", 10800},                   {"65 kHz", "Hz", 65e3},
    {"2 MHz", "Hz", 2e6},                   {"120 ns", "s", 120e-9},
    {"5 min", "s", 300},                    {"5000 h", "s", 18e6},
    {"0.3 mm", "m", 0.3e-3},                {"3 mil", "m", 76.2e-6},
    {"1 in", "m", 0.0254},                  {"12 g", "kg", 12e-3},
    {"1 kg", "kg", 1},                      {"101.325 kPa", "Pa", 101325},
    {"1013.25 hPa", "Pa", 101325},          {"45 %", "1", 0.45},
    {"45 %", "%", 0.45},                    {"0.45", "1", 0.45},
    {"0.45", "%", 0.45},                    {"2", "1", 2},
    {"+3 V", "V", 3},                       {".5 V", "V", 0.5},
    {"5. V", "V", 5},                       {"1e3 V", "V", 1000},
    {"1.5E-3 V", "V", 1.5e-3},              {"1e3V", "V", 1000},
    {"  7 \t mV  ", "V", 7e-3},             {"7\xC2\xA0mV", "V", 7e-3},
    {"7\xE2\x80\xAFmV", "V", 7e-3},         {"000120 V", "V", 120},
    {"0 V", "V", 0},                        {"0.000 V", "V", 0},
    {"3 V*s", "V s", 3},                    {"3 N\xC2\xB7m", "J", 3},
    {"2 kg m^2 s^-3 A^-1", "V", 2},         {"2 W/K", "W/K", 2},
    {"2 1/s", "Hz", 2},                     {"100 VA", "W", 100},
    {"10 mS", "S", 10e-3},                  {"0.1 m^2", "m^2", 0.1},
    {"0.00000000000000000000000000000000000001e38 V", "V", 1},
    {"2.2250738585072011e-308 V", "V", 2.2250738585072011e-308},
};

static const struct { const char *text, *unit, *why; } bad[] = {
    {"5 V", "ohm", "5 V is a voltage; a resistance in ohm is wanted"},
    {"5 K/W", "W/K", "5 K/W is a thermal resistance; a thermal conductance in W/K is wanted"},
    {"5 A", "A^2 s", "5 A is a current; a value in A^2 s is wanted"},
    {"25 C", "degC", "did you mean 25 degC?"},
    {"1,5 ohm", "ohm", "a comma is not read; use a point: 1.5 ohm"},
    {"1 500 ohm", "ohm", "digits are not read in groups; write them together"},
    {"1'500 ohm", "ohm", "not read in groups"},
    {"1_500 ohm", "ohm", "not read in groups"},
    {"1.500.000 ohm", "ohm", "not read in groups"},
    {"150", "ohm", "150 has no unit; a resistance in ohm is wanted"},
    {"150 ohms", "ohm", "'ohms' is not a unit known here; did you mean 150 ohm?"},
    {"65 KHz", "Hz", "did you mean 65 kHz?"},
    {"2 mhz", "Hz", "did you mean 2 MHz?"},
    {"10 uf", "F", "did you mean 10 uF?"},
    {"10 uh", "H", "did you mean 10 uH?"},
    {"3 sec", "s", "did you mean 3 s?"},
    {"5 volts", "V", "did you mean 5 V?"},
    {"25 celsius", "degC", "did you mean 25 degC?"},
    {"25 deg C", "degC", "did you mean 25 degC?"},
    {"3 foo", "K/W", "'foo' is not a unit known here; a thermal resistance in K/W is wanted"},
    {"3 kkohm", "ohm", "not a unit known here"},
    {"3 W/(m K", "W/(m K)", "not a unit known here"},
    {"3 W/", "W", "not a unit known here"},
    {"3 m^99", "m", "not a unit known here"},
    {"270", "H", "270 has no unit; an inductance in H is wanted; where the part is printed so, write { marking: 270 }"},
    {"4R7", "ohm", "4R7 looks like a marking code; write { marking: 4R7 }"},
    {"2n2", "F", "write { marking: 2n2 }"},
    {"R15", "ohm", "write { marking: R15 }"},
    {"47K", "ohm", "write { marking: 47K }"},
    {"nan V", "V", "does not begin with a number"},
    {"inf", "1", "does not begin with a number; a plain number or a percentage is wanted"},
    {"0x10 V", "V", "not several joined by x"},
    {"3 x 4 mm", "m", "one value is wanted here, not several joined by x"},
    {"5-10 V", "V", "a range is not read here; state minimum: and maximum:"},
    {"5 … 10 V", "V", "a range is not read here"},
    {"5 V \xC2\xB1 2 %", "V", "state tolerance:"},
    {"", "V", "empty; a voltage in V is wanted"},
    {"   ", "V", "empty; a voltage in V is wanted"},
    {"V", "V", "V does not begin with a number"},
    {"1e400 V", "V", "too large"},
    {"1e308 kV", "V", "too large"},
    {"1e-400 V", "V", "too small"},
    {"1e99999999999 V", "V", "too large"},
    {"-300 degC", "degC", "below absolute zero"},
    {"5 V", "furlong", "the unit asked for ('furlong') is not one known here"},
    {"5 \x01V", "V", "'?V' is not a unit"},
    {"5 \xFFV", "V", "'?V' is not a unit"},
};
/* clang-format on */

START_TEST(a_quantity_reads_as_the_nearest_double)
{
    double value = -1;
    char why[256] = "";
    bool ok = hl_quantity_read(good[_i].text, strlen(good[_i].text), good[_i].unit, &value, why, sizeof why);
    ck_assert_msg(ok, "%s: %s", good[_i].text, why);
    ck_assert_msg(value == good[_i].value, "%s = %.17g, expected %.17g", good[_i].text, value,
                  good[_i].value);
}
END_TEST

START_TEST(a_wrong_quantity_says_what_would_do)
{
    double value = -1;
    char why[256] = "";
    ck_assert(!hl_quantity_read(bad[_i].text, strlen(bad[_i].text), bad[_i].unit, &value, why, sizeof why));
    ck_assert_msg(strstr(why, bad[_i].why) != NULL, "%s: got '%s', expected '%s'", bad[_i].text, why,
                  bad[_i].why);
    ck_assert_double_eq(value, -1);
}
END_TEST

START_TEST(an_embedded_nul_is_no_end_of_text)
{
    double value;
    char why[256];
    ck_assert(!hl_quantity_read("5 V\0junk", 8, "V", &value, why, sizeof why));
    ck_assert(hl_quantity_read("5 Vjunk", 3, "V", &value, why, sizeof why));
    ck_assert(!hl_quantity_read(NULL, 5, "V", &value, why, sizeof why));
}
END_TEST

/* clang-format off */
static const struct { const char *text, *unit; size_t n; double value[3]; const char *why; } products[] = {
    {"88 x 60 x 31 mm", "m", 3, {0.088, 0.060, 0.031}, NULL},
    {"88 \xC3\x97 60 \xC3\x97 31 mm", "m", 3, {0.088, 0.060, 0.031}, NULL},
    {"88x60x31mm", "m", 3, {0.088, 0.060, 0.031}, NULL},
    {"88 X 60 mm", "m", 2, {0.088, 0.060}, NULL},
    {"8.8 cm x 60 mm x 3.1 cm", "m", 3, {0.088, 0.060, 0.031}, NULL},
    {"5 mm", "m", 1, {0.005}, NULL},
    {"33 x 4 x 4", "1", 3, {33, 4, 4}, NULL},
    {"88 x 60 x 31", "m", 0, {0}, "has no unit"},
    {"88 cm x 60 x 31 mm", "m", 0, {0}, "give every value its unit, or only the last one"},
    {"1 x 2 x 3 x 4 mm", "m", 0, {0}, "more than 3 values"},
    {"88 x x 31 mm", "m", 0, {0}, "a value is missing beside an x"},
    {"x", "m", 0, {0}, "a value is missing beside an x"},
    {"", "m", 0, {0}, "empty"},
    {"88 x 60 x 31 V", "m", 0, {0}, "is a voltage"},
};
/* clang-format on */

START_TEST(a_product_reads_each_factor_with_its_unit)
{
    double value[3] = {0};
    char why[256] = "";
    const char *text = products[_i].text;
    size_t n = hl_quantity_read_product(text, strlen(text), products[_i].unit, value, 3, why, sizeof why);
    ck_assert_msg(n == products[_i].n, "%s: %zu values; %s", text, n, why);
    for (size_t i = 0; i < n; i++) ck_assert_double_eq(value[i], products[_i].value[i]);
    if (products[_i].why) ck_assert_msg(strstr(why, products[_i].why) != NULL, "%s: '%s'", text, why);
}
END_TEST

START_TEST(units_of_one_kind_share_a_dimension)
{
    static const char *const same[][2] = {
        {"ohm", "V/A"},   {"W", "V A"},    {"F", "C/V"},
        {"H", "Wb/A"},    {"T", "Wb/m^2"}, {"J", "W s"},
        {"degC", "K"},    {"%", "1"},      {"Hz", "1/s"},
        {"Pa", "N/m^2"},  {"C", "A s"},    {"W/(m K)", "W/m/degC"},
        {"mm^2", "in^2"}, {"S", "1/ohm"},  {"J/(kg K)", "m^2/(s^2 K)"},
    };
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        hl_dimension a, b;
        ck_assert_msg(hl_dimension_of(same[i][0], &a), "%s", same[i][0]);
        ck_assert_msg(hl_dimension_of(same[i][1], &b), "%s", same[i][1]);
        ck_assert_msg(memcmp(&a, &b, sizeof a) == 0, "%s and %s", same[i][0], same[i][1]);
    }
    static const char *const none[] = {"",
                                       "foo",
                                       "V//A",
                                       "V/",
                                       "(V)",
                                       "V^0",
                                       "V^",
                                       "m^-",
                                       "kkV",
                                       "kdegC",
                                       "2",
                                       "V  )",
                                       "V*",
                                       "/s",
                                       "m^10",
                                       "k",
                                       "V m A s K kg W J N",
                                       "m^9 m^9 m^9",
                                       "M%",
                                       "kmin"};
    hl_dimension d;
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        ck_assert_msg(!hl_dimension_of(none[i], &d), "'%s' was read as a unit", none[i]);
    ck_assert(!hl_dimension_of(NULL, &d));
}
END_TEST

/* Random bytes and random pieces of quantities: an answer or a sentence, never a crash or a NaN. */
START_TEST(any_bytes_are_read_or_refused)
{
    static const char *const pieces[] = {"1",    "9",    ".",        "e", "-",    "+", " ", "k", "m",
                                         "ohm",  "V",    "/",        "(", ")",    "^", "2", "x", ",",
                                         "\xC2", "\xB5", "\xC3\x97", "%", "degC", "R", "K"};
    lottery luck = lottery_open("any_bytes_are_read_or_refused");
    for (int round = 0; round < STORY_DRAWS(60000); round++) {
        char text[160], why[40];
        size_t n = 0;
        if (round % 2) {
            for (size_t left = lottery_below(&luck, 140); n < left; n++) text[n] = (char)lottery_next(&luck);
        } else {
            for (size_t left = lottery_below(&luck, 24); left; left--) {
                const char *piece = pieces[lottery_below(&luck, sizeof pieces / sizeof *pieces)];
                memcpy(text + n, piece, strlen(piece));
                n += strlen(piece);
            }
        }
        char *exact = malloc(n + 1); /* so that the sanitizer sees one byte too far */
        memcpy(exact, text, n);
        exact = realloc(exact, n ? n : 1);
        double value[3] = {0};
        static const char *const units[] = {"ohm", "F", "H", "K/W", "1", "degC", "m"};
        const char *unit = units[lottery_below(&luck, 7)];
        if (hl_quantity_read(exact, n, unit, value, why, sizeof why)) {
            ck_assert_msg(isfinite(value[0]), "seed %llu round %d", luck.seed, round);
            hl_quantity_plausible(exact, n, value[0], unit, 1e-3, 2e-3, why, sizeof why);
        } else {
            ck_assert_msg(why[0] != '\0', "seed %llu round %d", luck.seed, round);
        }
        hl_quantity_read_product(exact, n, unit, value, 3, why, sizeof why);
        if (hl_marking_read(exact, n, unit, value, why, sizeof why)) ck_assert(isfinite(value[0]));
        free(exact);
    }
}
END_TEST

/* The comma of a locale changes neither reading nor printing. */
START_TEST(the_locale_changes_nothing)
{
    /* Where none is installed, one is built from the system's locale sources when those are there. */
    static const char built[] = HL_TEST_BUILD "/tests/locale";
    if (system("mkdir -p '" HL_TEST_BUILD "/tests/locale' && localedef -f UTF-8 -i de_DE '" HL_TEST_BUILD
               "/tests/locale/de_DE.UTF-8' >/dev/null 2>&1") == 0)
        setenv("LOCPATH", built, 1);
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "de_DE", "fr_FR.UTF-8", "nl_NL.UTF-8"};
    const char *found = NULL;
    for (size_t i = 0; i < sizeof names / sizeof *names && !found; i++)
        if (setlocale(LC_ALL, names[i])) found = names[i];
    if (!found || strcmp(localeconv()->decimal_point, ",") != 0) {
        fprintf(stderr, "SKIPPED the_locale_changes_nothing: no locale with a decimal comma is installed\n");
        return;
    }
    double value;
    char why[256], text[64];
    ck_assert(hl_quantity_read("1.5 kohm", 8, "ohm", &value, why, sizeof why));
    ck_assert_double_eq(value, 1500);
    ck_assert(!hl_quantity_read("1,5 kohm", 8, "ohm", &value, why, sizeof why));
    hl_quantity_print(1.5, "V", 4, text, sizeof text);
    ck_assert_str_eq(text, "1.5 V");
    hl_quantity_print_exact(0.1, "V", text, sizeof text);
    ck_assert_str_eq(text, "100 mV");
    setlocale(LC_ALL, "C");
}
END_TEST

START_TEST(the_nearest_word_is_a_likely_one)
{
    static const char *const words[] = {"on_resistance", "output_charge", "threshold", "size", NULL};
    ck_assert_str_eq(hl_nearest_word("on_resistence", words), "on_resistance");
    ck_assert_str_eq(hl_nearest_word("ouptut_charge", words), "output_charge");
    ck_assert_str_eq(hl_nearest_word("THRESHOLD", words), "threshold");
    ck_assert_str_eq(hl_nearest_word("sise", words), "size");
    ck_assert_ptr_null(hl_nearest_word("banana", words));
    ck_assert_ptr_null(hl_nearest_word("", words));
    ck_assert_ptr_null(hl_nearest_word(NULL, words));
    char many[400];
    memset(many, 'a', sizeof many - 1);
    many[sizeof many - 1] = '\0';
    ck_assert_ptr_null(hl_nearest_word(many, words));
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, a_quantity_reads_as_the_nearest_double, 0, sizeof good / sizeof *good);
    tcase_add_loop_test(tests, a_wrong_quantity_says_what_would_do, 0, sizeof bad / sizeof *bad);
    tcase_add_loop_test(tests, a_product_reads_each_factor_with_its_unit, 0,
                        sizeof products / sizeof *products);
    tcase_add_test(tests, an_embedded_nul_is_no_end_of_text);
    tcase_add_test(tests, units_of_one_kind_share_a_dimension);
    tcase_add_test(tests, any_bytes_are_read_or_refused);
    tcase_add_test(tests, the_locale_changes_nothing);
    tcase_add_test(tests, the_nearest_word_is_a_likely_one);
}

int main(void)
{
    return story_main("quantity", fill);
}
