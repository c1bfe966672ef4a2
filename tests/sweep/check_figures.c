/* check_figures.c - figures by name are those of the result they stand for; a plan refuses what does not fit,
 * each with its sentence. */
#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "heatledger/sweep.h"
#include "story.h"
#include "uncertain_buck.h"

static const double kelvin = 273.15;

static uncertain_buck buck;
static double base[512];
static hl_workspace *point;

static void open_point(void)
{
    uncertain_buck_open(&buck);
    ck_assert_uint_le(hl_design_settings(buck.design), sizeof base / sizeof *base);
    hl_design_defaults(buck.design, base);
    point = hl_workspace_create(buck.design);
    ck_assert_int_eq(hl_solve(point, base), HL_OK);
}

static void close_point(void)
{
    hl_workspace_destroy(point);
    drafted_end(&buck);
}

static double read_figure(const char *name)
{
    hl_probe figure;
    ck_assert_msg(hl_probe_find(buck.design, name, &figure), "no figure %s", name);
    return hl_probe_read(&figure, point, base);
}

static size_t item(const char *name)
{
    for (size_t i = 0; i < hl_design_items(buck.design); i++)
        if (!strcmp(hl_design_item(buck.design, i)->name, name)) return i;
    ck_abort_msg("no item %s", name);
    return 0;
}

START_TEST(a_figure_is_the_result_it_names)
{
    open_point();
    const hl_power_figures *power = hl_result_power(point);
    size_t high = item("buck.high_switch"), coil = item("buck.inductor");
    double hottest = fmax(hl_result_item_temperature(point, high), hl_result_item_temperature(point, coil));
    const struct {
        const char *name;
        double value;
    } row[] = {
        {"input_w", power->input},
        {"output_w", power->output},
        {"loss_w", power->loss},
        {"efficiency", power->efficiency},
        {"power_factor", 1},
        {"input_current", power->input_current},
        {"feedback_gain", hl_result_feedback_gain(point, NULL)},
        {"part_hottest_c",
         fmax(hottest, hl_result_item_temperature(point, item("buck.low_switch"))) - kelvin},
        {"buck.high_switch.temperature_c", hl_result_item_temperature(point, high) - kelvin},
        {"buck.high_switch.loss_w", hl_result_item_loss(point, high)},
        {"buck.high_switch.conduction_w", hl_result_loss(point, high, HL_CONDUCTION)},
        {"buck.high_switch.turn_on_w", hl_result_loss(point, high, HL_TURN_ON)},
        {"buck.inductor.winding_dc_w", hl_result_loss(point, coil, HL_WINDING_DC)},
        {"buck.input_w", hl_result_stage_input(point, 0)},
        {"buck.output_w", hl_result_stage_output(point, 0)},
        {"buck.loss_w", hl_result_stage_input(point, 0) - hl_result_stage_output(point, 0)},
        {"out.voltage", hl_result_port_voltage(point, 0)},
        {"out.power_w", hl_result_port_voltage(point, 0) * hl_result_port_current(point, 0)},
        {"load", 1},
        {"ambient.temperature", 298.15},
        {"ambient.temperature_c", 25},
        {"out.current", 4},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        double value = read_figure(row[i].name);
        ck_assert_msg(fabs(value - row[i].value) <= 1e-12 * fabs(row[i].value), "%s: %.15g, not %.15g",
                      row[i].name, value, row[i].value);
    }
    ck_near(read_figure("buck.duty_ratio"), 0.25, 0.1, 0);
    ck_assert(isnan(read_figure("buck.weather")));   /* a quantity that this point does not give */
    ck_assert(isnan(read_figure("case_hottest_c"))); /* fixed links alone: no surface towards the air */
    double used = read_figure("buck.high_switch.headroom_used");
    ck_assert(used > 0 && read_figure("headroom_used") >= used);
    close_point();
}
END_TEST

