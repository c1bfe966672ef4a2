/* check_law_command.c - the command, and the call, that judge an adapter by the efficiency laws. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "chunk_run.h"
#include "command_json.h"
#include "json_entry.h"
#include "story.h"

static const char *const adapter = HL_TEST_SOURCE "/law/adapter.lua";
static const char *const charger = HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua";

static command_output efficiency(const char *script, const char *const more[])
{
    const char *arguments[16] = {"efficiency", script};
    for (int i = 0; i < 12 && more[i]; i++) arguments[2 + i] = more[i];
    return command_run(arguments);
}

static json_t *efficiency_json(const char *script, const char *const more[], int code)
{
    command_output output = efficiency(script, more);
    json_t *root = output_json(&output, code);
    command_free(&output);
    return root;
}

static const char *verdict_of(const json_t *root, const char *law)
{
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(root, "laws"), i,
                       entry) if (!strcmp(json_string_value(json_object_get(entry, "law")),
                                          law)) return json_string_value(json_object_get(entry, "verdict"));
    return "no such law";
}

START_TEST(the_command_runs_six_loads_at_both_mains_and_averages_four)
{
    const char *more[] = {"--json", NULL};
    json_t *root = efficiency_json(adapter, more, 0);
    const double voltages[] = {115, 230}, loads[] = {0.1, 0.25, 0.5, 0.75, 1, 0};
    ck_assert_str_eq(json_string_value(json_object_get(root, "schema")), "heatledger.efficiency/1");
    ck_near(json_figure(root, "nameplate"), 45, 1e-12, 0);
    ck_assert_uint_eq(json_array_size(json_object_get(root, "runs")), 2);
    for (size_t r = 0; r < 2; r++) {
        const json_t *run = json_array_get(json_object_get(root, "runs"), r),
                     *points = json_object_get(run, "points");
        double sum = 0;
        ck_near(json_figure(run, "voltage"), voltages[r], 0, 0);
        ck_assert_uint_eq(json_array_size(points), 6);
        for (size_t p = 0; p < 6; p++) {
            const json_t *point = json_array_get(points, p);
            ck_near(json_figure(point, "load"), loads[p], 0, 0);
            ck_near(json_figure(point, "output") + json_figure(point, "loss"), json_figure(point, "input"),
                    1e-9, 0);
            if (p > 0 && p < 5) sum += json_figure(point, "output") / json_figure(point, "input") / 4;
        }
        ck_near(json_figure(run, "average"), sum, 1e-12, 0);
        ck_near(json_figure(run, "no_load"), json_figure(json_array_get(points, 5), "input"), 0, 0);
        ck_assert(json_object_get(json_array_get(points, 5), "efficiency") == NULL);
    }
    json_decref(root);
}
END_TEST

/* The points of the command are those of `heatledger solve` with the same settings. */
START_TEST(a_point_is_what_solve_finds)
{
    const char *more[] = {"--json", "--set", "standby.power=25 mW", NULL};
    json_t *root = efficiency_json(adapter, more, 0);
    const char *arguments[] = {"solve",
                               adapter,
                               "--json",
                               "--set",
                               "standby.power=25 mW",
                               "--set",
                               "mains.voltage=115 V",
                               "--set",
                               "mains.frequency=60 Hz",
                               "--set",
                               "load=0.25",
                               NULL};
    json_t *solved = command_json(arguments);
    const json_t *run = json_array_get(json_object_get(root, "runs"), 0);
    ck_near(json_figure(json_array_get(json_object_get(run, "points"), 1), "efficiency"),
            json_figure(json_object_get(solved, "power"), "efficiency"), 0, 0);
    json_decref(solved);
    json_decref(root);
}
END_TEST

