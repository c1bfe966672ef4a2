/* check_commutation_heat.c - what charges and recovers in a free-wheeling part is booked to it and warms the
 * switch that turns on.
 *
 * Every part is cooled by a link of its own, so its temperature tells the heat it got. While a diode recovers
 * its voltage is still about none, so V Q is lost across the switch: N. Mohan, T. M. Undeland, W. P. Robbins,
 * Power Electronics, 2nd ed. 1995, ch. 20 (from memory). Parts are invented. */
#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "command_json.h"
#include "drafted_adapter.h"
#include "story.h"

static const char parts[] =
    "parts:\n"
    "  switch: { model: silicon_mosfet, on_resistance: 60 mohm, rated_voltage: 650 V, gate_charge: 30 nC, "
    "gate_drain_charge: 8 nC, threshold_voltage: 3 V, plateau_voltage: 5 V, gate_drive_voltage: 10 V, "
    "gate_resistance_on: 10 ohm, gate_resistance_off: 5 ohm, output_energy: 6 uJ, output_voltage: 400 "
    "V, "
    "output_charge: 60 nC, recovery_charge: 400 nC, recovery_current: 5 A, recovery_slope: 100 A/us }\n"
    "  tabled: { model: silicon_mosfet, on_resistance: 60 mohm, rated_voltage: 650 V, energy_voltage: 100 V, "
    "turn_on_energy: { table: [[0.1 A, 1 uJ], [20 A, 200 uJ]] }, turn_off_energy: { table: [[0.1 A, 1 uJ], "
    "[20 A, 100 uJ]] }, recovery_energy: { table: [[0.1 A, 0.5 uJ], [20 A, 100 uJ]] } }\n"
    "  diode: { model: junction_diode, forward_voltage: 0.9 V, rated_voltage: 600 V, rated_current: 8 A, "
    "recovery_charge: 300 nC, junction_capacitance: { table: [[1 V, 200 pF], [100 V, 30 pF], [400 V, 15 pF]] "
    "} }\n"
    "  core: { model: transformer, turns: [56, 8], inductance: 600 uH, leakage_inductance: 4 uH, core_area: "
    "52 mm^2, dc_resistance: [520 mohm, 9.5 mohm] }\n"
    "  coil: { model: measured_inductor, inductance: 200 uH, dc_resistance: 20 mohm }\n";

/* W/K of each part, and the air. */
static const double cooled = 0.5, air = 298.15;

typedef struct warmed {
    double starter, partner;           /* W that they got */
    double starter_loss, partner_loss; /* W booked to them */
    double recovery, charge;           /* W booked to the partner */
    double left;                       /* W booked to the starter as what recovers */
    size_t heats_left, heats_recovery, heats_charge, starter_item, partner_item;
} warmed;

static size_t item_of(const hl_design *design, const char *slot)
{
    size_t i = 0;
    while (strcmp(hl_design_item(design, i)->slot, slot)) i++;
    return i;
}

static const struct {
    const char *model, *starter, *partner;
    const char *others[2]; /* slots of switches that do not switch */
    double in, out;
} stages[] = {
    {"synchronous_buck", "high_switch", "low_switch", {NULL}, 100, 40},
    {"boost", "switch", "rectifier", {NULL}, 100, 200},
    {"four_switch_buck_boost",
     "input_high_switch",
     "input_low_switch",
     {"output_low_switch", "output_high_switch"},
     100,
     40},
    {"four_switch_buck_boost",
     "output_low_switch",
     "output_high_switch",
     {"input_high_switch", "input_low_switch"},
     100,
     200},
};
enum { STAGES = sizeof stages / sizeof *stages };

static void cooled_part(drafted_adapter *a, const char *slot, const char *part)
{
    char place[60];
    snprintf(place, sizeof place, "stage.%s", slot);
    drafted_fill(a, "stage", slot, part);
    drafted_cool(a, place, cooled);
}

static warmed solve(int k, const char *starter, const char *partner)
{
    drafted_adapter a;
    drafted_begin(&a, parts);
    drafted_source(&a, stages[k].in, 0);
    drafted_stage(&a, "stage", stages[k].model, "source");
    drafted_set(&a, "stage", "switching_frequency", 100e3);
    cooled_part(&a, stages[k].starter, starter);
    cooled_part(&a, stages[k].partner, partner);
    for (int i = 0; i < 2 && stages[k].others[i]; i++) cooled_part(&a, stages[k].others[i], "switch");
    cooled_part(&a, "inductor", "coil");
    drafted_port(&a, "out", "stage", stages[k].out, 2);
    drafted_solve(&a);
    const hl_workspace *w = a.workspace;
    size_t s = item_of(a.design, stages[k].starter), p = item_of(a.design, stages[k].partner);
    warmed found = {.starter = cooled * (hl_result_item_temperature(w, s) - air),
                    .partner = cooled * (hl_result_item_temperature(w, p) - air),
                    .starter_loss = hl_result_item_loss(w, s),
                    .partner_loss = hl_result_item_loss(w, p),
                    .recovery = hl_result_loss(w, p, HL_REVERSE_RECOVERY),
                    .charge = hl_result_loss(w, p, HL_OUTPUT_CHARGE),
                    .left = hl_result_loss(w, s, HL_REVERSE_RECOVERY),
                    .heats_left = hl_result_heats(w, s, HL_REVERSE_RECOVERY),
                    .heats_recovery = hl_result_heats(w, p, HL_REVERSE_RECOVERY),
                    .heats_charge = hl_result_heats(w, p, HL_OUTPUT_CHARGE),
                    .starter_item = s,
                    .partner_item = p};
    ck_near(hl_result_power(w)->heat_imbalance, 0, 0, 1e-9);
    ck_assert_uint_eq(hl_result_heats(w, p, HL_CONDUCTION), p);
    ck_assert_uint_eq(hl_result_heats(w, s, HL_OUTPUT_CHARGE), s);
    drafted_end(&a);
    return found;
}