START_TEST(a_node_has_figures_and_a_point_without_solution_none)
{
    open_point();
    for (size_t i = 0; i < hl_design_nodes(buck.design); i++) {
        char name[100];
        const char *node = hl_design_node_name(buck.design, i);
        snprintf(name, sizeof name, "%s.heat_w", node);
        ck_near(read_figure(name), hl_result_node_heat(point, i), 1e-12, 0);
        snprintf(name, sizeof name, "%s.temperature_c", node);
        ck_near(read_figure(name), hl_result_node_temperature(point, i) - kelvin, 1e-12, 0);
    }
    base[drafted_setting(&buck, "source.voltage")] = 5; /* below the output: no step-down reaches 12 V */
    ck_assert_int_eq(hl_solve(point, base), HL_OK);
    ck_assert_int_eq(hl_result_outcome(point), HL_INFEASIBLE);
    ck_assert(isnan(read_figure("efficiency")) && isnan(read_figure("buck.inductor.loss_w")));
    ck_assert(read_figure("source.voltage") == 5);
    close_point();
}
END_TEST

START_TEST(what_is_no_figure_is_not_found)
{
    open_point();
    char lengthy[200];
    memset(lengthy, 'x', sizeof lengthy - 1);
    lengthy[sizeof lengthy - 1] = '\0';
    const char *const none[] = {
        "",      "weather",        "_c",           "load_c",  "weather_c",
        "buck.", "buk.duty_ratio", "outt.voltage", ".loss_w", "buck.high_switch.weather_w",
        lengthy};
    hl_probe figure;
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        ck_assert_msg(!hl_probe_find(buck.design, none[i], &figure), "'%s' was found", none[i]);
    close_point();
}
END_TEST

/* ------------------------------------------------------------------------ plans -- */

static void refused(hl_status status, const char *sentence)
{
    size_t n = hl_diagnostics_count(buck.said);
    ck_assert_msg(status == HL_BAD_INPUT, "not refused: %s", sentence);
    ck_assert_uint_gt(n, 0);
    ck_assert_str_eq(hl_diagnostics_text(buck.said, n - 1), sentence);
}

