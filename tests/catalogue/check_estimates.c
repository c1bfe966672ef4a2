/* check_estimates.c - the shipped estimate rules: every family is completed from what is printed on it. */
#include <dirent.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "estimated_part.h"
#include "story.h"

START_TEST(every_rule_file_is_read_without_a_word)
{
    estimated_begin_bare();
    DIR *folder = opendir(ESTIMATED_RULES);
    ck_assert_ptr_nonnull(folder);
    int n = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        if (!strstr(entry->d_name, ".yaml")) continue;
        char path[1024];
        snprintf(path, sizeof path, "%s/%s", ESTIMATED_RULES, entry->d_name);
        hl_catalogue *alone = hl_catalogue_create(estimated_host);
        hl_status status = hl_catalogue_read_rules(alone, path, estimated_said);
        ck_assert_msg(status == HL_OK && hl_diagnostics_count(estimated_said) == 0, "%s: %s", entry->d_name,
                      hl_diagnostics_count(estimated_said) ? hl_diagnostics_text(estimated_said, 0) : "");
        hl_catalogue_destroy(alone);
        n++;
    }
    closedir(folder);
    ck_assert_int_ge(n, 8);
    ck_assert_int_eq(hl_catalogue_read_rules_folder(estimated_catalogue, ESTIMATED_RULES, estimated_said),
                     HL_OK);
    ck_assert_uint_eq(hl_diagnostics_count(estimated_said), 0);
    estimated_end();
}
END_TEST