/* Appendix Z: D = nameplate over the sum of the ports' powers; each load is multiplied by it when D < 1. */
START_TEST(a_smaller_nameplate_draws_every_port_down)
{
    const char *smaller[] = {"--json", "--nameplate", "36 W", NULL},
               *larger[] = {"--json", "--nameplate", "60 W", NULL};
    json_t *down = efficiency_json(adapter, smaller, 0), *up = efficiency_json(adapter, larger, 0);
    ck_near(json_figure(down, "derating"), 0.8, 1e-12, 0);
    ck_near(json_figure(up, "derating"), 1, 0, 0);
    const char *arguments[] = {"solve", adapter, "--json", "--set", "load=0.8", NULL};
    json_t *solved = command_json(arguments);
    const json_t *run = json_array_get(json_object_get(down, "runs"), 1);
    ck_near(json_figure(json_array_get(json_object_get(run, "points"), 4), "output"),
            json_figure(json_object_get(solved, "power"), "output_w"), 1e-12, 0);
    json_decref(solved);
    json_decref(down);
    json_decref(up);
}
END_TEST

/* The test adapter meets all laws with 20 mW of standby power and none with 200 mW; 0.09 W breaks the Code of
 * Conduct (0.075 W) alone, which binds nobody. */
START_TEST(exit_codes_tell_what_was_found)
{
    static const struct {
        const char *more[8];
        int code;
    } cases[] = {
        {{NULL}, 0},
        {{"--strict", NULL}, 0},
        {{"--set", "standby.power=200 mW", NULL}, 0},
        {{"--strict", "--set", "standby.power=200 mW", NULL}, 2},
        {{"--strict", "--set", "standby.power=90 mW", NULL}, 0},
        {{"--strict", "--set", "rectifier.minimum_bus_voltage=200 V", NULL}, 3},
        {{"--set", "load=0.5", NULL}, 1},
        {{"--set", "mains.voltage=120 V", NULL}, 1},
        {{"--set", "nonsense", NULL}, 1},
        {{"--nameplate", "3 A", NULL}, 1},
        {{"--nameplate", "0 W", NULL}, 1},
        {{"--nameplate", "-5 W", NULL}, 1},
        {{"--law", "nix", NULL}, 1},
        {{"--set", "output.current=0 A", NULL}, 1},
        {{"--no-such-option", NULL}, 1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        command_output output = efficiency(adapter, cases[i].more);
        ck_assert_msg(output.code == cases[i].code, "case %zu: exit %d, expected %d: %s", i, output.code,
                      cases[i].code, output.error);
        ck_assert_msg(output.code != 1 || strlen(output.error) > 20, "case %zu: no reason told", i);
        command_free(&output);
    }
    const char *nothing[] = {"efficiency", NULL};
    command_output output = command_run(nothing);
    ck_assert_int_eq(output.code, 1);
    command_free(&output);
}
END_TEST

/* A crest of 163 V cannot hold 200 V: no figures at 115 V, so the American rule stays open while the European
 * one is judged at 230 V. */
START_TEST(a_mains_without_solution_leaves_its_law_open)
{
    const char *more[] = {"--json", "--set", "rectifier.minimum_bus_voltage=200 V", NULL};
    json_t *root = efficiency_json(adapter, more, 3);
    ck_assert_str_eq(verdict_of(root, "us_level_vi"), "not determined");
    ck_assert_str_eq(verdict_of(root, "eu_2019_1782"), "meets");
    ck_assert_uint_eq((size_t)json_figure(root, "unsolved"), 6);
    json_decref(root);
}
END_TEST

static void fits_a_page(const char *text)
{
    size_t lines = 0;
    for (const char *line = text; *line; lines++) {
        size_t length = strcspn(line, "\n");
        ck_assert_msg(length <= 80, "%zu columns: %.*s", length, (int)length, line);
        ck_assert_msg(length == 0 || line[length - 1] != ' ', "a space at the end: %.*s", (int)length, line);
        line += length + (line[length] == '\n');
    }
    ck_assert_msg(lines > 20, "only %zu lines", lines);
}

START_TEST(the_page_is_eighty_columns_wide_and_no_certificate)
{
    static const struct {
        const char *script, *more[4];
    } pages[] = {
        {HL_TEST_SOURCE "/law/adapter.lua", {NULL}},
        {HL_TEST_SOURCE "/law/adapter.lua", {"--set", "rectifier.minimum_bus_voltage=200 V", NULL}},
        {HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua", {"--nameplate", "140 W", NULL}},
    };
    for (size_t i = 0; i < 3; i++) {
        command_output output = efficiency(pages[i].script, pages[i].more);
        fits_a_page(output.out);
        ck_assert_msg(strstr(output.out, "no certificate") != NULL,
                      "it does not say that it is no certificate");
        ck_assert(strstr(output.out, "115 V, 60 Hz") && strstr(output.out, "230 V, 50 Hz"));
        ck_assert(strstr(output.out, "how well known: "));
        command_free(&output);
    }
}
END_TEST

START_TEST(the_desk_charger_is_a_multiple_voltage_supply)
{
    const char *more[] = {"--json", NULL};
    json_t *root = efficiency_json(charger, more, 0);
    ck_near(json_figure(root, "nameplate"), 157, 1e-12, 0);
    ck_assert_str_eq(verdict_of(root, "eu_code_of_conduct_5"), "does not apply");
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(root, "laws"), i, entry)
    {
        const char *class = json_string_value(json_object_get(entry, "class"));
        if (class) ck_assert_str_eq(class, "multiple_voltage");
    }
    json_decref(root);
}
END_TEST

#define PORT "b:port 'p' { fed_by = 's', voltage = '12 V', current = '1 A' } "
#define DC_SUPPLY                                                                                            \
    "local b = hl.adapter 'b' b:supply { voltage = '12 V' } "                                                \
    "b:stage 's' { model = 'output_switch', fed_by = 'source' } " PORT
#define MAINS_SUPPLY                                                                                         \
    "local b = hl.adapter 'b' b:mains { voltage = '230 V', frequency = '50 Hz' } "                           \
    "b:stage 's' { model = 'capacitor_input_rectifier', fed_by = 'mains', load = 'constant_current' } " PORT

START_TEST(a_dc_supply_is_told_that_no_law_applies)
{
    chunk_says(DC_SUPPLY "local f = b:efficiency() "
                         "print(#f.laws, #f.runs, #f.runs[1].points, f.runs[1].voltage, f.unsolved) "
                         "print(hl.efficiency_text(f):match 'none applies')",
               "0\t1\t6\t12.0\t0\nnone applies\n");
}
END_TEST

START_TEST(a_script_may_ask_for_its_own_verdict)
{
    chunk_says(MAINS_SUPPLY "local f = b:efficiency { nameplate = '10 W', laws = { 'us_level_vi' }, "
                            "settings = { ['p.current'] = '2 A' } } "
                            "print(#f.laws, f.laws[1].law, f.nameplate, f.stated)",
               "1\tus_level_vi\t10.0\t24.0\n");
    chunk_says(DC_SUPPLY "local _, said = pcall(b.efficiency, b, { settings = { ['p.current'] = '0 A' } }) "
                         "print((said:gsub('^[^:]*/', '')))",
               "heatledger_chunk_");
    chunk_says(DC_SUPPLY "local _, said = pcall(b.efficiency, b, { settings = { ['p.current'] = '0 A' } }) "
                         "print((said:gsub('^[^:]*:', '')))",
               "2: efficiency: the ports state no current");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_command_runs_six_loads_at_both_mains_and_averages_four);
    tcase_add_test(tests, a_point_is_what_solve_finds);
    tcase_add_test(tests, a_smaller_nameplate_draws_every_port_down);
    tcase_add_test(tests, exit_codes_tell_what_was_found);
    tcase_add_test(tests, a_mains_without_solution_leaves_its_law_open);
    tcase_add_test(tests, the_page_is_eighty_columns_wide_and_no_certificate);
    tcase_add_test(tests, the_desk_charger_is_a_multiple_voltage_supply);
    tcase_add_test(tests, a_dc_supply_is_told_that_no_law_applies);
    tcase_add_test(tests, a_script_may_ask_for_its_own_verdict);
}

int main(void)
{
    return story_main("law command", fill);
}
