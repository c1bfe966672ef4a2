/* check_lua.c - the Lua side: the stock interpreter, results as tables, errors with the script's line,
 * and scripts that are kept in. */
#include <string.h>

#include "command_run.h"
#include "story.h"

/* Run a chunk in the stock lua5.4 with this build's module and library on its paths. */
static command_output stock(const char *chunk)
{
    const char *arguments[] = {"LUA_PATH=" HL_TEST_BUILD "/lib/heatledger/lua/?/init.lua;" HL_TEST_BUILD
                               "/lib/heatledger/lua/?.lua;;",
                               "LUA_CPATH=" HL_TEST_BUILD "/lib/lua/5.4/?.so;;",
                               "lua5.4",
                               "-e",
                               chunk,
                               NULL};
    return program_run("/usr/bin/env", arguments);
}

static void says(const char *chunk, const char *expected)
{
    command_output output = stock(chunk);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    ck_assert_str_eq(output.out, expected);
    command_free(&output);
}

enum {
    STOCK_RUNS = !STORY_SANITIZED
}; /* a sanitized module cannot be loaded by an interpreter that is not */

#define SUPPLY                                                                                               \
    "local hl = require 'heatledger' "                                                                       \
    "local a = hl.adapter 'bench' a:supply { voltage = '12 V' } "                                            \
    "a:stage 'consumer' { model = 'housekeeping', fed_by = 'source', power = '1.5 W' } "

START_TEST(the_stock_interpreter_solves_an_adapter)
{
    if (!STOCK_RUNS) return;
    says(SUPPLY "local r = a:solve() print(r.status, r.power.input_w, #r.stages)", "solved\t1.5\t1\n");
}
END_TEST

START_TEST(settings_may_be_changed_point_by_point)
{
    if (!STOCK_RUNS) return;
    says(SUPPLY "for _, p in ipairs { '1 W', '2 W', '250 mW' } do "
                "io.write(a:solve({ ['consumer.power'] = p }).power.input_w, ' ') end",
         "1 2 0.25 ");
}
END_TEST

START_TEST(an_error_carries_the_script_and_its_line)
{
    if (!STOCK_RUNS) return;
    command_output output = stock("local hl = require 'heatledger'\nlocal a = hl.adapter 'x'\n"
                                  "a:mains { voltage = '230 A', frequency = '50 Hz' }\na:finish()");
    ck_assert_int_ne(output.code, 0);
    ck_assert_msg(strstr(output.error, ":3") && strstr(output.error, "mains voltage"), "%s", output.error);
    command_free(&output);
}
END_TEST

START_TEST(the_whole_charger_solves_in_the_stock_interpreter)
{
    if (!STOCK_RUNS) return;
    command_output output =
        stock("local c = dofile('" HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua') "
              "local r = c:solve { ['mains.voltage'] = '115 V', load = 0.5 } "
              "print(r.status, r.power.efficiency > 0.85 and r.power.efficiency < 0.96)");
    ck_assert_msg(output.code == 0, "%s", output.error);
    ck_assert_str_eq(output.out, "solved\ttrue\n");
    command_free(&output);
}
END_TEST

/* They cost as much as several solutions, and most results of a report never show them. */
START_TEST(ways_of_the_heat_come_when_asked_for)
{
    if (!STOCK_RUNS) return;
    command_output output =
        stock("local c = dofile('" HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua') "
              "local r = c:solve { load = 0.5, ways = true } "
              "print(#c:solve { load = 0.5 }.heat_paths, #r.heat_paths > 5, r.heat_paths[1].heat_w > 0)");
    ck_assert_msg(output.code == 0, "%s", output.error);
    ck_assert_str_eq(output.out, "0\ttrue\ttrue\n");
    command_free(&output);
}
END_TEST

START_TEST(text_becomes_si_and_slips_are_told)
{
    if (!STOCK_RUNS) return;
    says("local hl = require 'heatledger' print(hl.quantity('4.7 uH', 'H'), hl.quantity('25 degC', 'degC'))",
         "4.7e-06\t298.15\n");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_stock_interpreter_solves_an_adapter);
    tcase_add_test(tests, settings_may_be_changed_point_by_point);
    tcase_add_test(tests, an_error_carries_the_script_and_its_line);
    tcase_add_test(tests, the_whole_charger_solves_in_the_stock_interpreter);
    tcase_add_test(tests, ways_of_the_heat_come_when_asked_for);
    tcase_add_test(tests, text_becomes_si_and_slips_are_told);
}

int main(void)
{
    return story_main("lua", fill);
}
