/* check_case_hottest.c - the hottest of the case: a face's mean by rule, the hot spot with a field, and the
 * same figure under the same name in every command. */
#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "command_json.h"
#include "json_entry.h"
#include "scratch_folder.h"
#include "story.h"

#define ADAPTER HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua"

static const struct {
    const char *network, *title;
} kinds[] = {{"rule", "hottest face, mean"}, {"field", "hot spot of the case"}};

/* From the faces of the result themselves. */
static double hottest_of(const json_t *result, bool field)
{
    double most = -INFINITY;
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(result, field ? "case" : "nodes"), i, entry)
    {
        const char *node = json_string_value(json_object_get(entry, "node"));
        if (field)
            most = fmax(most, json_figure(entry, "maximum_c"));
        else if (!strncmp(node, "face ", 5) && strlen(node) == strlen("face x0"))
            most = fmax(most, json_figure(entry, "temperature_c"));
    }
    return most;
}

static const json_t *figure_named(const json_t *spread, const char *name)
{
    size_t i;
    json_t *entry;
    json_array_foreach(
        json_object_get(spread, "figures"), i,
        entry) if (!strcmp(json_string_value(json_object_get(entry, "figure")), name)) return entry;
    ck_abort_msg("no figure %s", name);
    return NULL;
}

START_TEST(every_command_means_the_same_and_says_what)
{
    const char *network = kinds[_i].network, *title = kinds[_i].title;
    json_t *solved =
        command_json((const char *const[]){"solve", ADAPTER, "--network", network, "--json", NULL});
    double expected = hottest_of(solved, _i == 1);
    json_decref(solved);

    json_t *swap = command_json((const char *const[]){"swap", ADAPTER, "--network", network, "--catalogue",
                                                      "--slot", "filter.fuse", "--json", NULL});
    ck_near(json_figure(json_object_get(swap, "base"), "case_hottest_c"), expected, 0, 1e-6);
    ck_assert_str_eq(json_string_value(json_object_get(swap, "case")), title);
    json_decref(swap);

    json_t *spread = command_json((const char *const[]){"spread", ADAPTER, "--network", network, "--samples",
                                                        "10", "--totals", "0", "--json", NULL});
    const json_t *figure = figure_named(spread, "case hottest");
    ck_near(json_figure(figure, "central"), expected, 0, 1e-6);
    ck_assert_str_eq(json_string_value(json_object_get(figure, "title")), title);
    json_decref(spread);

    const char *plan = scratch_write("plan.lua", "local hl = require 'heatledger'\n"
                                                 "return hl.sweep { adapter = '" ADAPTER "',\n"
                                                 "  axes = { { 'load', list = { 1 } } },\n"
                                                 "  figures = { 'case_hottest_c', 'part_hottest_c' } }\n");
    json_t *sweep =
        command_json((const char *const[]){"sweep", plan, "--trust", "--network", network, "--quiet",
                                           "--store", scratch_file(network), "--json", NULL});
    const json_t *row = json_array_get(json_object_get(sweep, "rows"), 0);
    ck_near(json_figure(row, "case_hottest_c"), expected, 0, 1e-6);
    ck_assert(json_figure(row, "part_hottest_c") > expected);
    json_decref(sweep);
}
END_TEST

/* Entry of a list by the text under `key`. */
static const json_t *entry_of(const json_t *list, const char *key, const char *name)
{
    size_t i;
    json_t *entry;
    json_array_foreach(list, i,
                       entry) if (!strcmp(json_string_value(json_object_get(entry, key)), name)) return entry;
    ck_abort_msg("no %s %s", key, name);
    return NULL;
}

/* What `solve` says of the case gives way first, with a field as by rule: the others may not leave it out. */
START_TEST(the_touch_limit_holds_in_every_command)
{
    static const char *const faces[] = {"face x0", "face z0 spot"};
    const char *network = kinds[_i].network, *face = faces[_i];
    char limit[80];
    snprintf(limit, sizeof limit, "%s touch, plastic", face);
    json_t *solved = command_json((const char *const[]){"solve", ADAPTER, "--network", network, "--set",
                                                        "ambient.temperature=35 degC", "--json", NULL});
    const json_t *node = entry_of(json_object_get(solved, "nodes"), "node", face);
    double used = json_figure(json_array_get(json_object_get(node, "headroom"), 0), "used");
    json_decref(solved);

    json_t *spread = command_json((const char *const[]){"spread", ADAPTER, "--network", network, "--samples",
                                                        "10", "--totals", "0", "--set",
                                                        "ambient.temperature=35 degC", "--json", NULL});
    double broken = json_figure(entry_of(json_object_get(spread, "limits"), "limit", limit), "broken");
    ck_assert_msg(_i == 0 || broken > 0.5, "%g of the samples", broken);
    json_decref(spread);

    json_t *course = command_json(
        (const char *const[]){"warmup", ADAPTER, "--network", network, "--for", "1 min", "--json", NULL});
    ck_near(json_figure(entry_of(json_object_get(course, "peaks"), "node", face), "limit_c"), 77, 0, 1e-9);
    json_decref(course);

    const char *plan =
        scratch_write("touch.lua", "local hl = require 'heatledger'\n"
                                   "return hl.sweep { adapter = '" ADAPTER "',\n"
                                   "  axes = { { 'ambient.temperature', list = { 308.15 } } },\n"
                                   "  figures = { 'headroom_used' } }\n");
    char store[40];
    snprintf(store, sizeof store, "touch_%s", network);
    json_t *sweep =
        command_json((const char *const[]){"sweep", plan, "--trust", "--network", network, "--quiet",
                                           "--store", scratch_file(store), "--json", NULL});
    double most = json_figure(json_array_get(json_object_get(sweep, "rows"), 0), "headroom_used");
    ck_assert_msg(most >= used - 1e-9, "%g but the face uses %g", most, used);
    if (_i == 1) ck_near(most, used, 0, 1e-6);
    json_decref(sweep);
}
END_TEST

