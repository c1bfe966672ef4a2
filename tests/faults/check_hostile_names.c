/* check_hostile_names.c - names and texts meant to become something else where they end up: a formula in a
 * spreadsheet, a statement in a store. (What may become markup is in check_report.c.) */
#include <sqlite3.h>
#include <stdbool.h>
#include <string.h>
#include <unistd.h>

#include "command_run.h"
#include "scratch_folder.h"
#include "story.h"

/* Names may begin with a dash; the figures a script derives may be called anything. */
static void write_scenario(void)
{
    scratch_write("parts.yaml",
                  "heatledger: parts/1\nparts:\n"
                  "  -2_cmd: { model: resistor, resistance: 10 mohm, description: \"=1+1\" }\n"
                  "  -2_fet: { model: silicon_mosfet, on_resistance: 9 mohm, rated_voltage: 80 V, "
                  "rated_current: 60 A, gate_charge: 40 nC, gate_drain_charge: 8 nC, "
                  "gate_drive_voltage: 10 V, output_charge: 50 nC, output_voltage: 40 V }\n"
                  "  -2_coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm }\n");
    scratch_write(
        "module.lua",
        "local hl = require 'heatledger'\nlocal part = hl.parts 'parts.yaml'\n"
        "local a = hl.adapter '=module'\na:supply { voltage = '48 V' }\n"
        "a:stage '-buck' { model = 'synchronous_buck', fed_by = 'source', switching_frequency = '200 kHz',\n"
        "  high_switch = part['-2_fet'], low_switch = part['-2_fet'], inductor = part['-2_coil'] }\n"
        "a:port '-out' { fed_by = '-buck', voltage = '12 V', current = '1 A' }\n"
        "for _, item in ipairs { 'high_switch', 'low_switch', 'inductor' } do\n"
        "  a:link { '-buck.' .. item, 'ambient', conductance = '40 mW/K' }\nend\nreturn a\n");
    scratch_write("bench.yaml",
                  "heatledger: bench/1\nfree:\n"
                  "  - { value: \"-buck.inductor.dc_resistance\", low: 5 mohm, high: 80 mohm }\n"
                  "points:\n  - name: \"=HYPERLINK(0)\"\n    readings:\n"
                  "      - { of: input power, value: 12.2 W, uncertainty: 0.1 W }\n"
                  "  - name: \"@SUM(1)\"\n    readings:\n"
                  "      - { of: input power, value: 12.21 W, uncertainty: 0.1 W }\n");
    scratch_write("statement.lua",
                  "local hl = require 'heatledger'\nreturn hl.sweep { adapter = 'module.lua',\n"
                  "  axes = { { 'load', from = 0.25, to = 1, steps = 4 } },\n"
                  "  derive = { ['=1+1'] = function() return 7 end,\n"
                  "    ['a\"; DROP TABLE point; --'] = function() return 8 end,\n"
                  "    [\"b'); DELETE FROM span; --\"] = function() return 9 end } }\n");
    scratch_write("plan.lua", "-- '); DROP TABLE point; --\nlocal hl = require 'heatledger'\n"
                              "return hl.sweep { adapter = 'module.lua', figures = { 'efficiency' },\n"
                              "  axes = { { 'source.voltage', list = { '9 V', '24 V', '48 V', '60 V' } } },\n"
                              "  derive = { ['-- 1'] = function() return 7 end } }\n");
}

/* ------------------------------------------------------------------- csv -- */

static bool is_number(const char *text)
{
    char *end;
    strtod(text, &end);
    return end != text && !*end;
}

/* One field, without its quotes; where the next begins. */
static const char *take_field(const char *at, char *field, size_t size)
{
    size_t n = 0;
    bool quoted = *at == '"';
    if (quoted) at++;
    while (*at && (quoted || (*at != ',' && *at != '\n' && *at != '\r'))) {
        if (quoted && *at == '"' && *++at != '"') break;
        if (n < size - 1) field[n++] = *at;
        at++;
    }
    field[n] = '\0';
    while (*at == '\r') at++;
    return *at ? at + 1 : at;
}

