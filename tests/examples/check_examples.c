/* check_examples.c - the other invented adapters as wholes, through the command: they solve at every mains
 * voltage and load, both books close, and the figures are those of their kind.  Bands of efficiency and
 * headroom: common practice, no source. */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "command_run.h"
#include "example_run.h"
#include "story.h"

enum { PLACES = 4 };

typedef struct place { /* a voltage limit at 264 V and the share of it the trade uses */
    const char *stage, *slot, *limit;
    double least, most;
} place;

typedef struct example {
    const char *script;
    double least_efficiency, most_efficiency; /* at full load */
    double no_load;                           /* W at 230 V, at most; 0: not looked at */
    double label_current;                     /* A at 100 V, at most */
    double hottest;                           /* degC of any part at 25 degC, full load, 115 V */
    double hottest_face;                      /* degC, the same */
    bool exempt; /* up to 75 W of input: no limits for harmonics. IEC 61000-3-2, from memory */
    place places[PLACES];
} example;

/* clang-format off */
static const example examples[] = {
    {"examples/small_adapter/adapter.lua", 0.86, 0.91, 0.30, 0.8, 125, 65, true,
     {{"flyback", "switch", "drain voltage", 0.6, 0.9},
      {"flyback", "rectifier", "reverse voltage", 0.5, 0.85},
      {"rectifier", "bulk", "capacitor voltage", 0.85, 0.96},
      {"rectifier", "rectifier", "reverse voltage", 0.3, 0.7}}},
    {"examples/wall_adapter/adapter.lua", 0.89, 0.94, 0.30, 1.7, 130, 70, true,
     {{"flyback", "switch", "drain voltage", 0.6, 0.9},
      {"flyback", "rectifier", "drain voltage", 0.5, 0.85},
      {"rectifier", "bulk", "capacitor voltage", 0.85, 0.96},
      {"flyback", "polymer", "capacitor voltage", 0.6, 0.9}}},
    {"examples/tool_charger/charger.lua", 0.90, 0.955, 0, 4.0, 110, 75, false,
     {{"pfc", "switch", "drain voltage", 0.5, 0.8},
      {"llc", "switch", "drain voltage", 0.5, 0.8},
      {"llc", "rectifier", "drain voltage", 0.4, 0.8},
      {"pfc", "bulk", "capacitor voltage", 0.8, 0.96}}},
};
/* clang-format on */

enum { EXAMPLES = sizeof examples / sizeof examples[0] };

static const char *const voltages[] = {"90 V", "115 V", "230 V", "264 V"};
static const char *const loads[] = {"0.05", "0.1", "0.25", "0.5", "0.75", "1"};

START_TEST(both_books_close_at_every_voltage_and_load)
{
    const example *e = &examples[_i];
    for (size_t v = 0; v < sizeof voltages / sizeof voltages[0]; v++)
        for (size_t l = 0; l < sizeof loads / sizeof loads[0]; l++) {
            json_t *root = example_solve(e->script, voltages[v], loads[l], "25 degC");
            example_books_close(root);
            double loss = example_figure(root, "power", "loss_w");
            ck_near(example_sum(root, "ledger", "loss_w"), loss, 1e-12, 0);
            ck_near(example_sum(root, "nodes", "heat_w"), loss, 1e-9, 0);
            json_decref(root);
        }
}
END_TEST

START_TEST(efficiency_is_plausible_and_falls_at_low_line)
{
    const example *e = &examples[_i];
    double last = 0;
    for (size_t v = 0; v < sizeof voltages / sizeof voltages[0]; v++) {
        json_t *root = example_solve(e->script, voltages[v], "1", "25 degC");
        double efficiency = example_figure(root, "power", "efficiency");
        ck_assert_msg(efficiency >= e->least_efficiency && efficiency <= e->most_efficiency, "%s, %s: %.4f",
                      e->script, voltages[v], efficiency);
        ck_assert_msg(v > 2 || efficiency > last, "%s: efficiency does not fall at low line: %.5f at %s",
                      e->script, efficiency, voltages[v]);
        last = efficiency;
        json_decref(root);
    }
}
END_TEST

static double hottest_of(const json_t *root, const char *list, const char *begins, double ambient)
{
    size_t i;
    json_t *entry;
    double hottest = -INFINITY;
    json_array_foreach(json_object_get(root, list), i, entry)
    {
        const char *name = json_string_value(json_object_get(entry, "node"));
        if (begins && (!name || strncmp(name, begins, strlen(begins)))) continue;
        double celsius = json_number_value(json_object_get(entry, "temperature_c"));
        ck_assert_msg(celsius > ambient, "%s %zu at %.2f degC in a room of %.2f", list, i, celsius, ambient);
        hottest = fmax(hottest, celsius);
    }
    return hottest;
}

