/* check_uncertainty.c - spread, fit and compare through the command, and the statistics on Lua functions. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "command_json.h"
#include "scratch_folder.h"
#include "story.h"

#define CHARGER HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua"
#define SMALL   HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua"
#define BENCH   HL_PROJECT_SOURCE "/examples/desk_charger/bench.yaml"

START_TEST(spread_tells_the_same_for_any_number_of_workers)
{
    static const char *const workers[] = {"1", "7"};
    command_output output[2];
    for (int i = 0; i < 2; i++) {
        const char *arguments[] = {"spread", CHARGER,     "--samples", "40",     "--totals",
                                   "2",      "--workers", workers[i],  "--json", NULL};
        output[i] = command_run(arguments);
    }
    json_t *document = output_json(&output[0], 0);
    ck_assert_str_eq(json_string_value(json_object_get(document, "schema")), "heatledger.spread/1");
    ck_assert_uint_gt(json_array_size(json_object_get(document, "figures")), 100);
    ck_assert_uint_eq(json_array_size(json_object_get(document, "drivers")), 2);
    ck_assert_str_eq(output[0].out, output[1].out);
    json_decref(document);
    for (int i = 0; i < 2; i++) command_free(&output[i]);
}
END_TEST

START_TEST(text_fits_eighty_columns)
{
    const char *arguments[] = {"spread", CHARGER, "--samples", "30", "--totals", "2", NULL};
    command_output output = command_run(arguments);
    ck_assert_int_eq(output.code, 0);
    for (char *line = strtok(output.out, "\n"); line; line = strtok(NULL, "\n"))
        ck_assert_msg(strlen(line) <= 80 || strstr(line, "as: ") || strstr(line, "next: "), "%s", line);
    command_free(&output);
}
END_TEST

/* No fitted value has digits that its standard error, on the same line, knows nothing of. */
static void check_fitted_digits(const char *text)
{
    size_t lines = 0;
    for (const char *at = text; (at = strstr(at, "typical: ")) != NULL; at++) {
        char unit[2][20];
        double value, u;
        if (sscanf(at, "typical: %lf %19[^,], sigma: %lf %19[^,], origin: bench", &value, unit[0], &u,
                   unit[1]) != 4)
            continue;
        size_t digits = 0;
        for (const char *c = at + strlen("typical: "); strchr("0123456789.", *c); c++) digits += *c != '.';
        ck_assert_msg(digits <= 7, "%.60s", at);
        lines++;
    }
    ck_assert_uint_gt(lines, 0);
}

START_TEST(fit_finds_the_loose_thermocouple_and_writes_an_overlay)
{
    const char *path = scratch_file("overlay.yaml");
    const char *arguments[] = {"fit", CHARGER, BENCH, "--json", "--overlay", path, NULL};
    command_output output = command_run(arguments);
    json_t *document = output_json(&output, 0), *reading;
    size_t i, wrong = 0;
    json_array_foreach(json_object_get(document, "readings"), i,
                       reading) if (json_is_true(json_object_get(reading, "disagrees")))
    {
        wrong++;
        ck_assert_str_eq(json_string_value(json_object_get(reading, "of")), "temperature llc.rectifier");
        ck_assert_str_eq(json_string_value(json_object_get(reading, "point")), "all ports full, 115 V");
    }
    ck_assert_uint_eq(wrong, 1);
    json_decref(document);
    command_free(&output);
    char text[8192] = "";
    FILE *written = fopen(path, "r");
    ck_assert_ptr_nonnull(written);
    ck_assert_uint_gt(fread(text, 1, sizeof text - 1, written), 100);
    fclose(written);
    ck_assert_ptr_nonnull(strstr(text, "origin: bench }"));
    ck_assert_ptr_nonnull(strstr(text, "llc_transformer:"));
    check_fitted_digits(text);
}
END_TEST

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    ck_assert(file && fputs(text, file) >= 0 && fclose(file) == 0);
}

