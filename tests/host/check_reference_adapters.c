/* check_reference_adapters.c - the solved circuits of tests/reference as whole adapters: parts from part-file
 * text, a tree of stages, one call of hl_solve; every named quantity within 0.5 %.
 *
 * Source of the expected figures: tests/reference/{A_llc,B_pfc,C_buck}_open.json, time-domain solutions of
 * the same circuits, made independently of this project's equations; their own error is below 1e-9. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "story.h"

/* Tolerance of the project's bar. */
static const double bar = 5e-3;

typedef struct adapter {
    hl_host *host;
    hl_catalogue *catalogue;
    hl_draft *draft;
    hl_design *design;
    hl_workspace *workspace;
    hl_diagnostics *said;
} adapter;

static void must(adapter *a, hl_status status)
{
    ck_assert_msg(status == HL_OK, "%s",
                  hl_diagnostics_count(a->said) ? hl_diagnostics_text(a->said, 0) : hl_status_text(status));
}

static adapter begin(const char *parts)
{
    adapter a = {.host = hl_host_create(), .said = hl_diagnostics_create()};
    must(&a, hl_host_load_shipped(a.host, a.said));
    a.catalogue = hl_catalogue_create(a.host);
    must(&a, hl_catalogue_read_text(a.catalogue, "parts", parts, strlen(parts), a.said));
    a.draft = hl_draft_create(a.host, "reference");
    must(&a, hl_draft_ambient(a.draft, NULL, 293.15, 0, a.said)); /* copper figures hold at 20 degC */
    return a;
}

static void end(adapter *a)
{
    hl_workspace_destroy(a->workspace);
    hl_design_destroy(a->design);
    hl_draft_destroy(a->draft);
    hl_catalogue_destroy(a->catalogue);
    hl_host_destroy(a->host);
    hl_diagnostics_destroy(a->said);
}

static void fill_slot(adapter *a, const char *stage, const char *slot, const char *part)
{
    must(a, hl_draft_fill(a->draft, NULL, stage, slot, hl_catalogue_find(a->catalogue, part), 1, a->said));
}

static void set(adapter *a, const char *stage, const char *name, double value)
{
    must(a, hl_draft_set_number(a->draft, NULL, stage, name, value, a->said));
}

static void choose(adapter *a, const char *stage, const char *name, const char *word)
{
    must(a, hl_draft_set(a->draft, NULL, stage, name, word, a->said));
}

static void solve(adapter *a)
{
    static double settings[2000];
    a->design = hl_draft_finish(a->draft, a->said);
    ck_assert_msg(a->design != NULL, "%s", hl_diagnostics_text(a->said, 0));
    a->workspace = hl_workspace_create(a->design);
    ck_assert_uint_lt(hl_design_settings(a->design), 2000);
    hl_design_defaults(a->design, settings);
    must(a, hl_solve(a->workspace, settings));
    ck_assert_msg(hl_result_outcome(a->workspace) == HL_SOLVED, "%s", hl_result_reason(a->workspace));
    const hl_power_figures *f = hl_result_power(a->workspace);
    ck_near(f->power_imbalance, 0, 0, 1e-9 * f->input);
}

static double quantity(const adapter *a, const char *stage, const char *name)
{
    for (size_t s = 0; s < hl_design_stages(a->design); s++) {
        if (strcmp(hl_design_stage_name(a->design, s), stage)) continue;
        for (size_t q = 0; q < hl_result_quantities(a->workspace, s); q++)
            if (!strcmp(hl_result_quantity(a->workspace, s, q)->name, name))
                return hl_result_quantity(a->workspace, s, q)->value;
    }
    ck_abort_msg("%s has no quantity %s", stage, name);
    return NAN;
}

static double input(const json_t *one, const char *name)
{
    const json_t *value = json_object_get(json_object_get(one, "inputs"), name);
    return value ? json_number_value(value) : NAN;
}

static const char *word(const json_t *one, const char *name)
{
    const char *text = json_string_value(json_object_get(json_object_get(one, "inputs"), name));
    return text ? text : "";
}

