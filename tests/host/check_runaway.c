/* check_runaway.c - a part whose leakage outruns its cooling: found, named, and never shown as a temperature.
 */
#include <math.h>
#include <string.h>

#include "leaky_buck.h"
#include "story.h"

START_TEST(a_leaking_diode_settles_when_it_is_cooled_well)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 0);
    ck_assert_int_eq(leaky_buck_at(&b, 25), HL_SOLVED);
    ck_assert(hl_result_feedback_gain(b.workspace, NULL) < 1);
    drafted_end(&b);
}
END_TEST

START_TEST(run_away_is_named_and_has_no_temperature)
{
    drafted_adapter b;
    leaky_buck_open(&b, 60, 0);
    ck_assert_int_eq(leaky_buck_at(&b, 60), HL_RAN_AWAY);
    ck_assert_ptr_nonnull(strstr(hl_result_reason(b.workspace), "buck.low_switch"));
    for (size_t i = 0; i < hl_design_items(b.design); i++)
        ck_assert(isnan(hl_result_item_temperature(b.workspace, i)));
    for (size_t i = 0; i < hl_design_nodes(b.design); i++)
        ck_assert(isnan(hl_result_node_temperature(b.workspace, i)));
    drafted_end(&b);
}
END_TEST

/* As the ambient rises the gain rises, up to the border and not beyond one on the solved side. */
START_TEST(the_gain_climbs_to_one_at_the_border)
{
    drafted_adapter b;
    leaky_buck_open(&b, 30, 0);
    double last = 0, low = -40, high = 125;
    ck_assert_int_eq(leaky_buck_at(&b, low), HL_SOLVED);
    ck_assert_int_eq(leaky_buck_at(&b, high), HL_RAN_AWAY);
    while (high - low > 1e-3) {
        double middle = 0.5 * (low + high);
        if (leaky_buck_at(&b, middle) == HL_SOLVED) {
            double gain = hl_result_feedback_gain(b.workspace, NULL);
            ck_assert_msg(gain > last && gain < 1, "gain %.6f after %.6f", gain, last);
            last = gain;
            low = middle;
        } else
            high = middle;
    }
    ck_assert_msg(last > 0.95, "the border was met at a gain of %.4f", last);
    /* the same answer after the border as before it: nothing is remembered */
    ck_assert_int_eq(leaky_buck_at(&b, low), HL_SOLVED);
    ck_assert_double_eq(hl_result_feedback_gain(b.workspace, NULL), last);
    drafted_end(&b);
}
END_TEST

/* Whenever it is read, also when the question how far figures rest on estimates has used the same matrix. */
START_TEST(the_gain_is_the_same_read_early_or_late)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 0);
    ck_assert_int_eq(leaky_buck_at(&b, 25), HL_SOLVED);
    double early = hl_result_feedback_gain(b.workspace, NULL);
    ck_assert(early > 0);
    ck_assert_double_eq(hl_result_feedback_gain(b.workspace, NULL), early);
    ck_assert_int_eq(leaky_buck_at(&b, 25), HL_SOLVED);
    hl_reliance total;
    int leader;
    ck_assert_int_eq(hl_result_reliance(b.workspace, NULL, &total), HL_OK);
    ck_assert_double_eq(hl_result_feedback_gain(b.workspace, &leader), early);
    ck_assert_str_eq(hl_design_node_name(b.design, (size_t)leader), "buck.low_switch");
    drafted_end(&b);
}
END_TEST

/* However near the border: solved below it, run away above it, and nothing else. */
START_TEST(each_point_beside_the_border_is_one_or_the_other)
{
    drafted_adapter b;
    leaky_buck_open(&b, 30, 0);
    double low = -40, high = 125;
    while (high - low > 1e-9) {
        double middle = 0.5 * (low + high);
        hl_outcome outcome = leaky_buck_at(&b, middle);
        ck_assert_msg(outcome == HL_SOLVED || outcome == HL_RAN_AWAY, "at %.9f: %s", middle,
                      hl_result_reason(b.workspace));
        *(outcome == HL_SOLVED ? &low : &high) = middle;
    }
    drafted_end(&b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_leaking_diode_settles_when_it_is_cooled_well);
    tcase_add_test(tests, run_away_is_named_and_has_no_temperature);
    tcase_add_test(tests, the_gain_climbs_to_one_at_the_border);
    tcase_add_test(tests, the_gain_is_the_same_read_early_or_late);
    tcase_add_test(tests, each_point_beside_the_border_is_one_or_the_other);
}

int main(void)
{
    return story_main("run-away", fill);
}
