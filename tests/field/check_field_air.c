/* check_field_air.c - the air in a box whose heat field is solved conducts as warm air does. */
#include <math.h>
#include <string.h>

#include "cli/session.h"
#include "design/design.h"
#include "scratch_folder.h"
#include "story.h"

/* W/(m K) of dry air at one atmosphere. source: F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass
 * Transfer, 4th ed. 1996, table A.4; straight between its points. */
static double tabled(double temperature)
{
    static const double kelvin[] = {250, 300, 350, 400}, conductivity[] = {0.0223, 0.0263, 0.0300, 0.0338};
    int i = 0;
    while (i < 2 && temperature > kelvin[i + 1]) i++;
    double share = (temperature - kelvin[i]) / (kelvin[i + 1] - kelvin[i]);
    return conductivity[i] + share * (conductivity[i + 1] - conductivity[i]);
}

static session opened(const char *network, const char *script)
{
    session made;
    session_options options = {.script = script, .network = network, .quiet = true};
    ck_assert(session_open(&made, &options));
    return made;
}

static double inner_air_by_rule(const char *script)
{
    session rule = opened("rule", script);
    const hl_design *design = rule.bound->design;
    double found = NAN;
    ck_assert_int_eq(hl_solve(rule.bound->workspace, rule.bound->settings), HL_OK);
    for (size_t i = 0; i < hl_design_nodes(design); i++)
        if (!strcmp(hl_design_node_name(design, i), "inner air"))
            found = hl_result_node_temperature(rule.bound->workspace, i);
    session_close(&rule);
    return found;
}

static double air_of_field(const char *script)
{
    session field = opened("field", script);
    double found = field.bound->design->field_box->fill_conductivity;
    session_close(&field);
    return found;
}

/* One hot part on a board. */
static const char *boxed(const char *supply, const char *ambient, const char *fill)
{
    static const char shunt[] = "heatledger: parts/1\nparts:\n  shunt:\n    model: resistor\n    "
                                "description: hot resistor, invented\n"
                                "    origin: datasheet\n    resistance: 0.5 ohm\n    size: 8 x 8 x 4 mm\n    "
                                "resistance_board: 4 K/W\n";
    char text[1200];
    int length = snprintf(
        text, sizeof text,
        "local hl = require \"heatledger\"\nlocal box = hl.adapter \"box\"\n"
        "box:supply { voltage = \"%s\" }\nbox:ambient { temperature = \"%s\" }\n"
        "box:stage \"out\" { model = \"output_switch\", fed_by = \"source\", sense_resistor = hl.parts "
        "\"boxed.yaml\".shunt }\n"
        "box:port \"port\" { fed_by = \"out\", voltage = \"12 V\", current = \"2 A\" }\n"
        "box:box { size = \"70 x 50 x 25 mm\", wall = \"2 mm\", fill = \"%s\" }\n"
        "box:board \"main\" { low = \"5 x 5 x 8 mm\", high = \"65 x 45 x 9.6 mm\", copper = \"70 um\" }\n"
        "box:place \"out.sense_resistor\" { at = \"20 x 25 x 12 mm\", board = \"main\" }\nreturn box\n",
        supply, ambient, fill);
    ck_assert(length > 0 && (size_t)length < sizeof text);
    scratch_write("boxed.yaml", shunt);
    return scratch_write("boxed.lua", text);
}

/* Rules find how warm it is to some kelvin, and it is taken in steps of five: 1 % of the table, which has
 * three digits. */
START_TEST(air_conducts_as_warm_as_rules_find_it)
{
    const char *script = boxed("12 V", _i ? "70 degC" : "25 degC", "air");
    double air = inner_air_by_rule(script);
    ck_assert_double_gt(air, _i ? 350 : 305);
    ck_near(air_of_field(script), tabled(air), 0.01, 0);
}
END_TEST

START_TEST(potting_conducts_as_its_material)
{
    ck_near(air_of_field(boxed("12 V", "70 degC", "silicone potting")), 0.65, 1e-12, 0);
}
END_TEST

/* Nothing is foreseen of a point that rules do not solve: about 40 degC then, as in a box hardly warm. */
START_TEST(air_of_a_point_without_a_solution_is_hardly_warm)
{
    ck_near(air_of_field(boxed("1 V", "70 degC", "air")), tabled(313), 0.01, 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_loop_test(tests, air_conducts_as_warm_as_rules_find_it, 0, 2);
    tcase_add_test(tests, potting_conducts_as_its_material);
    tcase_add_test(tests, air_of_a_point_without_a_solution_is_hardly_warm);
}

int main(void)
{
    return story_main("field_air", fill);
}
