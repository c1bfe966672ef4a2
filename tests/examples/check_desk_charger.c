/* check_desk_charger.c - the main example as a whole, through the command: both books close, the
 * figures are those of such a charger, and ratings stand where the trade puts them. */
#include <string.h>

#include "command_run.h"
#include "example_run.h"
#include "story.h"

static const char *const script = "examples/desk_charger/charger.lua";

static json_t *solve_at(const char *voltage, const char *load, const char *ambient)
{
    return example_solve(script, voltage, load, ambient);
}

static const char *const voltages[] = {"90 V", "115 V", "230 V", "264 V"};
static const char *const loads[] = {"0.05", "0.1", "0.25", "0.5", "0.75", "1"};

/* The bar of both books: 1e-9 of the input power. */
START_TEST(both_books_close_at_every_voltage_and_load)
{
    for (size_t v = 0; v < sizeof voltages / sizeof voltages[0]; v++)
        for (size_t l = 0; l < sizeof loads / sizeof loads[0]; l++) {
            json_t *root = solve_at(voltages[v], loads[l], "25 degC");
            example_books_close(root);
            json_decref(root);
        }
}
END_TEST

START_TEST(every_lost_watt_stands_in_the_ledger_once)
{
    json_t *root = solve_at("230 V", "1", "25 degC");
    double loss = example_figure(root, "power", "loss_w");
    ck_near(example_sum(root, "ledger", "loss_w"), loss, 1e-12, 0);
    ck_near(example_sum(root, "nodes", "heat_w"), loss, 1e-9, 0);
    json_decref(root);
}
END_TEST

/* Full-load efficiency of such a charger: common practice, no source. */
START_TEST(efficiency_is_plausible_and_falls_at_low_line)
{
    double last = 0;
    for (size_t v = 0; v < sizeof voltages / sizeof voltages[0]; v++) {
        json_t *root = solve_at(voltages[v], "1", "25 degC");
        double efficiency = example_figure(root, "power", "efficiency");
        ck_assert_msg(efficiency >= 0.88 && efficiency <= 0.95, "%s: %.4f", voltages[v], efficiency);
        ck_assert_msg(v > 2 || efficiency > last, "efficiency does not fall at low line: %.5f at %s",
                      efficiency, voltages[v]);
        last = efficiency;
        json_decref(root);
    }
}
END_TEST

START_TEST(every_temperature_rises_with_the_ambient)
{
    example_warms_with_ambient(script, "115 V", "1");
}
END_TEST

/* Voltage classes the trade uses: common practice, no source. */
START_TEST(voltage_classes_show_sane_headroom)
{
    json_t *root = solve_at("264 V", "1", "25 degC");
    double drain = example_used(root, "pfc", "switch", "drain voltage");
    ck_assert_msg(drain > 0.5 && drain < 0.8, "650 V switch on a 392 V bus: %.2f used", drain);
    double rectifier = example_used(root, "llc", "rectifier", "drain voltage");
    ck_assert_msg(rectifier > 0.4 && rectifier < 0.8, "rectifier, twice the output plus margin: %.2f",
                  rectifier);
    double bulk = example_used(root, "pfc", "bulk", "capacitor voltage");
    ck_assert_msg(bulk > 0.8 && bulk < 0.97, "450 V bulk capacitor: %.2f used", bulk);
    double polymer = example_used(root, "usb_c_1_buck", "polymer", "capacitor voltage");
    ck_assert_msg(polymer > 0.7 && polymer < 0.9, "25 V polymer on a 20 V rail: %.2f used", polymer);
    json_decref(root);
}
END_TEST

/* A maker would print "100-240 V~ 2.5 A" on a charger of this power: common practice, no source. */
START_TEST(input_current_stays_below_the_label)
{
    json_t *root = solve_at("100 V", "1", "25 degC");
    double current = example_quantity(root, "filter", "input_current_rms");
    ck_assert_msg(current > 1.4 && current < 2.5, "%.3f A", current);
    json_decref(root);
}
END_TEST

START_TEST(the_same_point_gives_the_same_text_twice)
{
    const char *arguments[] = {"solve", HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua", "--json",
                               NULL};
    command_output a = command_run(arguments), b = command_run(arguments);
    ck_assert_str_eq(a.out, b.out);
    command_free(&a);
    command_free(&b);
}
END_TEST

/* A warning that many parts share names those of a stage together, and each of them once. */
START_TEST(warnings_name_the_parts_of_a_stage_together)
{
    json_t *root = solve_at("230 V", "1", "25 degC"), *warning;
    const char *rougher = NULL;
    size_t k;
    json_array_foreach(json_object_get(root, "warnings"), k,
                       warning) if (strstr(json_string_value(warning), "rougher law")) rougher =
        json_string_value(warning);
    ck_assert_ptr_nonnull(rougher);
    ck_assert_ptr_nonnull(strstr(
        rougher, ": filter (common_mode_choke, second_common_mode_choke), pfc (boost_inductor, bulk), "));
    ck_assert_ptr_nonnull(
        strstr(rougher, ", usb_a_buck (high_switch, low_switch, inductor, ceramic, polymer), "));
    const char *end = strstr(rougher, "), usb_a_switch.switch");
    ck_assert(end && !strcmp(end, "), usb_a_switch.switch"));
    json_decref(root);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, warnings_name_the_parts_of_a_stage_together);
    tcase_add_test(tests, both_books_close_at_every_voltage_and_load);
    tcase_add_test(tests, every_lost_watt_stands_in_the_ledger_once);
    tcase_add_test(tests, efficiency_is_plausible_and_falls_at_low_line);
    tcase_add_test(tests, every_temperature_rises_with_the_ambient);
    tcase_add_test(tests, voltage_classes_show_sane_headroom);
    tcase_add_test(tests, input_current_stays_below_the_label);
    tcase_add_test(tests, the_same_point_gives_the_same_text_twice);
}

int main(void)
{
    return story_main("desk charger", fill);
}