/* What is printed or measured, and what must come of it. */
static const struct {
    const char *fields;
    const char *filled[8];
} markings[] = {
    {"model: silicon_mosfet, rated_voltage: 600 V, rated_current: 15 A, package: to_220",
     {"on_resistance", "gate_charge", "output_charge", "output_energy", "resistance_case",
      "recovery_charge"}},
    {"model: silicon_mosfet, rated_voltage: 650 V, on_resistance: 1.2 ohm, technology: planar",
     {"gate_charge", "gate_drain_charge", "output_charge", "maximum_temperature"}},
    {"model: silicon_mosfet, rated_voltage: 30 V, rated_current: 40 A, package: son_3x3",
     {"on_resistance", "gate_charge", "plateau_voltage", "output_charge", "resistance_board"}},
    {"model: gan_transistor, rated_voltage: 650 V, rated_current: 11 A, package: son_8x8",
     {"on_resistance", "gate_charge", "output_charge", "output_energy"}},
    {"model: silicon_carbide_mosfet, rated_voltage: 1200 V, on_resistance: 80 mohm, package: to_247",
     {"gate_charge", "output_charge", "common_source_inductance"}},
    {"model: junction_diode, rated_voltage: 600 V, rated_current: 8 A, package: to_220",
     {"threshold_voltage", "slope_resistance", "recovery_charge"}},
    {"model: junction_diode, rated_voltage: 200 V, rated_current: 1 A, speed: fast",
     {"threshold_voltage", "slope_resistance", "recovery_charge"}},
    {"model: bridge, rated_voltage: 800 V, rated_current: 4 A, package: bridge_inline",
     {"threshold_voltage", "slope_resistance", "resistance_case"}},
    {"model: schottky_diode, rated_voltage: 45 V, rated_current: 10 A, package: to_220",
     {"threshold_voltage", "slope_resistance", "leakage_current", "capacitive_charge"}},
    {"model: silicon_carbide_schottky, rated_voltage: 650 V, rated_current: 6 A, package: to_252",
     {"threshold_voltage", "slope_resistance", "capacitive_charge"}},
    {"model: electrolytic_capacitor, known_by: marking, capacitance: 100 uF, rated_voltage: 400 V, size: 18 "
     "x "
     "18 x 30 mm",
     {"loss_factor", "rated_ripple_current", "rated_life", "maximum_temperature", "resistance_board"}},
    {"model: electrolytic_capacitor, series_class: low_impedance, capacitance: 1 mF, rated_voltage: 25 V, "
     "size: 10 x 10 x 20 mm",
     {"esr", "rated_ripple_current", "rated_life"}},
    {"model: polymer_capacitor, known_by: marking, capacitance: 330 uF, rated_voltage: 25 V, size: 8 x 8 x "
     "12 "
     "mm",
     {"esr", "rated_ripple_current", "rated_life"}},
    {"model: film_capacitor, film: polyester, capacitance: 100 nF, rated_voltage: 400 V, size: 13 x 5 x 11 "
     "mm",
     {"loss_factor", "rated_ripple_current"}},
    {"model: safety_film_capacitor, known_by: marking, capacitance: { marking: 334K }, rated_ac_voltage: 310 "
     "V",
     {"loss_factor", "rated_voltage"}},
    {"model: ceramic_capacitor, capacitance: 10 uF, size: 3.2 x 1.6 x 1.6 mm", {"rated_voltage", "esr"}},
    {"model: gapped_inductor, inductance: 270 uH, core: pq_26_20",
     {"turns", "core_area", "core_volume", "loss_density", "dc_resistance", "strands", "saturation_flux"}},
    {"model: gapped_inductor, inductance: 1 mH, core_form: e, size: 25 x 20 x 22 mm",
     {"turns", "core_area", "mean_turn_length", "window_width", "steinmetz_beta"}},
    {"model: transformer, turns: [33, 4, 4], core: rm_10, arrangement: sectioned",
     {"inductance", "leakage_inductance", "dc_resistance", "strands", "strand_diameter", "conductor"}},
    {"model: transformer, turns: [60, 6], size: 25 x 20 x 20 mm, core_form: e, bundle_diameter: [0.4 mm, 1.2 "
     "mm]",
     {"inductance", "leakage_inductance", "dc_resistance", "core_volume"}},
    {"model: gapped_inductor, inductance: 270 uH, core: pq_26_20, conductor: round",
     {"turns", "dc_resistance", "mean_turn_length", "window_width"}},
    {"model: transformer, turns: [33, 4, 4], core: rm_10, conductor: [round, round, round]",
     {"inductance", "dc_resistance", "mean_turn_length", "window_width"}},
    {"model: common_mode_choke, inductance: 10 mH, rated_current: 2 A, size: 18 x 12 x 18 mm",
     {"turns", "dc_resistance"}},
    {"model: common_mode_choke, inductance: 10 mH, copper_diameter: 0.6 mm, size: 18 x 12 x 18 mm",
     {"turns", "dc_resistance"}},
    {"model: measured_inductor, inductance: { marking: 6R8 }, size: 10 x 10 x 5 mm",
     {"dc_resistance", "saturation_current", "resistance_ratio"}},
    {"model: fuse, rated_current: 2 A", {"cold_resistance", "rated_voltage"}},
    {"model: inrush_thermistor, known_by: marking, cold_resistance: 10 ohm, size: 11 x 5 x 13 mm",
     {"hot_resistance", "rated_current"}},
    {"model: varistor, known_by: marking, rated_voltage: 300 V", {"leakage_current", "maximum_temperature"}},
    {"model: resistor, known_by: marking, resistance: { marking: R010 }, size: 3.2 x 1.6 x 0.6 mm",
     {"rated_power", "resistance_board"}},
    {"model: powder_inductor, ring: ring_27_15_11, powder: iron_silicon_aluminium, inductance: 200 uH, "
     "copper_diameter: 0.8 mm",
     {"turns", "core_area", "core_path_length", "permeability_over_bias", "loss_density",
      "conductor_diameter", "window_width", "saturation_flux"}},
    {"model: powder_inductor, ring_outer: 27 mm, ring_inner: 14.5 mm, ring_height: 11 mm, powder: iron, "
     "turns: 40",
     {"inductance_factor", "relative_permeability", "permeability_over_bias", "dc_resistance",
      "maximum_temperature"}},
    {"model: measured_transformer, turns_ratio: 8, inductance: 600 uH, dc_resistance: [180 mohm, 6 mohm], "
     "core: rm_10",
     {"core_area", "core_volume", "turns", "loss_density", "leakage_inductance", "saturation_flux"}},
    {"model: measured_transformer, known_by: marking, turns_ratio: 8, inductance: 600 uH, dc_resistance: "
     "[180 mohm, 6 mohm], arrangement: interleaved",
     {"leakage_inductance", "maximum_temperature"}},
    {"model: measured_switch, resistance: 210 mohm, rated_voltage: 650 V, package: to_220",
     {"output_charge", "output_voltage", "reverse_voltage", "resistance_case", "maximum_temperature"}},
    {"model: trace, length: 40 mm, width: 5 mm, base_copper: one_ounce", {"thickness"}},
    {"model: trace, length: 40 mm, rated_current: 5 A, base_copper: half_ounce, board_layer: inner",
     {"thickness", "width"}},
    {"model: wire, length: 3 m, section: 0.75 mm^2", {"strands", "diameter", "maximum_temperature"}},
    {"model: wire, length: 3 m, cable_gauge: 18", {"strands", "diameter"}},
    {"model: wire, length: 3 m, section: 1.5 mm^2, wire_kind: solid", {"strands", "diameter"}},
    {"model: wire, length: 1 m, overall_diameter: 0.55 mm", {"diameter"}},
    {"model: wire, known_by: marking, length: 1 m, gauge: 24", {"diameter"}},
};
enum { MARKINGS = (int)(sizeof markings / sizeof markings[0]) };

