/* check_llc.c - the half-bridge LLC against time-domain references, an own CVODE simulation, laws
 * that must hold, and published design examples. */
#include "stage_bench.h"
#include "story.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#include "llc_time_domain.h"

/* ------------------------------------------------------------- the bench -- */

typedef struct design {
    double input, series, magnetizing, capacitance, ratio, primary, secondary, charge, dead_time, body_drop;
    bool full_bridge, instant;
    double drop; /* V of one diode; 0: synchronous */
} design;

static void build(stage_bench *bench, const design *d)
{
    hl_terminal *chip = stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1);
    chip->resistance = 0.4 * d->primary;
    chip->output_charge = d->charge;
    chip->reverse_voltage = d->body_drop;
    hl_terminal *choke = stage_bench_fill(bench, "resonant_inductor", HL_FAMILY_MAGNETIC, 1);
    choke->inductance = 0.7 * d->series;
    choke->winding_resistance[0] = 0.2 * d->primary;
    hl_terminal *capacitor = stage_bench_fill(bench, "resonant_capacitor", HL_FAMILY_CAPACITOR, 1);
    capacitor->capacitance = d->capacitance;
    capacitor->resistance = 0.1 * d->primary;
    hl_terminal *transformer = stage_bench_fill(bench, "transformer", HL_FAMILY_MAGNETIC, 1);
    transformer->inductance = d->magnetizing;
    transformer->leakage = 0.3 * d->series;
    transformer->turns_ratio = d->ratio;
    transformer->winding_resistance[0] = 0.3 * d->primary;
    transformer->winding_resistance[1] = transformer->winding_resistance[2] = 0.4 * d->secondary;
    hl_terminal *rectifier =
        stage_bench_fill(bench, "rectifier", d->drop > 0 ? HL_FAMILY_DIODE : HL_FAMILY_SWITCH, 1);
    rectifier->resistance = d->full_bridge ? 0.3 * d->secondary : 0.6 * d->secondary;
    rectifier->voltage = d->drop;
    stage_bench_choose(bench, "secondary", d->full_bridge ? "full_bridge" : "centre_tapped");
    stage_bench_choose(bench, "transition", d->instant ? "instant" : "dead_time");
    stage_bench_set(bench, "dead_time", d->dead_time);
    bench->in.input_voltage = d->input;
}

static stage_bench *new_bench(void)
{
    return stage_bench_create("half_bridge_llc", NULL);
}

/* ------------------------------------------------------- reference cases -- */

static double number(const json_t *object, const char *key)
{
    return json_number_value(json_object_get(object, key));
}

static const char *const quantity_of[][2] = {
    {"fs", "switching_frequency"},
    {"Ir_rms", "resonant_current_rms"},
    {"Ir_peak", "resonant_current_peak"},
    {"Im_peak", "magnetizing_current_peak"},
    {"Im_rms", "magnetizing_current_rms"},
    {"Isw_rms", "switch_current_rms"},
    {"Isw_turnoff", "switch_current_turn_off"},
    {"Irect_avg", "rectifier_current_average"},
    {"Irect_rms", "rectifier_current_rms"},
    {"Irect_peak", "rectifier_current_peak"},
    {"Isec_rms", "secondary_current_rms"},
    {"Iout_mean", "output_current_mean"},
    {"Vout_mean", "output_voltage_mean"},
    {"Icout_rms", "output_capacitor_current_rms"},
    {"Vcr_ac_peak", "resonant_capacitor_ac_voltage_peak"},
    {"Vcr_peak", "resonant_capacitor_voltage_peak"},
    {"Icr_rms", "resonant_capacitor_current_rms"},
    {"Vout_ripple_pp", "output_voltage_ripple"},
    {"rect_conduction_fraction", "rectifier_conduction_fraction"},
    {"P_cond_primary", "primary_conduction_loss"},
    {"P_cond_secondary", "secondary_conduction_loss"},
    {"P_cond_esr", "output_capacitor_loss"},
    {"Qzvs_available", "zero_voltage_charge_available"},
    {"Qzvs_required", "zero_voltage_charge_required"},
    {"zvs_feasible", "zero_voltage_switching"},
    {"Vnode_residual", "node_residual_voltage"},
    {"zvs_complete", "zero_voltage_switching"},
    {"t_transition", "transition_time"},
};

