/* check_small_step.c - a point where a model's loss jumps: no temperature agrees with its own loss.  A jump
 * too small to matter is solved and said; a greater one has no balance. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <jansson.h>

#include "command_json.h"
#include "scratch_folder.h"
#include "story.h"

static const char warned[] = "jumps just here, and rounds go to and fro over it";

/* A buck whose upper switch loses 1 W, over 50 K/W from an ambient of `ambient` kelvin; colder than 330 K it
 * loses `step` more of it. */
static command_output solve(double step, double ambient)
{
    char text[900], kelvin[60];
    snprintf(text, sizeof text,
             "heatledger: parts/1\nparts:\n"
             "  odd: { model: plain_switch, on_resistance: 10 mohm, leakage_current: %.9g A }\n"
             "  even: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V }\n"
             "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm }\n",
             step);
    scratch_write("parts.yaml", text);
    scratch_write(
        "module.lua",
        "local hl = require 'heatledger'\nlocal part = hl.parts 'parts.yaml'\n"
        "local a = hl.adapter 'module'\na:supply { voltage = '48 V' }\n"
        "a:stage 'buck' { model = 'synchronous_buck', fed_by = 'source', switching_frequency = '200 kHz',\n"
        "  high_switch = part.odd, low_switch = part.even, inductor = part.coil }\n"
        "a:port 'out' { fed_by = 'buck', voltage = '12 V', current = '1 A' }\n"
        "a:link { 'buck.high_switch', 'ambient', resistance = '50 K/W' }\n"
        "a:link { 'buck.low_switch', 'ambient', resistance = '1 K/W' }\n"
        "a:link { 'buck.inductor', 'ambient', resistance = '1 K/W' }\nreturn a\n");
    snprintf(kelvin, sizeof kelvin, "ambient.temperature=%.9f degC", ambient - 273.15);
    const char *path = scratch_file("module.lua");
    const char *arguments[] = {"solve", path,   "--plugins", HL_TEST_BUILD "/tests/solve/stepping_switch.so",
                               "--set", kelvin, "--json",    NULL};
    return command_run(arguments);
}

static double switch_temperature(const json_t *document)
{
    size_t i;
    const json_t *part, *parts = json_object_get(document, "parts");
    json_array_foreach(parts, i, part)
    {
        const json_t *slot = json_object_get(part, "slot"), *name = json_object_get(part, "name");
        const char *called = json_string_value(slot ? slot : name);
        if (called && strstr(called, "high_switch"))
            return json_number_value(json_object_get(part, "temperature_c"));
    }
    ck_abort_msg("no switch in the document");
    return NAN;
}

/* To 50 K over the ambient in balance; on the border, to within the jump of it. */
static void expect_solved(double step, double ambient, bool warning, double kelvin)
{
    command_output said = solve(step, ambient);
    json_t *document = output_json(&said, 0);
    ck_assert_msg((strstr(said.out, warned) != NULL) == warning, "step %g at %.6f K", step, ambient);
    ck_assert_str_eq(json_string_value(json_object_get(document, "status")), "solved");
    ck_near(switch_temperature(document) + 273.15, ambient + 50, 0, kelvin);
    json_decref(document);
    command_free(&said);
}

START_TEST(a_small_step_is_solved_and_said)
{
    double step = 5e-6, jump = 50 * step;
    expect_solved(step, 280 - 0.5 * jump, true, 1.1 * jump);
    expect_solved(step, 280 + 1.0 * jump, false, 1e-6);
    expect_solved(1e-9, 280 - 0.5 * jump, false, 1e-6);
}
END_TEST

/* A tenth of a milliwatt to and fro, 7e-6 of the stage, is no answer. */
START_TEST(a_great_step_has_no_balance)
{
    command_output said = solve(1e-4, 280 - 0.5 * 50 * 1e-4);
    ck_assert_int_ne(said.code, 0);
    ck_assert_msg(strstr(said.error, "no balance after") != NULL, "%s", said.error);
    command_free(&said);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_small_step_is_solved_and_said);
    tcase_add_test(tests, a_great_step_has_no_balance);
}

int main(void)
{
    return story_main("small step", fill);
}
