/* check_desk_charger.c - the main example as a whole, through the command: both books close, the
 * figures are those of such a charger, and ratings stand where the trade puts them. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "command_run.h"
#include "story.h"

static const char *const script = HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua";

static json_t *solve_at(const char *voltage, const char *load, const char *ambient)
{
    char set_voltage[64], set_load[64], set_ambient[64];
    snprintf(set_voltage, sizeof set_voltage, "mains.voltage=%s", voltage);
    snprintf(set_load, sizeof set_load, "load=%s", load);
    snprintf(set_ambient, sizeof set_ambient, "ambient.temperature=%s", ambient);
    const char *arguments[] = {"solve", script,   "--json", "--set",     set_voltage,
                               "--set", set_load, "--set",  set_ambient, NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "%s, load %s: exit %d: %s", voltage, load, output.code, output.error);
    json_error_t error;
    json_t *root = json_loads(output.out, 0, &error);
    ck_assert_msg(root != NULL, "no JSON: %s", error.text);
    command_free(&output);
    return root;
}

static double figure(const json_t *root, const char *group, const char *name)
{
    const json_t *value = json_object_get(json_object_get(root, group), name);
    ck_assert_msg(json_is_number(value), "no number %s.%s", group, name);
    return json_number_value(value);
}

static const json_t *part_in(const json_t *root, const char *stage, const char *slot)
{
    size_t i;
    json_t *part;
    json_array_foreach(json_object_get(root, "parts"), i, part)
    {
        if (!strcmp(json_string_value(json_object_get(part, "stage")), stage) &&
            !strcmp(json_string_value(json_object_get(part, "slot")), slot))
            return part;
    }
    ck_abort_msg("no part %s.%s", stage, slot);
    return NULL;
}

static double used_of(const json_t *root, const char *stage, const char *slot, const char *limit)
{
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(part_in(root, stage, slot), "headroom"), i, entry)
    {
        if (!strcmp(json_string_value(json_object_get(entry, "limit")), limit))
            return json_number_value(json_object_get(entry, "used"));
    }
    ck_abort_msg("%s.%s has no limit '%s'", stage, slot, limit);
    return NAN;
}

static double quantity(const json_t *root, const char *stage, const char *name)
{
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(root, "stages"), i, entry)
    {
        if (strcmp(json_string_value(json_object_get(entry, "stage")), stage)) continue;
        const json_t *value = json_object_get(json_object_get(entry, "quantities"), name);
        ck_assert_msg(value != NULL, "%s has no quantity %s", stage, name);
        return json_number_value(json_object_get(value, "value"));
    }
    ck_abort_msg("no stage %s", stage);
    return NAN;
}

static const char *const voltages[] = {"90 V", "115 V", "230 V", "264 V"};
static const char *const loads[] = {"0.05", "0.1", "0.25", "0.5", "0.75", "1"};

/* The bar of both books: 1e-9 of the input power. */
START_TEST(both_books_close_at_every_voltage_and_load)
{
    for (size_t v = 0; v < sizeof voltages / sizeof voltages[0]; v++)
        for (size_t l = 0; l < sizeof loads / sizeof loads[0]; l++) {
            json_t *root = solve_at(voltages[v], loads[l], "25 degC");
            double input = figure(root, "power", "input_w");
            ck_assert_str_eq(json_string_value(json_object_get(root, "status")), "solved");
            ck_near(figure(root, "books", "power_imbalance_w"), 0, 0, 1e-9 * input);
            ck_near(figure(root, "books", "heat_imbalance_w"), 0, 0, 1e-9 * input);
            ck_near(figure(root, "power", "output_w") + figure(root, "power", "loss_w"), input, 1e-9, 0);
            json_decref(root);
        }
}
END_TEST

static double ledger_sum(const json_t *root)
{
    size_t i;
    double sum = 0;
    json_t *line;
    json_array_foreach(json_object_get(root, "ledger"), i, line) sum +=
        json_number_value(json_object_get(line, "loss_w"));
    return sum;
}

START_TEST(every_lost_watt_stands_in_the_ledger_once)
{
    json_t *root = solve_at("230 V", "1", "25 degC");
    ck_near(ledger_sum(root), figure(root, "power", "loss_w"), 1e-12, 0);
    double heat = 0;
    size_t i;
    json_t *node;
    json_array_foreach(json_object_get(root, "nodes"), i, node) heat +=
        json_number_value(json_object_get(node, "heat_w"));
    ck_near(heat, figure(root, "power", "loss_w"), 1e-9, 0);
    json_decref(root);
}
END_TEST

/* Full-load efficiency of such a charger: common practice, no source. */
START_TEST(efficiency_is_plausible_and_falls_at_low_line)
{
    double last = 0;
    for (size_t v = 0; v < sizeof voltages / sizeof voltages[0]; v++) {
        json_t *root = solve_at(voltages[v], "1", "25 degC");
        double efficiency = figure(root, "power", "efficiency");
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
    static const char *const ambients[] = {"0 degC", "25 degC", "40 degC"};
    json_t *before = NULL;
    for (size_t a = 0; a < 3; a++) {
        json_t *root = solve_at("115 V", "1", ambients[a]);
        json_t *parts = json_object_get(root, "parts"), *cooler = json_object_get(before, "parts");
        for (size_t i = 0; before && i < json_array_size(parts); i++) {
            double t = json_number_value(json_object_get(json_array_get(parts, i), "temperature_c"));
            double t0 = json_number_value(json_object_get(json_array_get(cooler, i), "temperature_c"));
            ck_assert_msg(t > t0, "part %zu: %.3f not above %.3f", i, t, t0);
        }
        json_decref(before);
        before = root;
    }
    json_decref(before);
}
END_TEST

/* Voltage classes the trade uses: common practice, no source. */
START_TEST(voltage_classes_show_sane_headroom)
{
    json_t *root = solve_at("264 V", "1", "25 degC");
    double drain = used_of(root, "pfc", "switch", "drain voltage");
    ck_assert_msg(drain > 0.5 && drain < 0.8, "650 V switch on a 392 V bus: %.2f used", drain);
    double rectifier = used_of(root, "llc", "rectifier", "drain voltage");
    ck_assert_msg(rectifier > 0.4 && rectifier < 0.8, "rectifier, twice the output plus margin: %.2f",
                  rectifier);
    double bulk = used_of(root, "pfc", "bulk", "capacitor voltage");
    ck_assert_msg(bulk > 0.8 && bulk < 0.97, "450 V bulk capacitor: %.2f used", bulk);
    double polymer = used_of(root, "usb_c_1_buck", "polymer", "capacitor voltage");
    ck_assert_msg(polymer > 0.7 && polymer < 0.9, "25 V polymer on a 20 V rail: %.2f used", polymer);
    json_decref(root);
}
END_TEST

/* A maker would print "100-240 V~ 2.5 A" on a charger of this power: common practice, no source. */
START_TEST(input_current_stays_below_the_label)
{
    json_t *root = solve_at("100 V", "1", "25 degC");
    double current = quantity(root, "filter", "input_current_rms");
    ck_assert_msg(current > 1.4 && current < 2.5, "%.3f A", current);
    json_decref(root);
}
END_TEST

START_TEST(the_same_point_gives_the_same_text_twice)
{
    const char *arguments[] = {"solve", script, "--json", NULL};
    command_output a = command_run(arguments), b = command_run(arguments);
    ck_assert_str_eq(a.out, b.out);
    command_free(&a);
    command_free(&b);
}
END_TEST

static void fill(TCase *tests)
{
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