START_TEST(a_marking_completes_the_part)
{
    estimated_begin();
    const hl_part *part = estimated_part(markings[_i].fields);
    for (int k = 0; k < 8 && markings[_i].filled[k]; k++) {
        size_t index = estimated_index(part, markings[_i].filled[k]);
        const hl_value *value = estimated_value(part, index);
        ck_assert_msg(value->given && value->origin == HL_ORIGIN_ESTIMATE &&
                          hl_part_value_rule(part, index, NULL),
                      "%s: %s is not estimated", markings[_i].fields, markings[_i].filled[k]);
    }
    estimated_end();
}
END_TEST

/* Every estimate: origin, a source, an ordered band around it, inside what is plausible. */
START_TEST(every_estimate_has_its_source_and_an_ordered_band)
{
    estimated_begin();
    const hl_part *part = estimated_part(markings[_i].fields);
    size_t n = hl_part_model(part)->n_parameters, filled = 0, banded = 0;
    for (size_t i = 0; i < n + HL_COMMONS; i++) {
        hl_place place;
        const char *source = hl_part_value_rule(part, i, &place);
        if (!source) continue;
        filled++;
        const hl_parameter *p =
            i < n ? hl_model_parameter(hl_part_model(part), i) : hl_common_parameter(i - n);
        const hl_value *value = estimated_value(part, i);
        const hl_band *band = estimated_band(part, i);
        ck_assert_uint_gt(strlen(source), 2);
        ck_assert_int_gt(place.line, 0);
        ck_assert_ptr_nonnull(strstr(place.file, ".yaml"));
        ck_assert_int_eq(value->origin, HL_ORIGIN_ESTIMATE);
        ck_assert_int_eq(band->origin, HL_ORIGIN_ESTIMATE);
        if (p->low < p->high && p->kind == HL_NUMBER)
            ck_assert_msg(value->number >= p->low && value->number <= p->high, "%s = %g", p->name,
                          value->number);
        if (band->kind == HL_BAND_NONE) continue;
        banded++;
        ck_assert_msg(band->low < band->central && band->central < band->high, "%s: %g %g %g", p->name,
                      band->low, band->central, band->high);
        ck_assert_msg(p->kind != HL_NUMBER || band->central == value->number, "%s", p->name);
        ck_assert_msg(value->minimum <= value->number && value->number <= value->maximum, "%s", p->name);
    }
    ck_assert_uint_ge(filled, 2);
    ck_assert_uint_ge(banded, 1);
    estimated_end();
}
END_TEST

START_TEST(every_device_model_has_rules)
{
    estimated_begin();
    for (size_t m = 0; m < hl_host_models(estimated_host); m++) {
        const hl_model *model = hl_host_model(estimated_host, m);
        bool named = !model->device;
        for (int k = 0; k < MARKINGS; k++) {
            char word[80];
            snprintf(word, sizeof word, "model: %s,", model->name);
            named |= strstr(markings[k].fields, word) != NULL;
        }
        ck_assert_msg(named, "%s is completed by no marking", model->name);
    }
    estimated_end();
}
END_TEST