START_TEST(a_plan_refuses_what_does_not_fit)
{
    open_point();
    hl_diagnostics *d = buck.said;
    const size_t load = drafted_setting(&buck, "load"), room = drafted_setting(&buck, "ambient.temperature"),
                 mode = drafted_setting(&buck, "buck.light_load");
    const double loads[] = {0.5, 1};
    hl_sweep *plan = hl_sweep_create(buck.design, base);
    refused(hl_sweep_axis(plan, "lo;ad", 1, &load, 2, loads, NULL, d),
            "axis 'lo;ad' is not usable as a name; use letters, digits, . _ - and spaces");
    refused(hl_sweep_axis(plan, "", 1, &load, 2, loads, NULL, d),
            "axis '' is not usable as a name; use letters, digits, . _ - and spaces");
    refused(hl_sweep_axis(plan, " load", 1, &load, 2, loads, NULL, d),
            "axis ' load' is not usable as a name; use letters, digits, . _ - and spaces");
    refused(hl_sweep_axis(plan, "Status", 1, &load, 2, loads, NULL, d),
            "axis 'Status' is there already; keep one");
    refused(hl_sweep_axis(plan, "load", 1, &load, 0, loads, NULL, d),
            "axis 'load' has 0 entries of 1 settings; give 1 entry or more, of 1 to 64");
    refused(hl_sweep_axis(plan, "load", 0, &load, 2, loads, NULL, d),
            "axis 'load' has 2 entries of 0 settings; give 1 entry or more, of 1 to 64");
    refused(hl_sweep_axis(plan, "load", 65, &load, 1, loads, NULL, d),
            "axis 'load' has 1 entries of 65 settings; give 1 entry or more, of 1 to 64");
    ck_assert_int_eq(hl_sweep_axis(plan, "load", 1, &load, 2, loads, NULL, d), HL_OK);
    refused(hl_sweep_axis(plan, "LOAD", 1, &load, 2, loads, NULL, d),
            "axis 'LOAD' is there already; keep one");
    refused(hl_sweep_axis(plan, "again", 1, &load, 2, loads, NULL, d),
            "axes 'load' and 'again' both set load; keep one");
    refused(hl_sweep_range(plan, load, 0, 1, d), "axis 'load' is there already; keep one");
    refused(hl_sweep_range(plan, room, 300, 300, d),
            "axis 'ambient.temperature_c' needs a number from low to a higher one");
    refused(hl_sweep_range(plan, room, NAN, 300, d),
            "axis 'ambient.temperature_c' needs a number from low to a higher one");
    refused(hl_sweep_range(plan, room, 300, INFINITY, d),
            "axis 'ambient.temperature_c' needs a number from low to a higher one");
    refused(hl_sweep_range(plan, room, -INFINITY, 300, d),
            "axis 'ambient.temperature_c' needs a number from low to a higher one");
    refused(hl_sweep_range(plan, mode, 0, 1, d),
            "axis 'buck.light_load' needs a number from low to a higher one");
    refused(
        hl_sweep_figure(plan, "weather", d),
        "the adapter has no figure 'weather'; a part's figure is named as in buck.high_switch.temperature_c; "
        "the whole has: input_w, output_w, loss_w, efficiency, power_factor, input_current, feedback_gain, "
        "part_hottest_c, case_hottest_c, headroom_used");
    refused(
        hl_sweep_figure(plan, "temperature", d),
        "the adapter has no figure 'temperature'; a part's figure is named as in "
        "buck.high_switch.temperature_c; the whole has: input_w, output_w, loss_w, efficiency, power_factor, "
        "input_current, feedback_gain, part_hottest_c, case_hottest_c, headroom_used");
    refused(hl_sweep_figure(plan, "hottest", d),
            "the adapter has no figure 'hottest'; did you mean part_hottest_c, or that of one part, such as "
            "buck.high_switch.temperature_c?");
    refused(hl_sweep_figure(plan, "buck.high_switch.temperature", d),
            "the adapter has no figure 'buck.high_switch.temperature'; did you mean "
            "buck.high_switch.temperature_c?");
    ck_assert_int_eq(hl_sweep_figure(plan, "efficiency", d), HL_OK);
    refused(hl_sweep_figure(plan, "efficiency", d), "figure 'efficiency' is there already; keep one");
    ck_assert_int_eq(hl_sweep_derived(plan, "cost", d), HL_OK);
    refused(hl_sweep_figure(plan, "loss_w", d), "figure 'loss_w' stands behind derived ones");
    refused(hl_sweep_limit(plan, "loss_w", 0, 1, d),
            "'loss_w' is no figure of this plan; add it to its figures");
    refused(hl_sweep_limit(plan, "cost", 2, 1, d), "limit of 'cost': nothing is at least 2 and at most 1");
    refused(hl_sweep_limit(plan, "cost", NAN, 1, d),
            "limit of 'cost': nothing is at least nan and at most 1");
    ck_assert_ptr_null(hl_sweep_column(plan, 9));
    ck_assert_str_eq(hl_sweep_column(plan, 1), "cost");
    ck_assert_uint_eq(hl_sweep_derived_columns(plan), 1);
    hl_sweep_destroy(plan);
    close_point();
}
END_TEST