static void check_fields(const char *text, const char *command)
{
    char field[4000];
    size_t fields = 0;
    for (const char *at = text; *at; fields++) {
        at = take_field(at, field, sizeof field);
        ck_assert_msg(is_number(field) || !*field || !strchr("=+-@\t\r", *field), "%s: '%s' is a formula",
                      command, field);
    }
    ck_assert_msg(fields > 8, "%s: %zu fields: %s", command, fields, text);
}

static command_output run(const char *command)
{
    const char *module = scratch_file("module.lua"), *solve[] = {command, module, "--csv", NULL};
    const char *bench[] = {"fit", module, scratch_file("bench.yaml"), "--csv", NULL};
    const char *compare[] = {"compare", module, module, "--csv", NULL};
    const char *parts[] = {"parts", scratch_file("parts.yaml"), "--csv", NULL};
    if (!strcmp(command, "fit")) return command_run(bench);
    if (!strcmp(command, "compare")) return command_run(compare);
    if (!strcmp(command, "parts")) return command_run(parts);
    return command_run(solve);
}

static const char *const commands[] = {"solve", "spread", "warmup", "efficiency", "fit", "compare", "parts"};

START_TEST(no_field_is_a_formula)
{
    write_scenario();
    command_output out = run(commands[_i]);
    ck_assert_msg(out.code == 0, "%s: exit %d: %s", commands[_i], out.code, out.error);
    check_fields(out.out, commands[_i]);
    command_free(&out);
}
END_TEST

/* ------------------------------------------------------------------- sql -- */

static int number_in(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *row = NULL;
    int number = -1;
    if (sqlite3_prepare_v2(db, sql, -1, &row, NULL) == SQLITE_OK && sqlite3_step(row) == SQLITE_ROW)
        number = sqlite3_column_int(row, 0);
    sqlite3_finalize(row);
    return number;
}

START_TEST(a_name_is_no_statement)
{
    write_scenario();
    char store[128];
    snprintf(store, sizeof store, "%s/a'; DROP TABLE point; --.store", scratch_folder);
    const char *arguments[] = {"sweep", scratch_file("plan.lua"), "--store", store, "--csv", "--quiet", NULL};
    command_output out = command_run(arguments);
    ck_assert_msg(out.code == 0, "exit %d: %s", out.code, out.error);
    check_fields(out.out, "sweep");
    command_free(&out);
    sqlite3 *db = NULL;
    ck_assert_int_eq(sqlite3_open_v2(store, &db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
    ck_assert_int_eq(number_in(db, "SELECT count(*) FROM point"), 4);
    ck_assert_int_eq(number_in(db, "SELECT count(*) FROM span"), 1);
    ck_assert_int_eq(number_in(db, "SELECT \"-- 1\" FROM result WHERE status = 'solved'"), 7);
    /* a reason begins with the stage's name: kept as it is in the store, made text in the file */
    ck_assert_int_eq(number_in(db, "SELECT count(*) FROM point WHERE reason LIKE '-buck%'"), 1);
    sqlite3_close(db);
}
END_TEST

START_TEST(a_name_that_is_a_statement_is_refused)
{
    write_scenario();
    const char *arguments[] = {"sweep", scratch_file("statement.lua"), "--store", scratch_file("s.store"),
                               NULL};
    command_output out = command_run(arguments);
    ck_assert_int_eq(out.code, 1);
    ck_assert_ptr_nonnull(strstr(out.error, "'=1+1' is not usable as a name"));
    ck_assert_ptr_nonnull(strstr(out.error, "DROP TABLE point; --' is not usable as a name"));
    ck_assert_ptr_nonnull(strstr(out.error, "DELETE FROM span; --' is not usable as a name"));
    command_free(&out);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_loop_test(tests, no_field_is_a_formula, 0, sizeof commands / sizeof *commands);
    tcase_add_test(tests, a_name_is_no_statement);
    tcase_add_test(tests, a_name_that_is_a_statement_is_refused);
}

int main(void)
{
    return story_main("hostile names", fill);
}