/* What the rules fill makes a part that its model takes, and the state of which can be laid out. */
START_TEST(what_is_filled_is_taken_by_the_model)
{
    estimated_begin();
    const hl_part *part = estimated_part(markings[_i].fields);
    const hl_model *model = hl_part_model(part);
    hl_reason reason = {.text = ""};
    size_t size = model->device->state_size(hl_part_values(part));
    void *state = calloc(1, size + 64);
    ck_assert_msg(model->device->prepare(state, hl_part_values(part), &reason), "%s: %s", markings[_i].fields,
                  reason.text);
    free(state);
    estimated_end();
}
END_TEST

/* Share of the window that copper fills, by R = rho N l / A: N A summed over the windings. */
static double copper_share(const char *fields)
{
    estimated_begin();
    const hl_part *part = estimated_part(fields);
    const hl_value *resistance = estimated_value(part, estimated_index(part, "dc_resistance"));
    const hl_value *turns = estimated_value(part, estimated_index(part, "turns"));
    double length = estimated_number(part, "mean_turn_length"), share = 0.0;
    size_t windings = resistance->curve.n ? resistance->curve.n : 1;
    for (size_t w = 0; w < windings; w++) {
        double n = turns->curve.n ? turns->curve.y[w] : turns->number;
        double ohm = resistance->curve.n ? resistance->curve.y[w] : resistance->number;
        share += n * n * 1.724e-8 * length / ohm / estimated_number(part, "window_area");
    }
    estimated_end();
    return share;
}

/* R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, fill factor (from memory): 0.25 to 0.3 in
 * a transformer at the mains, 0.5 in a simple inductor at low voltage; C. W. T. McLyman, Transformer and
 * Inductor Design Handbook, window utilization (from memory): 0.4. Litz, half of it enamel and air, fills
 * less. */
START_TEST(round_wire_fills_its_window_as_round_wire_does)
{
    double transformer =
        copper_share("model: transformer, turns: [33, 4, 4], core: rm_10, conductor: [round, round, round]");
    double inductor =
        copper_share("model: gapped_inductor, inductance: 270 uH, core: pq_26_20, conductor: round");
    ck_assert_msg(transformer >= 0.25 && transformer <= 0.3, "transformer: %g", transformer);
    ck_assert_msg(inductor >= 0.35 && inductor <= 0.5, "inductor: %g", inductor);
    ck_assert_double_lt(copper_share("model: transformer, turns: [33, 4, 4], core: rm_10"), transformer);
    ck_assert_double_lt(copper_share("model: gapped_inductor, inductance: 270 uH, core: pq_26_20"), inductor);
}
END_TEST

/* A value that rests on an estimate is less sure than one on a figure that is stated. */
START_TEST(a_chain_of_rules_widens_the_band)
{
    estimated_begin();
    const hl_part *part = estimated_part(
        "model: silicon_mosfet, rated_voltage: 600 V, on_resistance: 250 mohm, package: to_220");
    double direct = estimated_band(part, estimated_index(part, "gate_charge"))->sigma;
    estimated_end();
    estimated_begin();
    part =
        estimated_part("model: silicon_mosfet, rated_voltage: 600 V, rated_current: 15 A, package: to_220");
    double chained = estimated_band(part, estimated_index(part, "gate_charge"))->sigma;
    double link = estimated_band(part, estimated_index(part, "on_resistance"))->sigma;
    ck_assert_double_gt(chained, direct);
    ck_near(chained * chained, direct * direct + link * link, 1e-3, 0); /* charge ~ 1 / resistance */
    ck_assert_str_eq(estimated_band(part, estimated_index(part, "gate_charge"))->group, "x:gate");
    estimated_end();
}
END_TEST