START_TEST(what_to_keep_must_be_clear)
{
    open_point();
    hl_diagnostics *d = buck.said;
    hl_sweep *plan = hl_sweep_create(buck.design, base);
    ck_assert_int_eq(hl_sweep_figure(plan, "efficiency", d), HL_OK);
    ck_assert_int_eq(hl_sweep_figure(plan, "loss_w", d), HL_OK);
    const hl_aim aims[9] = {{"efficiency", true}, {"loss_w", false}}, other = {"weather", false};
    static const struct {
        hl_keep keep;
        size_t most, aims;
    } unclear[] = {
        {HL_KEEP_ALL, 0, 1},    {HL_KEEP_BEST, 3, 0},       {HL_KEEP_BEST, 3, 2},
        {HL_KEEP_BEST, 0, 1},   {HL_KEEP_BEST, 1000001, 1}, {HL_KEEP_PARETO, 0, 1},
        {HL_KEEP_PARETO, 0, 9}, {HL_KEEP_FAILURES, 0, 0},   {HL_KEEP_FAILURES, 3, 1},
    };
    for (size_t i = 0; i < sizeof unclear / sizeof *unclear; i++)
        refused(
            hl_sweep_keep(plan, unclear[i].keep, unclear[i].most, unclear[i].aims, aims, d),
            "what to keep is not clear: all; the best N by one figure; the Pareto set of 2 to 8 figures; or "
            "the first N failures");
    refused(hl_sweep_keep(plan, HL_KEEP_BEST, 3, 1, &other, d),
            "'weather' is no figure of this plan; add it to its figures");
    bool highest = false;
    ck_assert_ptr_null(hl_sweep_aim(plan, &highest));
    ck_assert_int_eq(hl_sweep_keep(plan, HL_KEEP_FAILURES, 3, 0, NULL, d), HL_OK);
    ck_assert_int_eq(hl_sweep_keep(plan, HL_KEEP_PARETO, 0, 2, aims, d), HL_OK);
    ck_assert_ptr_null(hl_sweep_aim(plan, &highest));
    ck_assert_int_eq(hl_sweep_keep(plan, HL_KEEP_BEST, 3, 1, aims, d), HL_OK);
    ck_assert_str_eq(hl_sweep_aim(plan, &highest), "efficiency");
    ck_assert(highest);
    hl_sweep_destroy(plan);
    close_point();
}
END_TEST

START_TEST(a_range_wants_a_sample_and_stays_within)
{
    open_point();
    hl_diagnostics *d = buck.said;
    const size_t room = drafted_setting(&buck, "ambient.temperature");
    hl_sweep *plan = hl_sweep_create(buck.design, base);
    ck_assert_int_eq(hl_sweep_range(plan, room, 280, 320, d), HL_OK);
    ck_assert_int_eq(hl_sweep_finish(plan, d), HL_BAD_INPUT); /* a grid cannot walk it */
    hl_sweep_sample(plan, 0, 1);
    ck_assert_int_eq(hl_sweep_finish(plan, d), HL_BAD_INPUT); /* a sample of nothing */
    hl_sweep_sample(plan, 16, 1);
    ck_assert_int_eq(hl_sweep_finish(plan, d), HL_OK);
    ck_assert_uint_eq(hl_sweep_points(plan), 16);
    int seen[16] = {0};
    for (size_t k = 0; k < 16; k++) {
        double settings[512];
        memcpy(settings, base, sizeof base);
        hl_sweep_settings(plan, k, settings);
        ck_assert(settings[room] > 280 && settings[room] < 320);
        seen[(int)((settings[room] - 280) / 2.5)]++;
    }
    for (int k = 0; k < 16; k++) ck_assert_msg(seen[k] == 1, "stratum %d was drawn %d times", k, seen[k]);
    hl_sweep_destroy(plan);
    close_point();
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_figure_is_the_result_it_names);
    tcase_add_test(tests, a_node_has_figures_and_a_point_without_solution_none);
    tcase_add_test(tests, what_is_no_figure_is_not_found);
    tcase_add_test(tests, a_plan_refuses_what_does_not_fit);
    tcase_add_test(tests, what_to_keep_must_be_clear);
    tcase_add_test(tests, a_range_wants_a_sample_and_stays_within);
}

int main(void)
{
    return story_main("figures", fill);
}