static const char short_bench[] =
    "heatledger: bench/1\n"
    "free:\n"
    "  - { value: inrush_thermistor.hot_resistance, low: 100 mohm, high: 800 mohm }\n"
    "  - { value: output_diode.leakage_current, low: 45 uA, high: 55 uA }\n"
    "  - { value: common_mode_choke.dc_resistance, low: 1 mohm, high: 10 ohm }\n"
    "points:\n"
    "  - name: full load, 230 V\n"
    "    settings: { mains.voltage: 230 V, ambient.temperature: 24.2 degC }\n"
    "    readings:\n"
    "      - { of: input power, value: 33.27 W, uncertainty: 0.1 W }\n"
    "      - { of: flyback.rectifier, value: 98.95 degC, uncertainty: 1 K }\n"
    "      - { of: filter.thermistor, value: 82.75 degC, uncertainty: 1.5 K }\n";

/* What the readings do not tell is not written as measured, and a resistance known to three times itself is
 * not written as one that may be negative. */
START_TEST(an_overlay_holds_what_the_readings_tell)
{
    const char *bench = scratch_file("short.yaml"), *path = scratch_file("short_overlay.yaml");
    write_text(bench, short_bench);
    const char *arguments[] = {"fit", SMALL, bench, "--json", "--overlay", path, NULL};
    command_output output = command_run(arguments);
    json_t *document = output_json(&output, 0), *value;
    size_t k;
    double found = 0, error = 0; /* the last: the choke's resistance in ohm */
    json_array_foreach(json_object_get(document, "values"), k, value)
    {
        ck_assert_int_eq(json_is_true(json_object_get(value, "told")), k != 1);
        found = json_real_value(json_object_get(value, "estimate"));
        error = json_real_value(json_object_get(value, "standard_error"));
    }
    json_decref(document);
    command_free(&output);
    char text[8192] = "";
    FILE *written = fopen(path, "r");
    ck_assert_ptr_nonnull(written);
    ck_assert_uint_gt(fread(text, 1, sizeof text - 1, written), 100);
    fclose(written);
    ck_assert_ptr_nonnull(strstr(text, "\n# left as it was, for the readings do not tell it: "
                                       "output_diode.leakage_current; the fit had it at 45 uA, its bound\n"));
    ck_assert_ptr_null(strstr(text, "output_diode:"));
    ck_assert_ptr_nonnull(strstr(text, "    hot_resistance: { typical: 36"));
    const char *choke = strstr(text, "    dc_resistance: { typical: ");
    double typical, factor;
    ck_assert_msg(choke != NULL, "%s", text);
    ck_assert_int_eq(sscanf(choke, "    dc_resistance: { typical: %lf mohm, factor: %lf, origin: bench }",
                            &typical, &factor),
                     2);
    ck_near(typical, 1e3 * found, 0.01, 0);
    ck_assert_double_gt(typical, 100);
    ck_assert_double_lt(typical, 1000);
    /* the deviation of the log-normal band is the standard error: its own formula the other way */
    double s = log(factor) / 1.6448536269514722, t = exp(s * s);
    ck_near(typical * sqrt(t * (t - 1)), 1e3 * error, 0.01, 0);
}
END_TEST

/* Nothing told: nothing written, and said. */
START_TEST(an_overlay_of_nothing_is_not_written)
{
    const char *bench = scratch_file("none.yaml"), *path = scratch_file("none_overlay.yaml");
    char text[2 * sizeof short_bench];
    const char *first = strstr(short_bench, "  - { value: inrush"), *second = strstr(first + 1, "  - {"),
               *third = strstr(second + 1, "  - {"), *points = strstr(short_bench, "points:");
    snprintf(text, sizeof text, "%.*s%.*s%s", (int)(first - short_bench), short_bench, (int)(third - second),
             second, points);
    write_text(bench, text);
    const char *arguments[] = {"fit", SMALL, bench, "--overlay", path, NULL};
    command_output output = command_run(arguments);
    ck_assert_int_eq(output.code, 1);
    ck_assert_msg(strstr(output.error, "not written: no value that the readings tell"), "%s", output.error);
    ck_assert_ptr_null(fopen(path, "r"));
    command_free(&output);
}
END_TEST

START_TEST(compare_ranks_what_differs)
{
    const char *arguments[] = {"compare", CHARGER, HL_PROJECT_SOURCE "/examples/wall_adapter/adapter.lua",
                               "--json", NULL};
    command_output output = command_run(arguments);
    json_t *document = output_json(&output, 0);
    ck_assert_uint_gt(json_array_size(json_object_get(document, "swaps")), 2);
    json_decref(document);
    command_free(&output);
}
END_TEST

