/* check_no_solution.c - a point that runs away, as a user meets it: who leads, what settles, what to do. */
#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command_json.h"
#include "leaky_buck.h"
#include "scratch_folder.h"
#include "story.h"

/* The rectifier is too poorly cooled for 60 degC. */
static const char script[] =
    "local hl = require 'heatledger'\n"
    "local part = hl.parts 'parts.yaml'\n"
    "local a = hl.adapter 'bench'\n"
    "a:supply { voltage = '48 V' }\n"
    "a:stage 'buck' { model = 'synchronous_buck', fed_by = 'source', switching_frequency = '200 kHz',\n"
    "  light_load = 'diode_emulation', high_switch = part.high, low_switch = part.diode, inductor = "
    "part.coil }\n"
    "a:port 'out' { fed_by = 'buck', voltage = '12 V', current = '2 A' }\n"
    "a:link { 'buck.high_switch', 'ambient', resistance = '1 K/W' }\n"
    "a:link { 'buck.low_switch', 'ambient', resistance = '30 K/W' }\n"
    "a:link { 'buck.inductor', 'ambient', resistance = '1 K/W' }\n"
    "return a\n";

static const char *path;

static void set_up(void)
{
    char parts[LEAKY_TEXT];
    leaky_buck_parts(0, parts);
    scratch_folder_make();
    scratch_write("parts.yaml", parts);
    path = scratch_write("bench.lua", script);
}

static command_output solve_at(const char *ambient, const char *load, const char *more)
{
    char hot[80], loaded[80];
    snprintf(hot, sizeof hot, "ambient.temperature=%s degC", ambient);
    snprintf(loaded, sizeof loaded, "load=%s", load);
    const char *arguments[] = {"solve", path, "--set", hot, "--set", loaded, more, NULL};
    return command_run(arguments);
}

/* The number after `words` in what was said. */
static double said(const char *text, const char *words)
{
    const char *at = strstr(text, words);
    ck_assert_msg(at != NULL, "no '%s' in: %s", words, text);
    return strtod(at + strlen(words), NULL);
}

static void must_settle(const char *ambient, double load, bool settles)
{
    char text[40];
    snprintf(text, sizeof text, "%.6g", load);
    command_output output = solve_at(ambient, text, NULL);
    ck_assert_msg(output.code == (settles ? 0 : 3), "load %s, %s degC: exit %d", text, ambient, output.code);
    command_free(&output);
}

/* What it says settles does, and a little more does not; the printed value has three digits. */
START_TEST(a_run_away_says_who_leads_what_settles_and_what_to_do)
{
    command_output output = solve_at("85", "1", NULL);
    ck_assert_msg(output.code == 3, "exit %d: %s", output.code, output.error);
    ck_assert_msg(!*output.out, "a figure of a point without one: %s", output.out);
    ck_assert_ptr_nonnull(strstr(output.error, "led by buck.low_switch"));
    ck_assert_ptr_nonnull(strstr(output.error, "what to do: "));
    ck_assert_ptr_nonnull(strstr(output.error, "resistance_board"));
    ck_assert_ptr_nonnull(strstr(
        output.error, "not even load = 0.01 settles")); /* the idle diode leaks too, at the output's 12 V */
    must_settle("85", 0.01, false);
    double ambient = said(output.error, "up to ambient.temperature = ");
    ck_assert_msg(ambient > -40 && ambient < 85, "ambient %g", ambient);
    char below[40], above[40];
    snprintf(below, sizeof below, "%.6g", ambient - 0.5);
    snprintf(above, sizeof above, "%.6g", ambient + 0.5);
    must_settle(below, 1, true);
    must_settle(above, 1, false);
    command_free(&output);
}
END_TEST

/* Between an idle point that runs away as well and the one asked for. */
START_TEST(the_load_that_settles_is_told)
{
    command_output output = solve_at("40", "2", NULL);
    ck_assert_msg(output.code == 3, "exit %d: %s", output.code, output.error);
    double load = said(output.error, "up to load = ");
    must_settle("40", 0.99 * load, true);
    must_settle("40", 1.01 * load, false);
    command_free(&output);
}
END_TEST