START_TEST(a_diode_warms_the_switch_that_turns_it_off)
{
    warmed w = solve(_i, "switch", "diode");
    printf("%s: %.3f W of recovery and %.3f W of charge warm the switch\n", stages[_i].model, w.recovery,
           w.charge);
    ck_assert_double_gt(w.recovery, 0.5);
    ck_assert_double_gt(w.charge, 0.01);
    ck_assert_uint_eq(w.heats_recovery, w.starter_item);
    ck_assert_uint_eq(w.heats_charge, w.starter_item);
    ck_near(w.starter, w.starter_loss + w.recovery + w.charge, 1e-7, 0);
    ck_near(w.partner, w.partner_loss - w.recovery - w.charge, 1e-7, 0);
}
END_TEST

/* A transistor's own charge is lost in it when it turns on itself; the starter pays for the other already. */
START_TEST(a_transistor_warms_it_by_what_recovers)
{
    warmed w = solve(_i, "switch", "switch");
    printf("%s: %.3f W of recovery warm the switch\n", stages[_i].model, w.recovery);
    ck_assert_double_gt(w.recovery, 0.5);
    ck_assert_uint_eq(w.heats_recovery, w.starter_item);
    ck_assert_uint_eq(w.heats_charge, w.partner_item);
    ck_near(w.starter, w.starter_loss + w.recovery, 1e-7, 0);
    ck_near(w.partner, w.partner_loss - w.recovery, 1e-7, 0);
}
END_TEST

/* What a table leaves to the diode it turns off, E_rr over the diode's own terminals, is booked with the
 * table and warms the diode, which books nothing itself. */
START_TEST(a_table_warms_the_diode_by_what_it_leaves)
{
    warmed w = solve(_i, "tabled", "diode");
    printf("%s: %.3f W left to the diode\n", stages[_i].model, w.left);
    ck_near(w.recovery + w.charge, 0, 0, 0);
    ck_assert_double_gt(w.left, 0.5);
    ck_assert_uint_eq(w.heats_left, w.partner_item);
    ck_near(w.starter, w.starter_loss - w.left, 1e-7, 0);
    ck_near(w.partner, w.partner_loss + w.left, 1e-7, 0);
}
END_TEST

/* Recovery of a diode that grows by 3 % a kelvin and is cooled by 20 mW/K: were it lost in the diode, each
 * kelvin would add more than one.  It is lost in the switch, on a heat sink, which the diode does not feel:
 * nothing runs away, and the gain that is told, a bound, is that of half of the slope at the diode
 * (core/solve/feedback.c), below one. */
START_TEST(what_recovers_elsewhere_does_not_run_away)
{
    static const double charge[] = {20, 80, 320}; /* nC */
    double last = 0;
    for (int i = 0; i < 3; i++) {
        char steep[1200];
        drafted_adapter a;
        snprintf(steep, sizeof steep,
                 "parts:\n  switch: { model: measured_switch, resistance: 60 mohm, rated_voltage: 650 V }\n"
                 "  diode: { model: junction_diode, forward_voltage: 0.9 V, rated_voltage: 600 V, "
                 "rated_current: 8 A, "
                 "recovery_charge: %g nC, threshold_temperature_coefficient: 0 V/K, "
                 "resistance_temperature_coefficient: 0 1/K, recovery_temperature_coefficient: 0.03 1/K }\n"
                 "  core: { model: transformer, turns: [56, 8], inductance: 600 uH, leakage_inductance: 4 "
                 "uH, core_area: "
                 "52 mm^2, dc_resistance: [520 mohm, 9.5 mohm] }\n"
                 "  coil: { model: measured_inductor, inductance: 200 uH, dc_resistance: 20 mohm }\n",
                 charge[i]);
        drafted_begin(&a, steep);
        drafted_source(&a, 100, 0);
        drafted_stage(&a, "stage", "boost", "source");
        drafted_set(&a, "stage", "switching_frequency", 100e3);
        drafted_fill(&a, "stage", "switch", "switch");
        drafted_fill(&a, "stage", "rectifier", "diode");
        drafted_fill(&a, "stage", "inductor", "coil");
        drafted_port(&a, "out", "stage", 200, 2);
        drafted_cool(&a, "stage.switch", 10);
        drafted_cool(&a, "stage.rectifier", 0.02);
        drafted_cool(&a, "stage.inductor", 1);
        drafted_solve(&a);
        double watts = hl_result_loss(a.workspace, item_of(a.design, "rectifier"), HL_REVERSE_RECOVERY);
        double warm = hl_result_item_temperature(a.workspace, item_of(a.design, "rectifier"));
        double slope = 0.03 * watts / (1 + 0.03 * (warm - 298.15)),
               gain = hl_result_feedback_gain(a.workspace, NULL);
        printf("%g nC: %.3f W of recovery, gain at most %.6f\n", charge[i], watts, gain);
        ck_assert_double_lt(gain, 1);
        ck_assert_double_ge(gain, last);
        if (slope < 2 * 0.02) ck_near(gain, 0.5 * slope / 0.02, 1e-3, 0);
        last = gain;
        drafted_end(&a);
    }
    ck_assert_double_gt(last, 0.99);
}
END_TEST