/* Compare every quantity of the map that the case states; returns how many. */
static size_t compare(const adapter *a, const char *stage, const json_t *one, const char *const map[][2])
{
    size_t n = 0;
    const char *id = json_string_value(json_object_get(one, "id"));
    for (size_t i = 0; map[i][0]; i++) {
        const json_t *output = json_object_get(json_object_get(one, "outputs"), map[i][0]);
        const json_t *value = json_object_get(output, "value");
        if (!json_is_number(value)) continue;
        double expected = json_number_value(value), found = quantity(a, stage, map[i][1]);
        double room = bar * fabs(expected) + 1e-9;
        ck_assert_msg(fabs(found - expected) <= room, "%s %s: %.9g, expected %.9g", id, map[i][1], found,
                      expected);
        n++;
    }
    return n;
}

static size_t over_cases(const char *file, size_t (*check)(const json_t *one))
{
    json_error_t error;
    char path[600];
    snprintf(path, sizeof path, "%s/reference/%s", HL_TEST_SOURCE, file);
    json_t *root = json_load_file(path, 0, &error);
    ck_assert_msg(root != NULL, "%s: %s", path, error.text);
    size_t i, n = 0;
    json_t *one;
    json_array_foreach(json_object_get(root, "cases"), i, one) n += check(one);
    json_decref(root);
    return n;
}

/* -------------------------------------------------------------------- LLC -- */

static const char *const llc_map[][2] = {
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
    {"Icout_rms", "output_capacitor_current_rms"},
    {"Vcr_ac_peak", "resonant_capacitor_ac_voltage_peak"},
    {"Vcr_peak", "resonant_capacitor_voltage_peak"},
    {"Icr_rms", "resonant_capacitor_current_rms"},
    {"rect_conduction_fraction", "rectifier_conduction_fraction"},
    {"P_cond_primary", "primary_conduction_loss"},
    {"P_cond_secondary", "secondary_conduction_loss"},
    {"Qzvs_available", "zero_voltage_charge_available"},
    {"Qzvs_required", "zero_voltage_charge_required"},
    {"Vnode_residual", "node_residual_voltage"},
    {"Vout_ripple_pp", "output_voltage_ripple"},
    {NULL, NULL},
};

static size_t check_llc(const json_t *one)
{
    bool full = !strcmp(word(one, "rectifier"), "full_bridge"), rc = !strcmp(word(one, "load"), "rc");
    bool dead = !strcmp(word(one, "kind"), "dt");
    char parts[2400];
    snprintf(
        parts, sizeof parts,
        "parts:\n"
        "  q: { model: measured_switch, resistance: 0 ohm, rated_voltage: 650 V, reverse_voltage: %.17g V,\n"
        "       output_charge: %.17g C, output_voltage: %.17g V }\n"
        "  d: { model: measured_switch, resistance: 0 ohm, rated_voltage: 100 V }\n"
        "  cr: { model: film_capacitor, capacitance: %.17g F, rated_voltage: 1000 V, esr: 10 uohm,\n"
        "        dielectric_loss_factor: 0 }\n"
        "  t: { model: measured_transformer, turns_ratio: %.17g, inductance: %.17g H, leakage_inductance: "
        "%.17g H,\n"
        "       dc_resistance: [ %.17g ohm, %.17g ohm, %.17g ohm ] }\n",
        dead ? input(one, "Vbd") : 0.8, input(one, "Qoss"), input(one, "Vin"), input(one, "Cr"),
        input(one, "n"), input(one, "Lm"), input(one, "Lr"), input(one, "Rp") - 1e-5, input(one, "Rs"),
        input(one, "Rs"));
    if (rc)
        snprintf(
            parts + strlen(parts), sizeof parts - strlen(parts),
            "  co: { model: film_capacitor, capacitance: %.17g F, rated_voltage: 100 V, esr: %.17g ohm,\n"
            "        dielectric_loss_factor: 0 }\n",
            input(one, "Cout"), input(one, "esr"));
    adapter a = begin(parts);
    must(&a, hl_draft_source(a.draft, NULL, input(one, "Vin"), 0, a.said));
    must(&a, hl_draft_stage(a.draft, NULL, "llc", "half_bridge_llc", "source", a.said));
    choose(&a, "llc", "secondary", full ? "full_bridge" : "centre_tapped");
    choose(&a, "llc", "transition", dead ? "dead_time" : "instant");
    choose(&a, "llc", "output_model", rc ? "capacitor" : "stiff");
    choose(&a, "llc", "light_load", "continuous");
    set(&a, "llc", "dead_time", input(one, "td"));
    fill_slot(&a, "llc", "switch", "q");
    fill_slot(&a, "llc", "rectifier", "d");
    fill_slot(&a, "llc", "resonant_capacitor", "cr");
    fill_slot(&a, "llc", "transformer", "t");
    if (rc)
        must(&a, hl_draft_bus_capacitor(a.draft, NULL, "llc", "bus", hl_catalogue_find(a.catalogue, "co"), 1,
                                        a.said));
    must(&a, hl_draft_port(a.draft, NULL, "out", "llc", input(one, "Vout"), input(one, "Iout"), a.said));
    solve(&a);
    size_t n = compare(&a, "llc", one, llc_map);
    end(&a);
    return n;
}