START_TEST(what_is_stated_is_never_estimated)
{
    estimated_begin();
    const hl_part *part = estimated_part(
        "model: silicon_mosfet, rated_voltage: 600 V, on_resistance: 250 mohm, package: to_220, "
        "gate_charge: 24 nC, resistance_case: 1.4 K/W");
    ck_assert_double_eq(estimated_number(part, "gate_charge"), 24e-9);
    ck_assert_ptr_null(hl_part_value_rule(part, estimated_index(part, "gate_charge"), NULL));
    ck_assert_int_eq(estimated_value(part, estimated_index(part, "gate_charge"))->origin, HL_ORIGIN_STATED);
    ck_near(estimated_number(part, "gate_drain_charge"), 0.35 * 24e-9 * 10 / 11, 1e-12,
            0); /* but serves others */
    ck_assert_double_eq(estimated_number(part, "resistance_case"), 1.4);
    estimated_end();
}
END_TEST

/* A part whose model has all it needs is left to the model's defaults unless it says it is known by marking.
 */
START_TEST(a_part_known_by_data_is_left_alone)
{
    estimated_begin();
    const hl_part *part =
        estimated_part("model: silicon_mosfet, rated_voltage: 600 V, on_resistance: 250 mohm");
    for (size_t i = 0; i < hl_part_model(part)->n_parameters + HL_COMMONS; i++)
        ck_assert_ptr_null(hl_part_value_rule(part, i, NULL));
    estimated_end();
}
END_TEST

/* The channel's square law keeps plateau and threshold a fixed overdrive apart. */
START_TEST(defaults_that_belong_together_move_together)
{
    estimated_begin();
    const hl_part *part =
        estimated_part("model: silicon_mosfet, rated_voltage: 600 V, on_resistance: 250 mohm");
    ck_assert_str_eq(estimated_band(part, estimated_index(part, "threshold_voltage"))->group, "levels");
    ck_assert_str_eq(estimated_band(part, estimated_index(part, "plateau_voltage"))->group, "levels");
    ck_assert_ptr_null(estimated_band(part, estimated_index(part, "resistance_case"))->group);
    estimated_end();
    estimated_begin_bare();
    part = estimated_part("model: silicon_mosfet, rated_voltage: 600 V, on_resistance: 250 mohm");
    ck_assert_ptr_null(estimated_band(part, estimated_index(part, "threshold_voltage"))->group);
    estimated_end();
}
END_TEST

START_TEST(what_would_help_is_told)
{
    static const struct {
        const char *fields, *message;
    } wanting[] = {
        {"model: silicon_mosfet, rated_voltage: 600 V",
         "x.yaml:2:3: x: values are missing that silicon_mosfet cannot do without: on_resistance; "
         "on_resistance "
         "can be estimated from: rated_current"},
        {"model: fuse",
         "x.yaml:2:3: x: values are missing that fuse cannot do without: cold_resistance, rated_current; "
         "cold_resistance can be estimated from: rated_current"},
        {"model: common_mode_choke, known_by: marking, inductance: 10 mH, size: 18 x 12 x 18 mm",
         "x.yaml:2:3: x: winding 1: state dc_resistance, or the conductor (conductor_diameter; strands and "
         "strand_diameter; foil_thickness and conductor_width) and mean_turn_length; dc_resistance can be "
         "estimated from: copper_diameter, rated_current"},
        {"model: common_mode_choke, turns: 43, inductance: 10 mH, size: 18 x 12 x 18 mm, rated_current: 2 A",
         "x.yaml:2:3: x: winding 1: state dc_resistance, or the conductor (conductor_diameter; strands and "
         "strand_diameter; foil_thickness and conductor_width) and mean_turn_length; with known_by: marking "
         "what is missing is estimated"},
        {"model: wire, length: 3 m",
         "x.yaml:2:3: x: state diameter, or gauge; with known_by: marking diameter can be estimated from: "
         "cable_gauge, gauge, overall_diameter"},
        {"model: bridge, rated_voltage: 800 V, pakage: sma",
         "x.yaml:2:45: x: 'pakage' is not known here; did you mean "
         "'package'?"},
        {"model: bridge, rated_voltage: 800 V, package: sna",
         "x.yaml:2:54: package: 'sna' is none of: to_220, to_220_insulated, to_247, to_252, to_263, son_3x3, "
         "son_5x6, "
         "son_8x8, so_8, sot_223, sot_23, sma, smb, smc, axial_do_41, axial_do_201, bridge_dip, "
         "bridge_inline; did you "
         "mean sma?"},
        {"model: bridge, rated_voltage: 800 V, known_by: heart",
         "x.yaml:2:55: x: known_by: is marking (what is not stated is estimated) or data (the models' "
         "defaults)"},
    };
    for (size_t k = 0; k < sizeof wanting / sizeof wanting[0]; k++) {
        estimated_begin();
        char text[400];
        snprintf(text, sizeof text, "parts:\n  x: { %s }\n", wanting[k].fields);
        ck_assert_int_eq(
            hl_catalogue_read_text(estimated_catalogue, "x.yaml", text, strlen(text), estimated_said),
            HL_BAD_INPUT);
        ck_assert_str_eq(hl_diagnostics_text(estimated_said, 0), wanting[k].message);
        estimated_end();
    }
}
END_TEST