START_TEST(the_border_below_a_run_away_is_in_the_document)
{
    command_output output = solve_at("60", "1", "--border");
    ck_assert_int_eq(output.code, 3);
    ck_assert_msg(!strstr(output.error, "no solution\n"), "%s", output.error);
    command_free(&output);
    const char *arguments[] = {"solve",    path,     "--set", "ambient.temperature=60 degC",
                               "--border", "--json", NULL};
    output = command_run(arguments);
    json_t *root = output_json(&output, 3);
    const json_t *ambient = json_object_get(json_object_get(root, "critical"), "ambient");
    ck_assert_str_eq(json_string_value(json_object_get(ambient, "border")), "fold");
    ck_assert_str_eq(json_string_value(json_object_get(ambient, "leader")), "buck.low_switch");
    double value = json_number_value(json_object_get(ambient, "value_c"));
    ck_near(value, said(output.error, "up to ambient.temperature = "), 0, 0.1);
    json_decref(root);
    command_free(&output);
}
END_TEST

/* A switch whose loss does not move with temperature, and that no part would survive: nothing leads. */
START_TEST(what_is_too_hot_by_its_watts_alone_is_not_called_led)
{
    char text[sizeof script + 20];
    const char *link = strstr(script, "'1 K/W'"); /* the first: the switch's */
    ck_assert_ptr_nonnull(link);
    snprintf(text, sizeof text, "%.*s'600 K/W'%s", (int)(link - script), script, link + strlen("'1 K/W'"));
    const char *hot = scratch_write("hot.lua", text);
    const char *arguments[] = {"solve", hot, "--border", "--set", "buck.high_switch.resistance=3 ohm", NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 3, "exit %d: %s", output.code, output.error);
    ck_assert_msg(strstr(output.error, "too hot: ") != NULL, "it says: %s", output.error);
    ck_assert_ptr_nonnull(strstr(output.error, "most of the heat comes from buck.high_switch"));
    ck_assert_msg(!strstr(output.error, "led by"), "%s", output.error);
    ck_assert_ptr_nonnull(strstr(output.error, "what to do: "));
    command_free(&output);
    const char *lower[] = {"solve", hot, "--border", "--set", "buck.high_switch.resistance=0.6 ohm", NULL};
    output = command_run(lower);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    ck_assert_msg(strstr(output.out, "load: too hot above ") != NULL, "%s", output.out);
    command_free(&output);
}
END_TEST

/* Two turns on a coil of 22 uH: 22 uH 2.5 A / (2 50 mm^2), a saturated core beside the part that leads. */
START_TEST(a_core_beyond_saturation_is_named_beside_what_leads)
{
    command_output output = solve_at("60", "1", NULL);
    ck_assert_msg(!strstr(output.error, "saturation"), "%s", output.error);
    command_free(&output);
    char parts[LEAKY_TEXT], text[LEAKY_TEXT + 100];
    leaky_buck_parts(0, parts);
    const char *coil = strstr(parts, "dc_resistance: 20 mohm");
    ck_assert_ptr_nonnull(coil);
    snprintf(text, sizeof text, "%.*sturns: 2, core_area: 50 mm^2, saturation_flux: 0.35 T, %s",
             (int)(coil - parts), parts, coil);
    scratch_write("parts.yaml", text);
    output = solve_at("60", "1", NULL);
    ck_assert_msg(output.code == 3, "exit %d: %s", output.code, output.error);
    ck_assert_ptr_nonnull(strstr(output.error, "led by buck.low_switch"));
    ck_assert_msg(strstr(output.error, "buck.inductor is beyond saturation (peak flux density 0.") != NULL,
                  "it says: %s", output.error);
    ck_assert_ptr_nonnull(strstr(output.error, " T, 0.35 at most)"));
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, scratch_folder_remove);
    tcase_add_test(tests, a_run_away_says_who_leads_what_settles_and_what_to_do);
    tcase_add_test(tests, the_load_that_settles_is_told);
    tcase_add_test(tests, a_core_beyond_saturation_is_named_beside_what_leads);
    tcase_add_test(tests, the_border_below_a_run_away_is_in_the_document);
    tcase_add_test(tests, what_is_too_hot_by_its_watts_alone_is_not_called_led);
}

int main(void)
{
    return story_main("no solution", fill);
}