START_TEST(every_llc_case_holds_as_a_whole_adapter)
{
    ck_assert_uint_ge(over_cases("A_llc_open.json", check_llc), 11 * 15);
}
END_TEST

/* -------------------------------------------------------------------- PFC -- */

static const char *const pfc_map[][2] = {
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
    {"ton", "on_time"},
    {"fs_min", "switching_frequency_minimum"},
    {"fs_max", "switching_frequency_maximum"},
    {"theta_boundary", "boundary_angle"},
    {NULL, NULL},
};

static size_t check_pfc(const json_t *one)
{
    bool fixed = !strcmp(word(one, "mode"), "fixed");
    char parts[1200];
    snprintf(parts, sizeof parts,
             "parts:\n"
             "  q: { model: measured_switch, resistance: 0 ohm, rated_voltage: 650 V }\n"
             "  l: { model: measured_inductor, inductance: %.17g H, dc_resistance: 1 uohm }\n"
             "  co: { model: film_capacitor, capacitance: %.17g F, rated_voltage: 1000 V, esr: 10 uohm,\n"
             "        dielectric_loss_factor: 0 }\n",
             input(one, "L"), input(one, "Cout"));
    adapter a = begin(parts);
    must(&a, hl_draft_source(a.draft, NULL, input(one, "Vac"), input(one, "fline"), a.said));
    must(&a, hl_draft_stage(a.draft, NULL, "bridge", "bridge_rectifier", "mains", a.said));
    must(&a, hl_draft_stage(a.draft, NULL, "pfc", "boost_pfc", "bridge", a.said));
    choose(&a, "pfc", "mode", fixed ? "continuous" : "boundary");
    set(&a, "pfc", "output_voltage", input(one, "Vo"));
    if (fixed) set(&a, "pfc", "switching_frequency", input(one, "fs"));
    set(&a, "pfc", "dead_time", 0);
    fill_slot(&a, "pfc", "switch", "q");
    fill_slot(&a, "pfc", "rectifier", "q");
    fill_slot(&a, "pfc", "boost_inductor", "l");
    must(&a, hl_draft_bus_capacitor(a.draft, NULL, "pfc", "bulk", hl_catalogue_find(a.catalogue, "co"), 1,
                                    a.said));
    must(&a, hl_draft_port(a.draft, NULL, "bus", "pfc", input(one, "Vo"), input(one, "P") / input(one, "Vo"),
                           a.said));
    solve(&a);
    size_t n = compare(&a, "pfc", one, pfc_map);
    end(&a);
    return n;
}

START_TEST(every_pfc_case_holds_as_a_whole_adapter)
{
    ck_assert_uint_ge(over_cases("B_pfc_open.json", check_pfc), 11 * 20);
}
END_TEST

/* ------------------------------------------------------------------- buck -- */

