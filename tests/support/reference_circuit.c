#include "reference_circuit.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "story.h"

static const char *const llc_names[][2] = {
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
    {NULL, NULL},
};

static const char *const pfc_names[][2] = {
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
    {NULL, NULL},
};

static const char *const buck_names[][2] = {
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
    {"efficiency_conduction", "conduction_efficiency"},
    {"I_at_hs_turn_on", "turn_on_current"},
    {"I_at_hs_turn_off", "turn_off_current"},
    {NULL, NULL},
};

static const char *const flyback_names[][2] = {
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
    {NULL, NULL},
};

const reference_circuit reference_llc = {"A_llc_open.json", 11, llc_names};
const reference_circuit reference_pfc = {"B_pfc_open.json", 11, pfc_names};
const reference_circuit reference_buck = {"C_buck_open.json", 7, buck_names};
const reference_circuit reference_flyback = {"D_flyback_open.json", 7, flyback_names};

void reference_each(const reference_circuit *circuit, void (*check)(json_t *one, void *context),
                    void *context)
{
    json_t *file = reference_open(circuit->file), *one;
    size_t i;
    json_array_foreach(reference_at(file, "cases"), i, one) check(one, context);
    ck_assert_uint_eq(i, circuit->cases);
    json_decref(file);
}

double reference_input(json_t *one, const char *key)
{
    return reference_number(reference_at(one, "inputs"), key);
}

double reference_input_or(json_t *one, const char *key, double otherwise)
{
    return json_object_get(reference_at(one, "inputs"), key) ? reference_input(one, key) : otherwise;
}

const char *reference_word(json_t *one, const char *key)
{
    const char *word = json_string_value(json_object_get(reference_at(one, "inputs"), key));
    return word ? word : "";
}

static const char *quantity_of(const reference_circuit *circuit, const char *output)
{
    for (size_t i = 0; circuit->names[i][0]; i++)
        if (!strcmp(circuit->names[i][0], output)) return circuit->names[i][1];
    ck_abort_msg("%s: no quantity stands for the output %s", circuit->file, output);
    return NULL;
}

static void compare_one(json_t *one, const char *output, double expected, const char *quantity,
                        reference_asking *asking)
{
    double found = asking->asked(asking->who, quantity), apart = fabs(found - expected);
    if (apart <= asking->absolute || (expected == 0 && apart <= asking->zero)) return;
    double off = apart / fabs(expected);
    if (!(off <= asking->relative))
        ck_abort_msg("%s %s = %.13g, reference %.13g (off by %.2g of it)",
                     json_string_value(json_object_get(one, "id")), output, found, expected, off);
    asking->worst = fmax(asking->worst, off);
}

size_t reference_compare(json_t *one, const reference_circuit *circuit, reference_asking *asking)
{
    size_t seen = 0;
    const char *output;
    json_t *stated;
    json_object_foreach(reference_at(one, "outputs"), output, stated)
    {
        json_t *value = reference_at(stated, "value");
        if (json_is_array(value)) continue;
        double expected = json_is_boolean(value) ? (double)json_is_true(value) : json_number_value(value);
        ck_assert_msg(json_is_boolean(value) || json_is_number(value), "%s is no number", output);
        compare_one(one, output, expected, quantity_of(circuit, output), asking);
        seen++;
    }
    return seen;
}
