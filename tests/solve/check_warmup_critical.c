/* check_warmup_critical.c - how far load and ambient may rise before a whole design runs away. */
#include <math.h>
#include <string.h>

#include "leaky_buck.h"
#include "story.h"

static const double celsius = 273.15;

/* The diode loses P(T) = Pc + L 2^((T - T0)/10) over one resistance: the tangent condition dP/dT = 1/R gives
 * the leakage at the fold, L ln 2 / 10 = 1/R, and the ambient Ta = T - R P(T).  Pc and L are read off a point
 * far from it; both have no other dependence on temperature.  Closed form (N. Semenov's tangency, 1928). */
static double border_by_tangency(drafted_adapter *b, double resistance)
{
    size_t diode = leaky_buck_diode(b);
    ck_assert_int_eq(leaky_buck_at(b, -20), HL_SOLVED);
    double t = hl_result_item_temperature(b->workspace, diode);
    double leak = hl_result_loss(b->workspace, diode, HL_LEAKAGE);
    double rest = hl_result_item_loss(b->workspace, diode) - leak;
    double at_fold = LEAKY_DOUBLING / (log(2) * resistance);
    double fold = t + LEAKY_DOUBLING * log2(at_fold / leak);
    return fold - resistance * (rest + at_fold);
}

START_TEST(the_critical_ambient_is_where_the_curves_touch)
{
    static const double resistances[] = {12, 30, 60};
    drafted_adapter b;
    leaky_buck_open(&b, resistances[_i], 0);
    double expected = border_by_tangency(&b, resistances[_i]);
    b.settings[drafted_setting(&b, "ambient.temperature")] = -30 + celsius;
    hl_critical found;
    drafted_must(&b, hl_critical_setting(b.workspace, b.settings, drafted_setting(&b, "ambient.temperature"),
                                         150 + celsius, &found));
    ck_assert_int_eq(found.border, HL_BORDER_FOLD);
    ck_near(found.value, expected, 0, 0.1); /* K; 0.5 % of a rise of tens of kelvin */
    ck_assert(found.gain > 0.95 && found.gain < 1);
    ck_assert_str_eq(hl_design_node_name(b.design, (size_t)found.leader), "buck.low_switch");
    ck_assert_msg(found.points < 40, "%u points", found.points);
    drafted_end(&b);
}
END_TEST

/* Solved 0.5 % below the border, run away 0.5 % above it. */
START_TEST(the_critical_load_parts_solved_from_run_away)
{
    drafted_adapter b;
    leaky_buck_open(&b, 30, 0);
    size_t load = drafted_setting(&b, "load");
    b.settings[drafted_setting(&b, "ambient.temperature")] = 30 + celsius;
    b.settings[load] = 0.05;
    hl_critical found;
    drafted_must(&b, hl_critical_setting(b.workspace, b.settings, load, 8, &found));
    ck_assert_int_eq(found.border, HL_BORDER_FOLD);
    b.settings[load] = 0.995 * found.value;
    drafted_must(&b, hl_solve(b.workspace, b.settings));
    ck_assert_int_eq(hl_result_outcome(b.workspace), HL_SOLVED);
    b.settings[load] = 1.005 * found.value;
    drafted_must(&b, hl_solve(b.workspace, b.settings));
    ck_assert_int_eq(hl_result_outcome(b.workspace), HL_RAN_AWAY);
    drafted_end(&b);
}
END_TEST

START_TEST(a_design_without_a_border_says_so)
{
    drafted_adapter b;
    leaky_buck_open(&b, 1, 0);
    hl_critical found;
    size_t load = drafted_setting(&b, "load"), ambient = drafted_setting(&b, "ambient.temperature");
    drafted_must(&b, hl_critical_setting(b.workspace, b.settings, load, 1.5, &found));
    ck_assert_int_eq(found.border, HL_BORDER_NONE);
    ck_assert_double_eq(found.value, 1.5);
    ck_assert_int_eq(hl_critical_setting(b.workspace, b.settings, load, 0.5, &found), HL_BAD_INPUT);
    ck_assert_int_eq(hl_critical_setting(b.workspace, b.settings, load, NAN, &found), HL_BAD_INPUT);
    ck_assert_int_eq(hl_critical_setting(b.workspace, b.settings, 9999, 2, &found), HL_BAD_INPUT);
    b.settings[ambient] = 190 + celsius;
    drafted_must(&b, hl_critical_setting(b.workspace, b.settings, load, 2, &found));
    ck_assert_int_eq(found.border, HL_BORDER_BEFORE);
    drafted_end(&b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, the_critical_ambient_is_where_the_curves_touch, 0, 3);
    tcase_add_test(tests, the_critical_load_parts_solved_from_run_away);
    tcase_add_test(tests, a_design_without_a_border_says_so);
}

int main(void)
{
    return story_main("critical setting", fill);
}