static const char *const buck_map[][2] = {
    {"ton", "on_time"},
    {"duty", "duty_ratio"},
    {"Ihs_rms", "high_switch_current_rms"},
    {"Ihs_avg", "high_switch_current_average"},
    {"Ils_rms", "low_switch_current_rms"},
    {"Ibody_ls_avg", "low_body_current_average"},
    {"Ibody_ls_rms", "low_body_current_rms"},
    {"Ibody_hs_avg", "high_body_current_average"},
    {"IL_rms", "inductor_current_rms"},
    {"IL_peak", "inductor_current_peak"},
    {"IL_valley", "inductor_current_valley"},
    {"IL_pp", "inductor_current_ripple"},
    {"IL_ac_rms", "inductor_current_ac_rms"},
    {"Icin_rms", "input_capacitor_current_rms"},
    {"Iin_avg", "input_current_average"},
    {"Icout_rms", "output_capacitor_current_rms"},
    {"Vout_pp", "output_voltage_ripple"},
    {"P_hs", "high_switch_conduction_loss"},
    {"P_ls", "low_switch_conduction_loss"},
    {"P_body", "body_conduction_loss"},
    {"P_dcr", "inductor_winding_loss"},
    {"P_esr", "output_capacitor_loss"},
    {"I_at_hs_turn_on", "turn_on_current"},
    {"I_at_hs_turn_off", "turn_off_current"},
    {NULL, NULL},
};

static size_t check_buck(const json_t *one)
{
    char parts[1200];
    snprintf(parts, sizeof parts,
             "parts:\n"
             "  h: { model: measured_switch, resistance: %.17g ohm, rated_voltage: 60 V, reverse_voltage: "
             "%.17g V }\n"
             "  l: { model: measured_switch, resistance: %.17g ohm, rated_voltage: 60 V, reverse_voltage: "
             "%.17g V }\n"
             "  i: { model: measured_inductor, inductance: %.17g H, dc_resistance: %.17g ohm }\n"
             "  co: { model: film_capacitor, capacitance: %.17g F, rated_voltage: 100 V, esr: %.17g ohm,\n"
             "        dielectric_loss_factor: 0 }\n",
             input(one, "Rhs"), input(one, "Vf"), input(one, "Rls"), input(one, "Vf"), input(one, "L"),
             input(one, "DCR"), input(one, "Cout"), input(one, "esr"));
    adapter a = begin(parts);
    must(&a, hl_draft_source(a.draft, NULL, input(one, "Vin"), 0, a.said));
    must(&a, hl_draft_stage(a.draft, NULL, "buck", "synchronous_buck", "source", a.said));
    choose(&a, "buck", "light_load",
           strcmp(word(one, "mode"), "fccm") ? "diode_emulation" : "forced_continuous");
    set(&a, "buck", "switching_frequency", input(one, "fs"));
    set(&a, "buck", "dead_time_fall", input(one, "td1"));
    set(&a, "buck", "dead_time_rise", input(one, "td2"));
    fill_slot(&a, "buck", "high_switch", "h");
    fill_slot(&a, "buck", "low_switch", "l");
    fill_slot(&a, "buck", "inductor", "i");
    must(&a, hl_draft_bus_capacitor(a.draft, NULL, "buck", "out", hl_catalogue_find(a.catalogue, "co"), 1,
                                    a.said));
    must(&a,
         hl_draft_port(a.draft, NULL, "load_port", "buck", input(one, "Vout"), input(one, "Iout"), a.said));
    solve(&a);
    size_t n = compare(&a, "buck", one, buck_map);
    end(&a);
    return n;
}

START_TEST(every_buck_case_holds_as_a_whole_adapter)
{
    ck_assert_uint_ge(over_cases("C_buck_open.json", check_buck), 7 * 20);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_llc_case_holds_as_a_whole_adapter);
    tcase_add_test(tests, every_pfc_case_holds_as_a_whole_adapter);
    tcase_add_test(tests, every_buck_case_holds_as_a_whole_adapter);
}

int main(void)
{
    return story_main("reference adapters", fill);
}