START_TEST(wrong_words_are_refused)
{
    static const char *const cases[][6] = {
        {"spread", CHARGER, "--samples", "many", NULL},
        {"spread", CHARGER, "--quantiles", "5,500", NULL},
        {"spread", CHARGER, "--about", "case hottestt", NULL},
        {"fit", CHARGER, NULL},
        {"fit", CHARGER, "/nowhere.yaml", NULL},
        {"compare", CHARGER, NULL},
    };
    command_output output = command_run(cases[_i]);
    ck_assert_int_eq(output.code, 1);
    ck_assert_uint_gt(strlen(output.error), 10);
    command_free(&output);
}
END_TEST

#define WARM_ROOM "ambient.temperature=60 degC" /* where the diode's leakage may run away */

/* Text: before any figure how many points have no solution and why, in words, not watts of a part long gone;
 * no percentile of a temperature that leaves them out; what decides on them is measured first. */
START_TEST(points_without_a_solution_come_first)
{
    const char *arguments[] = {"spread", SMALL,     "--samples", "120",        "--totals", "0",
                               "--set",  WARM_ROOM, "--about",   "efficiency", NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    const char *share = strstr(output.out, "\nwithout a solution: "),
               *whole = strstr(output.out, "\nthe whole");
    ck_assert(share && whole && share < whole);
    unsigned missing = 0, of = 0;
    ck_assert_int_eq(sscanf(share, "\nwithout a solution: %u of %u points", &missing, &of), 2);
    ck_assert(of == 120 && missing > 6 && missing < 30); /* more than one in twenty */
    ck_assert_ptr_nonnull(strstr(share, "run-away, as: thermal run-away led by flyback.rectifier"));
    ck_assert_ptr_null(strstr(output.out, "e+0"));
    const char *case_line = strstr(whole, "\nhottest face, mean, degC"),
               *diode = strstr(whole, "\nflyback.rectifier  ");
    ck_assert(case_line && !strncmp(strchr(case_line + 1, '\n') - 8, "run-away", 8));
    ck_assert_ptr_nonnull(diode);
    const char *separates = strstr(output.out, "\nwhat separates points without a solution");
    ck_assert_ptr_nonnull(separates);
    const char *leader = strstr(separates, "\n  output_diode.leakage_doubling "),
               *drives = strstr(separates, "\nwhat drives efficiency");
    ck_assert(leader && drives && leader < drives);
    ck_assert_ptr_nonnull(strstr(separates, "measure output_diode.leakage_doubling first: it decides"));
    ck_assert_ptr_nonnull(strstr(drives, "measure output_diode.leakage_doubling first, as above, then"));
    command_free(&output);
}
END_TEST

/* The same in JSON, and what it is good for: the first of the list known, every point has a solution. */
START_TEST(what_separates_them_is_what_to_know)
{
    size_t missing[2];
    for (int known = 0; known < 2; known++) {
        const char *arguments[] = {"spread",
                                   SMALL,
                                   "--samples",
                                   "120",
                                   "--totals",
                                   "0",
                                   "--json",
                                   "--set",
                                   WARM_ROOM,
                                   known ? "--set" : NULL,
                                   "flyback.rectifier.leakage_doubling=12 K",
                                   NULL};
        command_output output = command_run(arguments);
        json_t *document = output_json(&output, 0), *figure;
        size_t k, samples = (size_t)json_integer_value(json_object_get(document, "samples")),
                  solved = (size_t)json_integer_value(json_object_get(document, "solved"));
        missing[known] = samples - solved;
        ck_near(json_real_value(json_object_get(document, "unsolved_share")),
                (double)missing[known] / (double)samples, 0, 1e-12);
        json_array_foreach(json_object_get(document, "figures"), k, figure)
        {
            const char *unit = json_string_value(json_object_get(figure, "unit"));
            if (strcmp(unit, "degC") != 0) continue;
            ck_assert_int_eq(json_integer_value(json_object_get(figure, "quantiles_of")), 120);
            ck_assert_int_eq(json_is_null(json_array_get(json_object_get(figure, "quantiles"), 2)), !known);
        }
        const json_t *separators = json_object_get(document, "separators");
        ck_assert_uint_eq(json_array_size(separators), !known);
        if (!known) {
            const json_t *first = json_array_get(separators, 0);
            ck_assert_str_eq(json_string_value(json_object_get(first, "unknown")),
                             "output_diode.leakage_doubling");
            ck_assert_double_lt(json_real_value(json_object_get(first, "area")), 0.1);
        }
        json_decref(document);
        command_free(&output);
    }
    ck_assert(missing[0] > 6 && missing[1] == 0);
}
END_TEST

static size_t unknowns_with(const char *setting)
{
    const char *arguments[] = {"spread",   SMALL, "--samples", "10",
                               "--totals", "0",   "--json",    setting ? "--set" : NULL,
                               setting,    NULL};
    command_output output = command_run(arguments);
    json_t *document = output_json(&output, 0);
    size_t n = json_array_size(json_object_get(document, "unknowns"));
    json_decref(document);
    command_free(&output);
    return n;
}

/* Who measures a value and finds what was supposed knows as much as who finds another. */
START_TEST(a_value_set_to_what_it_was_is_known)
{
    size_t open = unknowns_with(NULL);
    ck_assert_uint_gt(open, 10);
    ck_assert_uint_eq(unknowns_with("flyback.rectifier.leakage_doubling=12 K"), open - 1);
    ck_assert_uint_eq(unknowns_with("flyback.rectifier.leakage_doubling=12.01 K"), open - 1);
}
END_TEST

START_TEST(quiet_leaves_nothing_but_the_answer)
{
    static const char *const arguments[] = {"spread", SMALL, "--samples", "10", "--totals", "0", NULL, NULL};
    const char *quiet[8];
    memcpy(quiet, arguments, sizeof quiet);
    command_output output = command_run(quiet);
    ck_assert_ptr_nonnull(strstr(output.error, "s of it solving"));
    command_free(&output);
    quiet[6] = "--quiet";
    output = command_run(quiet);
    ck_assert_int_eq(output.code, 0);
    ck_assert_str_eq(output.error, "");
    command_free(&output);
}
END_TEST

/* What a data sheet's test was set to is known as soon as it is said; what the part does with it is not. */
START_TEST(conditions_of_a_test_are_no_unknowns)
{
    static const char *const conditions[] = {".esr_frequency\"",    ".loss_factor_frequency\"",
                                             ".ripple_frequency\"", ".recovery_slope\"",
                                             ".life_ripple_rise\"", ".needed_life\""};
    command_output output = command_run(
        (const char *const[]){"spread", SMALL, "--samples", "10", "--totals", "0", "--json", NULL});
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    char *unknowns = strstr(output.out, "\"unknowns\""), *end = strstr(output.out, "\"figures\"");
    ck_assert(unknowns && end && unknowns < end);
    *end = '\0';
    ck_assert_ptr_nonnull(strstr(unknowns, ".life_halving\""));
    for (size_t i = 0; i < sizeof conditions / sizeof *conditions; i++)
        ck_assert_msg(!strstr(unknowns, conditions[i]), "%s is an unknown", conditions[i]);
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, conditions_of_a_test_are_no_unknowns);
    tcase_add_test(tests, points_without_a_solution_come_first);
    tcase_add_test(tests, what_separates_them_is_what_to_know);
    tcase_add_test(tests, a_value_set_to_what_it_was_is_known);
    tcase_add_test(tests, quiet_leaves_nothing_but_the_answer);
    tcase_add_test(tests, spread_tells_the_same_for_any_number_of_workers);
    tcase_add_test(tests, text_fits_eighty_columns);
    tcase_add_test(tests, fit_finds_the_loose_thermocouple_and_writes_an_overlay);
    tcase_add_test(tests, an_overlay_holds_what_the_readings_tell);
    tcase_add_test(tests, an_overlay_of_nothing_is_not_written);
    tcase_add_test(tests, compare_ranks_what_differs);
    tcase_add_loop_test(tests, wrong_words_are_refused, 0, 6);
}

int main(void)
{
    return story_main("uncertainty", fill);
}
