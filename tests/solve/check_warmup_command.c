/* check_warmup_command.c - `heatledger warmup`, profiles and limits as a user meets them. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command_json.h"
#include "scratch_folder.h"
#include "story.h"

static const char parts[] =
    "heatledger: parts/1\nparts:\n"
    "  high: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V, heat_capacity: 1 J/K }\n"
    "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm, heat_capacity: 5 J/K,\n"
    "          maximum_temperature: 70 degC }\n";

static const char script[] =
    "local hl = require 'heatledger'\n"
    "local part = hl.parts 'parts.yaml'\n"
    "local a = hl.adapter 'bench'\n"
    "a:supply { voltage = '24 V' }\n"
    "a:stage 'buck' { model = 'synchronous_buck', fed_by = 'source', switching_frequency = '200 kHz',\n"
    "  high_switch = part.high, low_switch = part.high, inductor = part.coil }\n"
    "a:port 'out' { fed_by = 'buck', voltage = '12 V', current = '5 A' }\n"
    "a:link { 'buck.high_switch', 'ambient', resistance = '20 K/W' }\n"
    "a:link { 'buck.low_switch', 'ambient', resistance = '20 K/W' }\n"
    "a:link { 'buck.inductor', 'ambient', resistance = '99 K/W' }\n"
    "a:override { 'buck.inductor', 'ambient', resistance = '60 K/W' }\n"
    "a:derating { voltage = 0.5 }\n"
    "a:limit { 'buck.low_switch', 'hand', temperature = '26 degC' }\n"
    "a:profile 'charge' { { duration = '5 min', load = 1 }, { duration = '5 min', load = 1, taper = 0.1 },\n"
    "  cycles = 2, every = '1 min' }\n"
    "local verdict = hl.limits.judge(a:solve())\n"
    "assert(verdict.broken >= 1 and hl.limits.text(verdict):find 'certificate')\n"
    "local c = a:warm_up 'charge'\n"
    "assert(c.schema == 'heatledger.warmup/1' and c.status == 'solved')\n"
    "%s"
    "return a\n";

static const char *path;

static void set_up(const char *more)
{
    char text[sizeof script + 400];
    scratch_write("parts.yaml", parts);
    snprintf(text, sizeof text, script, more);
    path = scratch_write("bench.lua", text);
}

START_TEST(a_profile_of_the_script_runs_as_json)
{
    set_up("");
    const char *arguments[] = {"warmup", path, "--profile", "charge", "--json", NULL};
    json_t *root = command_json(arguments);
    ck_assert_str_eq(json_string_value(json_object_get(root, "schema")), "heatledger.warmup/1");
    ck_assert_str_eq(json_string_value(json_object_get(root, "profile")), "charge");
    const json_t *rows = json_object_get(root, "rows"), *energy = json_object_get(root, "energy");
    const json_t *last = json_array_get(rows, json_array_size(rows) - 1);
    ck_near(json_number_value(json_object_get(last, "time_s")), 1200, 1e-12, 0);
    ck_near(json_number_value(json_object_get(last, "load")), 0.1, 1e-9, 0);
    ck_near(json_number_value(json_object_get(energy, "imbalance_j")), 0, 0,
            1e-6 * json_number_value(json_object_get(energy, "put_in_j")));
    json_decref(root);
}
END_TEST

START_TEST(steps_of_the_command_line_and_limits)
{
    set_up("");
    const char *csv[] = {"warmup",           path,      "--step", "1 for 10 min", "--step",
                         "1 to 0 for 5 min", "--every", "60 s",   "--csv",        NULL};
    command_output output = command_run(csv);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    ck_assert_ptr_nonnull(strstr(output.out, "time_s,load,loss_w,buck.high_switch"));
    ck_assert_ptr_nonnull(strstr(output.out, "\n900,0,"));
    command_free(&output);
    const char *percent[] = {"warmup", path, "--step", "50 % to 10 % for 10 min", "--csv", NULL};
    output = command_run(percent);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    ck_assert_ptr_nonnull(strstr(output.out, "\n0,0.5,"));
    ck_assert_ptr_nonnull(strstr(output.out, "\n600,0.1,"));
    command_free(&output);
    const char *strict[] = {"warmup",   path, "--for", "1 h", "--limit", "buck.high_switch=26 degC",
                            "--strict", NULL};
    output = command_run(strict);
    ck_assert_msg(output.code == 2, "exit %d: %s", output.code, output.error);
    command_free(&output);
}
END_TEST

START_TEST(what_is_wrong_is_said)
{
    static const struct {
        const char *option, *value, *said;
    } wrong[] = {{"--step", "1 during 5", "LOAD for DURATION"},
                 {"--step", "1 for 5 kg", "kg"},
                 {"--profile", "chargo", "it has: charge"},
                 {"--from", "hot", "cold or steady"},
                 {"--limit", "nowhere=60 degC", "no thermal node"},
                 {"--cycles", "0", "whole number from 1"},
                 {"--every", "0 s", "more than 0"},
                 {"--step", "300 for 30 min", "load: 300 is outside 0"},
                 {"--step", "50 % to 300 % for 30 min", "taper: 300 % is outside 0"}};
    set_up("");
    for (size_t k = 0; k < sizeof wrong / sizeof wrong[0]; k++) {
        const char *arguments[] = {"warmup", path, wrong[k].option, wrong[k].value, NULL};
        command_output output = command_run(arguments);
        ck_assert_msg(output.code == 1, "%s: exit %d", wrong[k].value, output.code);
        ck_assert_msg(strstr(output.error, wrong[k].said) != NULL, "%s: %s", wrong[k].value, output.error);
        command_free(&output);
    }
}
END_TEST

START_TEST(an_override_without_a_link_is_an_error)
{
    set_up("a.design = nil\na:override { 'buck.inductor', 'buck.low_switch', resistance = '3 K/W' }\n");
    const char *arguments[] = {"solve", path, NULL};
    command_output output = command_run(arguments);
    ck_assert_int_eq(output.code, 1);
    ck_assert_msg(strstr(output.error, "no link joins 'buck.inductor' and 'buck.low_switch'") != NULL, "%s",
                  output.error);
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, a_profile_of_the_script_runs_as_json);
    tcase_add_test(tests, steps_of_the_command_line_and_limits);
    tcase_add_test(tests, what_is_wrong_is_said);
    tcase_add_test(tests, an_override_without_a_link_is_an_error);
}

int main(void)
{
    return story_main("warm-up command", fill);
}