/* A rectifier of silicon carbide before the bulk capacitor: all its charge goes through the switch. */
START_TEST(a_ledger_names_the_part_that_is_warmed)
{
    const char *arguments[] = {"solve", HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua", "--json",
                               NULL};
    json_t *document = command_json(arguments), *entry;
    size_t i, charge = 0;
    json_array_foreach(json_object_get(document, "ledger"), i, entry)
    {
        const char *stage = json_string_value(json_object_get(entry, "stage")),
                   *part = json_string_value(json_object_get(entry, "part")),
                   *what = json_string_value(json_object_get(entry, "mechanism")),
                   *warms = json_string_value(json_object_get(entry, "warms"));
        char own[80];
        if (!strcmp(what, "other")) continue;
        snprintf(own, sizeof own, "%s.%s", stage, part);
        bool rectifier = !strcmp(own, "pfc.rectifier") && !strcmp(what, "output charge");
        charge += rectifier;
        ck_assert_str_eq(warms, rectifier ? "pfc.switch" : own);
    }
    ck_assert_uint_eq(charge, 1);
    json_decref(document);
}
END_TEST

/* W booked as output charge to the switch of a discontinuous flyback, and got by it, with so many F at its
 * drain; 0: not stated. */
static double charge_of_flyback(double farads, double *warmed_by, double *loss, double *told)
{
    drafted_adapter a;
    drafted_begin(&a, parts);
    drafted_source(&a, 300, 0);
    drafted_stage(&a, "stage", "flyback", "source");
    drafted_set(&a, "stage", "switching_frequency", 100e3);
    drafted_set(&a, "stage", "clamp_voltage", 160);
    if (farads > 0) drafted_set(&a, "stage", "drain_capacitance", farads);
    cooled_part(&a, "switch", "switch");
    cooled_part(&a, "transformer", "core");
    cooled_part(&a, "rectifier", "diode");
    drafted_port(&a, "out", "stage", 12, 1);
    drafted_solve(&a);
    const hl_workspace *w = a.workspace;
    size_t s = item_of(a.design, "switch"), stage = 0;
    double charge = hl_result_loss(w, s, HL_OUTPUT_CHARGE);
    while (!hl_result_quantities(w, stage)) stage++;
    *told = 0;
    for (size_t q = 0; q < hl_result_quantities(w, stage); q++)
        if (!strcmp(hl_result_quantity(w, stage, q)->name, "node_loss"))
            *told = hl_result_quantity(w, stage, q)->value;
    *warmed_by = cooled * (hl_result_item_temperature(w, s) - air);
    *loss = hl_result_item_loss(w, s);
    ck_near(hl_result_power(w)->power_imbalance, 0, 0, 1e-9);
    ck_near(hl_result_power(w)->heat_imbalance, 0, 0, 1e-9);
    drafted_end(&a);
    return charge;
}

/* What a stage tells of its node is booked to the switch beside its own charge, drawn, and warms it. */
START_TEST(what_others_store_at_a_node_warms_the_switch)
{
    double heat, loss, told, none, alone = charge_of_flyback(0, &heat, &loss, &none);
    double all = charge_of_flyback(400e-12, &heat, &loss, &told);
    ck_near(none, 0, 0, 0);
    ck_assert_double_gt(told, 0.5);
    ck_near(all - alone, told, 1e-9, 0);
    ck_near(heat, loss, 1e-7, 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, what_others_store_at_a_node_warms_the_switch);
    tcase_add_loop_test(tests, a_diode_warms_the_switch_that_turns_it_off, 0, STAGES);
    tcase_add_loop_test(tests, a_table_warms_the_diode_by_what_it_leaves, 0, STAGES);
    tcase_add_test(tests, what_recovers_elsewhere_does_not_run_away);
    tcase_add_test(tests, a_ledger_names_the_part_that_is_warmed);
    tcase_add_loop_test(tests, a_transistor_warms_it_by_what_recovers, 0, STAGES);
}

int main(void)
{
    return story_main("commutation heat", fill);
}
