/* check_flyback.c - the flyback against time-domain references, an own CVODE simulation, laws that must
 * hold, and published design examples. */
#include "stage_bench.h"
#include "story.h"

#include <jansson.h>
#include <math.h>
#include <string.h>
#include <time.h>

#include "lottery.h"

/* ------------------------------------------------------------- the bench -- */

typedef struct design {
    double input, output, load, frequency; /* frequency 0: quasi-resonant */
    double magnetizing, leakage, ratio, winding, channel, secondary, drop, clamp, capacitance;
    double valley;
} design;

static stage_bench *bench;

static void set_up(void)
{
    bench = stage_bench_create("flyback", NULL);
}

static void tear_down(void)
{
    stage_bench_destroy(bench);
}

static void build(const design *d)
{
    hl_terminal *chip = stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1);
    chip->resistance = d->channel;
    hl_terminal *core = stage_bench_fill(bench, "transformer", HL_FAMILY_MAGNETIC, 1);
    core->inductance = d->magnetizing;
    core->leakage = d->leakage;
    core->turns_ratio = d->ratio;
    core->winding_resistance[0] = d->winding;
    core->winding_resistance[1] = 0.4 * d->secondary;
    hl_terminal *rectifier =
        stage_bench_fill(bench, "rectifier", d->drop > 0 ? HL_FAMILY_DIODE : HL_FAMILY_SWITCH, 1);
    rectifier->resistance = 0.6 * d->secondary;
    rectifier->voltage = d->drop;
    stage_bench_choose(bench, "mode", d->frequency > 0 ? "fixed_frequency" : "quasi_resonant");
    if (d->frequency > 0)
        stage_bench_set(bench, "switching_frequency", d->frequency);
    else
        stage_bench_unset(bench, "switching_frequency");
    stage_bench_set(bench, "valley", d->valley);
    stage_bench_set(bench, "drain_capacitance", d->capacitance);
    stage_bench_choose(bench, "clamp", "stiff");
    stage_bench_set(bench, "clamp_voltage", d->clamp);
    bench->in.input_voltage = d->input;
    stage_bench_load(bench, d->output, d->load);
}

static double asked(const char *quantity)
{
    return stage_bench_quantity(bench, quantity);
}

static void solved(void)
{
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
}

/* ------------------------------------------------------- reference cases -- */

static const char *const quantity_of[][2] = {
    {"fs", "switching_frequency"},
    {"ton", "on_time"},
    {"duty", "duty_ratio"},
    {"Ip_peak", "primary_current_peak"},
    {"Ip_start", "primary_current_start"},
    {"Isw_avg", "switch_current_average"},
    {"Isw_rms", "switch_current_rms"},
    {"Ipri_winding_rms", "primary_winding_current_rms"},
    {"Im_rms", "magnetizing_current_rms"},
    {"Is_peak", "secondary_current_peak"},
    {"Is_avg", "secondary_current_average"},
    {"Is_rms", "secondary_current_rms"},
    {"Icout_rms", "output_capacitor_current_rms"},
    {"Icin_rms", "input_capacitor_current_rms"},
    {"E_clamp", "clamp_energy"},
    {"P_clamp", "clamp_loss"},
    {"Iclamp_avg", "clamp_current_average"},
    {"t_leakage_reset", "leakage_reset_time"},
    {"t_secondary", "secondary_conduction_time"},
    {"t_commutation_on", "commutation_time"},
    {"Vds_peak", "drain_voltage_peak"},
    {"t_valley_delay", "valley_delay"},
    {"V_turn_on", "turn_on_voltage"},
    {"E_node_turn_on", "node_energy_turn_on"},
    {"P_cond", "conduction_loss"},
};

static const char *quantity_name(const char *output)
{
    for (size_t i = 0; i < sizeof quantity_of / sizeof quantity_of[0]; i++)
        if (!strcmp(quantity_of[i][0], output)) return quantity_of[i][1];
    ck_abort_msg("no quantity stands for the reference's %s", output);
    return NULL;
}

static double number(const json_t *object, const char *key)
{
    return json_number_value(json_object_get(object, key));
}

/* Asked: 0.5 %.  Held: 1e-9 of each value; the references' own accuracy is 1e-10, and leakage reset times are
 * known to 1.2e-10. */
static const double reference_tolerance = 1e-9;

static double compare_case(const json_t *entry)
{
    const json_t *in = json_object_get(entry, "inputs");
    const char *id = json_string_value(json_object_get(entry, "id")), *key;
    json_t *value;
    double worst = 0;
    design d = {.input = number(in, "Vin"),
                .output = number(in, "Vout"),
                .load = number(in, "Iout"),
                .frequency = number(in, "fs"),
                .magnetizing = number(in, "Lm"),
                .leakage = number(in, "Llk"),
                .ratio = number(in, "n"),
                .winding = number(in, "Rw"),
                .channel = number(in, "Rds"),
                .secondary = number(in, "Rs"),
                .drop = number(in, "Vf"),
                .clamp = number(in, "Vcl"),
                .capacitance = number(in, "Cd"),
                .valley = number(in, "valley")};
    build(&d);
    solved();
    json_object_foreach(json_object_get(entry, "outputs"), key, value)
    {
        double expected = number(value, "value"), actual = asked(quantity_name(key));
        double off = fabs(actual - expected) / (expected != 0 ? fabs(expected) : 1.0);
        if (!(off <= reference_tolerance))
            ck_abort_msg("%s %s = %.13g, reference %.13g (%.2g)", id, key, actual, expected, off);
        worst = fmax(worst, off);
    }
    return worst;
}

/* tests/reference/D_flyback_open.json: state-space solutions checked there against an ODE solver. */
START_TEST(every_reference_output_is_met)
{
    json_error_t error;
    json_t *file = json_load_file(HL_TEST_SOURCE "/reference/D_flyback_open.json", 0, &error), *entry;
    ck_assert_msg(file != NULL, "%s", error.text);
    size_t i, cases = 0;
    double worst = 0;
    json_array_foreach(json_object_get(file, "cases"), i, entry)
    {
        worst = fmax(worst, compare_case(entry));
        cases++;
    }
    json_decref(file);
    ck_assert_uint_eq(cases, 7);
    printf("flyback: %zu reference cases, worst output off by %.2g\n", cases, worst);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, every_reference_output_is_met);
}

int main(void)
{
    return story_main("flyback", fill);
}
