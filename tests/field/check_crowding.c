/* check_crowding.c - parts that stand in one another, in a wall or in their board, or float above it: told
 * with the line of the script, an error with a field and a warning by rule. */
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "command_run.h"
#include "scratch_folder.h"
#include "story.h"

static void parts_of_the_box(void)
{
    scratch_folder_make();
    scratch_write("parts.yaml", "heatledger: parts/1\nparts:\n"
                                "  shunt: { model: resistor, resistance: 10 mohm, size: 10 x 8 x 4 mm }\n");
}

/* Line 9 places the first part on its board, line 10 the second one: each where the case says. */
static command_output placed(const char *network, const char *first, const char *second)
{
    char text[1600];
    snprintf(
        text, sizeof text,
        "local hl = require 'heatledger'\nlocal part = hl.parts 'parts.yaml'\nlocal a = hl.adapter 'box'\n"
        "a:supply { voltage = '12 V' }\n"
        "for _, n in ipairs { 'one', 'two' } do a:stage(n) { model = 'output_switch', fed_by = 'source', "
        "sense_resistor = part.shunt } end\n"
        "for _, n in ipairs { 'one', 'two' } do a:port(n .. '_port') { fed_by = n, voltage = '12 V', current "
        "= "
        "'2 A' } end\n"
        "a:box { size = '70 x 50 x 25 mm', wall = '2 mm', material = 'polycarbonate', network = '%s' }\n"
        "a:board 'main' { low = '5 x 5 x 8 mm', high = '65 x 45 x 9.6 mm', copper = '70 um' }\n"
        "a:place 'one.sense_resistor' { at = '%s mm', board = 'main' }\n"
        "a:place 'two.sense_resistor' { at = '%s mm', board = 'main' }\nreturn a\n",
        network, first, second);
    const char *script = scratch_write("box.lua", text);
    return command_run((const char *const[]){"solve", script, NULL});
}

/* A part is 10 x 8 x 4 mm, the board's upper side is at 9.6 mm, the walls are 2 mm. */
static const struct {
    const char *first, *second, *told; /* NULL: nothing */
    bool wrong_in_a_field, by_rule_only;
} cases[] = {
    {"20 x 20 x 11.6", "25 x 25 x 11.6",
     "box.lua:10: one.sense_resistor and two.sense_resistor overlap by 5 x 3 x 4 mm; move one, or check at "
     "and size",
     true, false},
    {"20 x 20 x 11.6", "30 x 20 x 11.6", NULL, false, false},    /* they touch */
    {"20 x 20 x 11.6", "29.96 x 20 x 11.6", NULL, false, false}, /* less than a ruler tells */
    {"20 x 20 x 11.6", "29.9 x 20 x 11.6", "overlap by 0.1 x 8 x 4 mm", true, false},
    {"20 x 20 x 11.6", "20 x 20 x 6", NULL, false, false}, /* below the board */
    {"20 x 20 x 11.6", "5 x 30 x 11.6", "box.lua:10: two.sense_resistor reaches 2 mm into the wall at x0",
     false, true},
    {"20 x 20 x 11.6", "40 x 30 x 20",
     "box.lua:10: two.sense_resistor is 8.4 mm above board 'main' that it is on", false, true},
    {"20 x 20 x 11.6", "40 x 30 x 3.9",
     "box.lua:10: two.sense_resistor is 2.1 mm below board 'main' that it is on", false, true},
    {"20 x 20 x 11.6", "40 x 30 x 9.2", "box.lua:10: two.sense_resistor is 2.4 mm inside board 'main'", false,
     true},
};

START_TEST(what_stands_in_another_is_told_with_its_line)
{
    command_output rule = placed("rule", cases[_i].first, cases[_i].second);
    ck_assert_msg(rule.code == 0, "exit %d: %s", rule.code, rule.error);
    if (cases[_i].told)
        ck_assert_msg(strstr(rule.error, cases[_i].told) != NULL, "%s", rule.error);
    else
        ck_assert_msg(!strstr(rule.error, "overlap") && !strstr(rule.error, "that it is on"), "%s",
                      rule.error);
    command_free(&rule);
}
END_TEST

START_TEST(a_field_refuses_two_bodies_in_one_place)
{
    if (cases[_i].by_rule_only) return; /* what the field makes of these: check_field_heat.c */
    command_output field = placed("field", cases[_i].first, cases[_i].second);
    ck_assert_msg(field.code == (cases[_i].wrong_in_a_field ? 1 : 0), "exit %d: %s", field.code, field.error);
    if (cases[_i].told) ck_assert_msg(strstr(field.error, cases[_i].told) != NULL, "%s", field.error);
    command_free(&field);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, parts_of_the_box, scratch_folder_remove);
    tcase_add_loop_test(tests, what_stands_in_another_is_told_with_its_line, 0, sizeof cases / sizeof *cases);
    tcase_add_loop_test(tests, a_field_refuses_two_bodies_in_one_place, 0, sizeof cases / sizeof *cases);
}

int main(void)
{
    return story_main("crowded boxes", fill);
}