START_TEST(tables_for_people_say_what_it_is)
{
    const char *network = kinds[_i].network, *title = kinds[_i].title;
    const char *const lines[][8] = {
        {"spread", ADAPTER, "--network", network, "--samples", "10", NULL},
        {"swap", ADAPTER, "--network", network, "--catalogue", "--slot", "filter.fuse"},
        {"compare", ADAPTER, ADAPTER, "--network", network, NULL}};
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        const char *arguments[9] = {NULL};
        memcpy(arguments, lines[i], sizeof lines[i]);
        command_output output = command_run(arguments);
        ck_assert_msg(output.code == 0, "%s: exit %d: %s", arguments[0], output.code, output.error);
        ck_assert_msg(strstr(output.out, title) != NULL, "%s: %s", arguments[0], output.out);
        ck_assert_msg(!strstr(output.out, kinds[1 - _i].title), "%s: %s", arguments[0], output.out);
        command_free(&output);
    }
}
END_TEST

/* A spot has a place; a mean says that it is one. */
START_TEST(solve_tells_where_a_spot_is_and_what_a_mean_is)
{
    command_output output =
        command_run((const char *const[]){"solve", ADAPTER, "--network", kinds[_i].network, NULL});
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    const char *spot = strstr(output.out, "face z0 spot");
    ck_assert((spot != NULL) == (_i == 1));
    double celsius, x, y, z;
    if (_i == 1) {
        ck_assert_int_eq(sscanf(spot, "face z0 spot %lf at %lf x %lf x %lf mm", &celsius, &x, &y, &z), 4);
        ck_assert_msg(x > 0 && x < 42 && y > 0 && y < 80 && z == 0, "%g x %g x %g", x, y, z);
    }
    ck_assert((strstr(output.out, "a face's figure is its mean") != NULL) == (_i == 0));
    command_free(&output);
}
END_TEST

START_TEST(a_limit_of_no_case_is_an_error)
{
    const char *plan = scratch_write(
        "no_case.lua", "local hl = require 'heatledger'\n"
                       "local a = hl.adapter 'bare'\na:supply { voltage = '24 V' }\n"
                       "a:stage 'out' { model = 'output_switch', fed_by = 'source', sense_resistor = "
                       "hl.parts 'parts.yaml'.shunt }\n"
                       "a:port 'port' { fed_by = 'out', voltage = '24 V', current = '1 A' }\n"
                       "return hl.sweep { adapter = a, axes = { { 'load', list = { 1 } } },\n"
                       "  limits = { case_hottest_c = { most = 75 } } }\n");
    scratch_write("parts.yaml", "heatledger: parts/1\nparts:\n"
                                "  shunt: { model: resistor, resistance: 10 mohm }\n");
    command_output output = command_run(
        (const char *const[]){"sweep", plan, "--quiet", "--store", scratch_file("no_case"), NULL});
    ck_assert_int_eq(output.code, 1);
    ck_assert_msg(strstr(output.error, "the script describes no case") != NULL, "%s", output.error);
    command_free(&output);
}
END_TEST

/* Without a case there is nothing of it to rank by. */
START_TEST(an_adapter_without_a_case_is_ranked_by_its_loss)
{
    scratch_write("parts.yaml", "heatledger: parts/1\nparts:\n"
                                "  shunt: { model: resistor, resistance: 10 mohm }\n"
                                "  other: { model: resistor, resistance: 5 mohm }\n");
    const char *script = scratch_write(
        "bare.lua",
        "local hl = require 'heatledger'\nlocal part = hl.parts 'parts.yaml'\n"
        "local a = hl.adapter 'bare'\na:supply { voltage = '24 V' }\n"
        "a:stage 'out' { model = 'output_switch', fed_by = 'source', sense_resistor = part.shunt }\n"
        "a:port 'port' { fed_by = 'out', voltage = '24 V', current = '1 A' }\nreturn a\n");
    json_t *swap = command_json(
        (const char *const[]){"swap", script, "--parts", scratch_file("parts.yaml"), "--json", NULL});
    ck_assert_str_eq(json_string_value(json_object_get(swap, "by")), "loss_w");
    ck_assert_ptr_null(json_object_get(swap, "case"));
    json_decref(swap);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_loop_test(tests, every_command_means_the_same_and_says_what, 0, 2);
    tcase_add_loop_test(tests, the_touch_limit_holds_in_every_command, 0, 2);
    tcase_add_loop_test(tests, tables_for_people_say_what_it_is, 0, 2);
    tcase_add_loop_test(tests, solve_tells_where_a_spot_is_and_what_a_mean_is, 0, 2);
    tcase_add_test(tests, a_limit_of_no_case_is_an_error);
    tcase_add_test(tests, an_adapter_without_a_case_is_ranked_by_its_loss);
}

int main(void)
{
    return story_main("hottest of the case", fill);
}