/* A value that was misread, or misspelt, is there: neither it nor what is estimated from it is missing. */
START_TEST(only_the_true_cause_is_told)
{
    static const struct {
        const char *fields, *messages[2];
    } mistakes[] = {
        {"model: silicon_mosfet, rated_voltage: 600 V, rated_current: 15 V",
         {"rated_current: 15 V is a voltage; a current in A is wanted"}},
        {"model: silicon_mosfet, rated_voltage: 600 V, raged_current: 15 A",
         {"x: 'raged_current' is not known here; did you mean 'rated_current'?"}},
        {"model: silicon_mosfet, rated_voltage: 600 V, rated_current: 15 A, emissivity: 95",
         {"emissivity: 95 is outside 0.02 … 1; did you mean 95 %?"}},
        {"model: gapped_inductor, inductance: 270 uH, core: pq_26_21",
         {"core: 'pq_26_21' is none of: e_13_6_6"}},
        {"model: gapped_inductor, inductance: 270 uH, size: 27 x 27 mm",
         {"size: 2 values; length, width and height are wanted"}},
        {"model: common_mode_choke, inductance: 10 mV, rated_current: 2 A, size: 18 x 12 x 18 mm",
         {"inductance: 10 mV is a voltage; an inductance in H is wanted"}},
        {"model: trace, lenth: 40 mm, width: 5 mm", {"x: 'lenth' is not known here; did you mean 'length'?"}},
        /* what is missing beside a mistake is told all the same, and what would do */
        {"model: silicon_mosfet, rated_voltage: 600 V, emissivity: 95",
         {"emissivity: 95 is outside",
          "values are missing that silicon_mosfet cannot do without: on_resistance; "
          "on_resistance can be estimated from: rated_current"}},
        {"model: silicon_mosfet, rated_current: 15 V",
         {"rated_current: 15 V is a voltage", "cannot do without: rated_voltage"}},
    };
    for (size_t k = 0; k < sizeof mistakes / sizeof *mistakes; k++) {
        estimated_begin();
        char text[400];
        snprintf(text, sizeof text, "parts:\n  x: { %s }\n", mistakes[k].fields);
        ck_assert_int_eq(
            hl_catalogue_read_text(estimated_catalogue, "x.yaml", text, strlen(text), estimated_said),
            HL_BAD_INPUT);
        size_t wanted = mistakes[k].messages[1] ? 2 : 1, told = hl_diagnostics_count(estimated_said);
        ck_assert_msg(told == wanted, "%s: %zu messages, the last: %s", mistakes[k].fields, told,
                      hl_diagnostics_text(estimated_said, told - 1));
        for (size_t i = 0; i < wanted; i++)
            ck_assert_msg(strstr(hl_diagnostics_text(estimated_said, i), mistakes[k].messages[i]) != NULL,
                          "%s: %s", mistakes[k].fields, hl_diagnostics_text(estimated_said, i));
        estimated_end();
    }
}
END_TEST