START_TEST(temperatures_are_plausible)
{
    const example *e = &examples[_i];
    json_t *root = example_solve(e->script, "115 V", "1", "25 degC");
    double part = hottest_of(root, "parts", NULL, 25), face = hottest_of(root, "nodes", "face", 25);
    ck_assert_msg(part > 60 && part < e->hottest, "%s: hottest part %.1f degC", e->script, part);
    ck_assert_msg(face > 40 && face < e->hottest_face, "%s: hottest face %.1f degC", e->script, face);
    ck_assert_msg(part > face, "%s: a face at %.1f degC, no part above %.1f", e->script, face, part);
    json_decref(root);
}
END_TEST

START_TEST(every_temperature_rises_with_the_ambient)
{
    example_warms_with_ambient(examples[_i].script, "115 V", "1");
}
END_TEST

START_TEST(voltage_classes_show_sane_headroom)
{
    const example *e = &examples[_i];
    json_t *root = example_solve(e->script, "264 V", "1", "25 degC");
    for (size_t k = 0; k < PLACES; k++) {
        const place *p = &e->places[k];
        double used = example_used(root, p->stage, p->slot, p->limit);
        ck_assert_msg(used > p->least && used < p->most, "%s, %s.%s: %.3f of the %s used", e->script,
                      p->stage, p->slot, used, p->limit);
    }
    json_decref(root);
}
END_TEST

START_TEST(input_current_stays_below_the_label)
{
    const example *e = &examples[_i];
    json_t *root = example_solve(e->script, "100 V", "1", "25 degC");
    double current = example_quantity(root, "filter", "input_current_rms");
    ck_assert_msg(current > 0.6 * e->label_current && current < e->label_current, "%s: %.3f A", e->script,
                  current);
    json_decref(root);
}
END_TEST

START_TEST(little_is_drawn_without_load)
{
    const example *e = &examples[_i];
    for (size_t v = 0; v < sizeof voltages / sizeof voltages[0]; v++) {
        json_t *root = example_solve(e->script, voltages[v], "0", "25 degC");
        example_books_close(root);
        double input = example_figure(root, "power", "input_w");
        ck_assert_msg(!e->no_load || input < e->no_load, "%s, %s: %.3f W", e->script, voltages[v], input);
        ck_near(example_figure(root, "power", "output_w"), 0, 0, 0);
        json_decref(root);
    }
}
END_TEST

START_TEST(harmonics_are_limited_or_exempt)
{
    const example *e = &examples[_i];
    json_t *root = example_solve(e->script, "230 V", "1", "25 degC");
    double input = example_figure(root, "power", "input_w");
    ck_assert_msg(e->exempt == (input <= 75), "%s: %.2f W", e->script, input);
    double factor = example_figure(root, "power", "power_factor");
    if (e->exempt) /* why they must be: pulses onto a capacitor are far from a sine */
        ck_assert_double_gt(example_quantity(root, "rectifier", "harmonic_share_of_class_d_limit"), 1);
    ck_assert_msg(e->exempt ? factor < 0.6 : factor > 0.95, "%s: power factor %.3f", e->script, factor);
    json_decref(root);
}
END_TEST

/* Where a leaking part runs away so fast that a stage before it fails first, the part is named, not only the
 * stage that could not carry its watts. */
START_TEST(a_part_that_runs_away_is_named)
{
    const char *arguments[] = {"solve", HL_PROJECT_SOURCE "/examples/tool_charger/charger.lua", "--set",
                               "bridge.rectifier.leakage_current=0.7 mA", NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 3, "exit %d: %s", output.code, output.error);
    ck_assert_msg(strstr(output.error, "run-away led by bridge.rectifier: ") != NULL, "it says %s",
                  output.error);
    ck_assert_msg(strstr(output.error, " its leakage grows faster than the heat is carried away") != NULL,
                  "it says %s", output.error);
    ck_assert_ptr_null(strstr(output.error, " W at ")); /* of a part that is long gone */
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, both_books_close_at_every_voltage_and_load, 0, EXAMPLES);
    tcase_add_loop_test(tests, efficiency_is_plausible_and_falls_at_low_line, 0, EXAMPLES);
    tcase_add_loop_test(tests, temperatures_are_plausible, 0, EXAMPLES);
    tcase_add_loop_test(tests, every_temperature_rises_with_the_ambient, 0, EXAMPLES);
    tcase_add_loop_test(tests, voltage_classes_show_sane_headroom, 0, EXAMPLES);
    tcase_add_loop_test(tests, input_current_stays_below_the_label, 0, EXAMPLES);
    tcase_add_loop_test(tests, little_is_drawn_without_load, 0, EXAMPLES);
    tcase_add_loop_test(tests, harmonics_are_limited_or_exempt, 0, EXAMPLES);
    tcase_add_test(tests, a_part_that_runs_away_is_named);
}

int main(void)
{
    return story_main("examples", fill);
}