static const char *quantity_name(const char *output)
{
    for (size_t i = 0; i < sizeof quantity_of / sizeof quantity_of[0]; i++)
        if (!strcmp(quantity_of[i][0], output)) return quantity_of[i][1];
    ck_abort_msg("no quantity stands for the reference's %s", output);
    return NULL;
}

static void set_case(stage_bench *bench, const json_t *in)
{
    bool capacitor = !strcmp(json_string_value(json_object_get(in, "load")), "rc");
    bool dead_time = !strcmp(json_string_value(json_object_get(in, "kind")), "dt");
    design d = {
        .input = number(in, "Vin"),
        .series = number(in, "Lr"),
        .magnetizing = number(in, "Lm"),
        .capacitance = number(in, "Cr"),
        .ratio = number(in, "n"),
        .primary = number(in, "Rp"),
        .secondary = number(in, "Rs"),
        .charge = number(in, "Qoss"),
        .dead_time = number(in, "td"),
        .body_drop = number(in, "Vbd"),
        .instant = !dead_time,
        .full_bridge = !strcmp(json_string_value(json_object_get(in, "rectifier")), "full_bridge"),
    };
    build(bench, &d);
    if (capacitor) {
        stage_bench_choose(bench, "output_model", "capacitor");
        bench->in.output_capacitance = number(in, "Cout");
        bench->in.output_esr = number(in, "esr");
    }
    stage_bench_load(bench, number(in, "Vout"), number(in, "Iout"));
}

/* Asked: 0.5 %.  Held: 2e-9, the references' own accuracy being 1e-10 of each value; charges and times to
 * 1e-15 C and 1e-14 s, voltages that vanish to 1e-6 V. */
static const double reference_tolerance = 2e-9;

static double compare_case(const json_t *entry)
{
    const char *id = json_string_value(json_object_get(entry, "id")), *key;
    json_t *value;
    double worst = 0;
    stage_bench *bench = new_bench();
    set_case(bench, json_object_get(entry, "inputs"));
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    json_object_foreach(json_object_get(entry, "outputs"), key, value)
    {
        json_t *figure = json_object_get(value, "value");
        double expected = json_is_boolean(figure) ? (double)json_is_true(figure) : json_number_value(figure);
        double actual = stage_bench_quantity(bench, quantity_name(key));
        double unit = expected != 0 ? fabs(expected) : 390.0, off = fabs(actual - expected) / unit;
        if (!(off <= reference_tolerance))
            ck_abort_msg("%s %s = %.13g, reference %.13g (%.2g)", id, key, actual, expected, off);
        worst = fmax(worst, off);
    }
    stage_bench_destroy(bench);
    return worst;
}

/* tests/reference/A_llc_open.json: state-space solutions checked there against an ODE solver. */
START_TEST(every_reference_output_is_met)
{
    json_error_t error;
    json_t *file = json_load_file(HL_TEST_SOURCE "/reference/A_llc_open.json", 0, &error), *entry;
    ck_assert_msg(file != NULL, "%s", error.text);
    size_t i, cases = 0;
    double worst = 0;
    json_array_foreach(json_object_get(file, "cases"), i, entry)
    {
        worst = fmax(worst, compare_case(entry));
        cases++;
    }
    json_decref(file);
    ck_assert_uint_eq(cases, 11);
    printf("llc: %zu reference cases, worst output off by %.2g\n", cases, worst);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_reference_output_is_met);
}

int main(void)
{
    return story_main("half-bridge LLC", fill);
}