/* All plugins but one, and the rules as far as they go then: warnings that name the missing model alone. */
static hl_host *begin_without(const char *file, hl_catalogue **catalogue, hl_diagnostics **said)
{
    hl_host *host = hl_host_create();
    *said = hl_diagnostics_create();
    for (size_t m = 0; m < hl_host_models(estimated_host); m++)
        if (strcmp(hl_host_model_file(estimated_host, m), file) != 0)
            ck_assert_int_eq(hl_host_load(host, hl_host_model_file(estimated_host, m), *said), HL_OK);
    *catalogue = hl_catalogue_create(host);
    hl_status status = hl_catalogue_read_rules_folder(*catalogue, ESTIMATED_RULES, *said);
    for (size_t i = 0; i < hl_diagnostics_count(*said); i++)
        ck_assert_msg(hl_diagnostics_severity(*said, i) == HL_WARNING &&
                          strstr(hl_diagnostics_text(*said, i), "models: no device model is named '"),
                      "without %s: %s", file, hl_diagnostics_text(*said, i));
    ck_assert_msg(status == HL_OK, "without %s", file);
    return host;
}

/* Marking k as part "x<k>". */
static const hl_part *marked_part(hl_catalogue *catalogue, int k, hl_diagnostics *said)
{
    char name[16], text[1200];
    snprintf(name, sizeof name, "x%d", k);
    snprintf(text, sizeof text, "parts:\n  %s: { %s }\n", name, markings[k].fields);
    ck_assert_int_eq(hl_catalogue_read_text(catalogue, "x.yaml", text, strlen(text), said), HL_OK);
    return hl_catalogue_find(catalogue, name);
}

/* The same values, to the bit, as with all models. */
static void expect_same_values(const hl_part *all, const hl_part *left)
{
    size_t n = hl_part_model(all)->n_parameters + HL_COMMONS;
    for (size_t i = 0; i < n; i++) {
        const hl_value *a = estimated_value(all, i), *b = estimated_value(left, i);
        ck_assert(a->given == b->given && a->origin == b->origin && a->curve.n == b->curve.n);
        ck_assert(!memcmp(&a->number, &b->number, sizeof(double)));
        ck_assert(!memcmp(&a->minimum, &b->minimum, sizeof(double)));
        ck_assert(!memcmp(&a->maximum, &b->maximum, sizeof(double)));
    }
}

/* A plugin that is missing, or does not load, costs its own models and nothing of the others. */
START_TEST(a_missing_model_takes_no_other_with_it)
{
    const hl_part *all[MARKINGS];
    estimated_begin();
    for (int k = 0; k < MARKINGS; k++) all[k] = marked_part(estimated_catalogue, k, estimated_said);
    for (size_t m = 0; m < hl_host_models(estimated_host); m++) {
        const hl_model *missing = hl_host_model(estimated_host, m);
        if (!missing->device) continue;
        hl_catalogue *catalogue;
        hl_diagnostics *said;
        hl_host *host = begin_without(hl_host_model_file(estimated_host, m), &catalogue, &said);
        ck_assert_uint_ge(hl_diagnostics_count(said), 1);
        for (int k = 0; k < MARKINGS; k++)
            if (hl_part_model(all[k]) != missing) expect_same_values(all[k], marked_part(catalogue, k, said));
        hl_catalogue_destroy(catalogue);
        hl_diagnostics_destroy(said);
        hl_host_destroy(host);
    }
    estimated_end();
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, estimated_load, estimated_unload);
    tcase_add_test(tests, every_rule_file_is_read_without_a_word);
    tcase_add_loop_test(tests, a_marking_completes_the_part, 0, MARKINGS);
    tcase_add_loop_test(tests, every_estimate_has_its_source_and_an_ordered_band, 0, MARKINGS);
    tcase_add_loop_test(tests, what_is_filled_is_taken_by_the_model, 0, MARKINGS);
    tcase_add_test(tests, every_device_model_has_rules);
    tcase_add_test(tests, a_chain_of_rules_widens_the_band);
    tcase_add_test(tests, what_is_stated_is_never_estimated);
    tcase_add_test(tests, round_wire_fills_its_window_as_round_wire_does);
    tcase_add_test(tests, a_part_known_by_data_is_left_alone);
    tcase_add_test(tests, defaults_that_belong_together_move_together);
    tcase_add_test(tests, what_would_help_is_told);
    tcase_add_test(tests, only_the_true_cause_is_told);
    tcase_add_test(tests, a_missing_model_takes_no_other_with_it);
}

int main(void)
{
    return story_main("estimates", fill);
}
