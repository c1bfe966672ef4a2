/* check_boost_pfc.c - the boost power-factor stage against time-domain solutions, published designs and
 * itself. */
#include <jansson.h>
#include <math.h>
#include <string.h>
#include <time.h>

#include "stage_bench.h"
#include "story.h"

static stage_bench *bench;

static void set_up(void)
{
    bench = stage_bench_create("boost_pfc", "boost_pfc");
}

static void tear_down(void)
{
    stage_bench_destroy(bench);
}

/* ------------------------------------------------------- reference cases -- */

static json_t *reference(void)
{
    json_error_t error;
    json_t *root = json_load_file(HL_TEST_SOURCE "/reference/B_pfc_open.json", 0, &error);
    if (!root) ck_abort_msg("%s:%d: %s", error.source, error.line, error.text);
    return root;
}

static double number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_number(value)) ck_abort_msg("reference lacks %s", key);
    return json_number_value(value);
}

/* Ideal parts, as the reference: no resistance, no drop, no capacitance at the node. */
static void set_ideal(double inductance)
{
    stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1);
    stage_bench_fill(bench, "boost_inductor", HL_FAMILY_MAGNETIC, 1)->inductance = inductance;
}

static void set_case(const json_t *inputs)
{
    const char *mode = json_string_value(json_object_get(inputs, "mode"));
    set_ideal(number(inputs, "L"));
    stage_bench_choose(bench, "mode", strcmp(mode, "crm") ? "continuous" : "boundary");
    if (strcmp(mode, "crm")) stage_bench_set(bench, "switching_frequency", number(inputs, "fs"));
    bench->in.input_voltage = number(inputs, "Vac");
    bench->in.input_frequency = number(inputs, "fline");
    bench->in.output_capacitance = number(inputs, "Cout");
    stage_bench_load(bench, number(inputs, "Vo"), number(inputs, "P") / number(inputs, "Vo"));
}

static const struct {
    const char *reference, *quantity;
} named[] = {
    {"Isw_rms", "switch_current_rms"},
    {"Isw_avg", "switch_current_average"},
    {"Id_avg", "rectifier_current_average"},
    {"Id_rms", "rectifier_current_rms"},
    {"IL_rms", "inductor_current_rms"},
    {"IL_lf_rms", "inductor_current_line_rms"},
    {"IL_hf_rms", "inductor_current_ripple_rms"},
    {"Ibridge_avg", "bridge_current_average"},
    {"Ibridge_rms_lf", "bridge_current_rms"},
    {"Ibridge_rms_total", "bridge_current_rms_with_ripple"},
    {"Ico_lf_rms", "output_capacitor_line_current_rms"},
    {"Ico_hf_rms", "output_capacitor_ripple_current_rms"},
    {"Ico_rms", "output_capacitor_current_rms"},
    {"Ion_line_avg", "turn_on_current_average"},
    {"Ioff_line_avg", "turn_off_current_average"},
    {"Ion_V_f_avg", "turn_on_overlap_power_per_time"},
    {"Ioff_V_f_avg", "turn_off_overlap_power_per_time"},
    {"fs_avg", "switching_frequency"},
    {"Von2_f_avg", "turn_on_voltage_square_rate"},
    {"IL_peak", "inductor_current_peak"},
    {"Io", "output_current"},
    {"Vo_ripple_pp", "output_voltage_ripple"},
    {"theta_boundary", "boundary_angle"},
    {"ton", "on_time"},
    {"fs_min", "switching_frequency_minimum"},
    {"fs_max", "switching_frequency_maximum"},
};

static const struct {
    const char *reference, *quantity;
} along_the_line[] = {
    {"deltaI_at_angles", "inductor_ripple_current"},
    {"duty_at_angles", "duty_ratio"},
    {"ipeak_at_angles", "inductor_current_peak_of_cycle"},
    {"fs_at_angles", "switching_frequency_of_cycle"},
};

/* Design asks for 0.5 %; the quadrature is better than 0.01 % and the cycles are exact, so 0.02 % holds. */
static const double allowed = 2e-4;

static double compare(const char *id, const char *what, double actual, double expected)
{
    double off = fabs(actual - expected) / fmax(fabs(expected), 1e-9);
    if (!(off <= allowed) && !(fabs(actual - expected) < 1e-9))
        ck_abort_msg("%s %s = %.9g, reference %.9g (%.3g %%)", id, what, actual, expected, 100 * off);
    return fabs(actual - expected) < 1e-9 ? 0.0 : off;
}

/* Number of figures compared; *worst gets the largest relative deviation. */
static size_t compare_case(const json_t *item, double *worst)
{
    const char *id = json_string_value(json_object_get(item, "id"));
    const json_t *outputs = json_object_get(item, "outputs");
    size_t seen = 0;
    set_case(json_object_get(item, "inputs"));
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    for (size_t i = 0; i < sizeof named / sizeof *named; i++) {
        const json_t *output = json_object_get(outputs, named[i].reference);
        if (!output) continue;
        seen++;
        *worst = fmax(*worst, compare(id, named[i].reference, stage_bench_quantity(bench, named[i].quantity),
                                      number(output, "value")));
    }
    for (size_t j = 1; j <= 16; j++) {
        stage_bench_set(bench, "report_phase", (double)j / 16.0);
        stage_bench_expect_solved(bench);
        for (size_t i = 0; i < sizeof along_the_line / sizeof *along_the_line; i++) {
            const json_t *list =
                json_object_get(json_object_get(outputs, along_the_line[i].reference), "value");
            double expected = json_number_value(json_array_get(list, j - 1));
            *worst = fmax(*worst, compare(id, along_the_line[i].reference,
                                          stage_bench_quantity(bench, along_the_line[i].quantity), expected));
        }
    }
    stage_bench_set(bench, "report_phase", 1.0);
    return seen + sizeof along_the_line / sizeof *along_the_line;
}

START_TEST(every_figure_of_every_reference_case_agrees)
{
    json_t *root = reference();
    const json_t *item;
    size_t index, cases = 0;
    double worst = 0;
    json_array_foreach(json_object_get(root, "cases"), index, item)
    {
        size_t outputs = json_object_size(json_object_get(item, "outputs"));
        size_t seen = compare_case(item, &worst);
        ck_assert_msg(seen == outputs, "only %zu of %zu outputs were compared", seen, outputs);
        cases++;
    }
    ck_assert_uint_ge(cases, 11);
    printf("boost_pfc: %zu reference cases, worst deviation %.4f %%\n", cases, 100 * worst);
    json_decref(root);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, every_figure_of_every_reference_case_agrees);
}

int main(void)
{
    return story_main("boost_pfc", fill);
}
