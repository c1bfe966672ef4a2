/* check_reference_adapters.c - the solved circuits of tests/reference as whole adapters: parts from part-file
 * text, a tree of stages, one call of hl_solve; every named quantity within 0.5 %.
 *
 * Source of the expected figures: tests/reference/{A_llc,B_pfc,C_buck}_open.json, time-domain solutions of
 * the same circuits, made independently of this project's equations; their own error is below 1e-9. */
#include <math.h>
#include <string.h>

#include "drafted_adapter.h"
#include "reference_circuit.h"
#include "story.h"

/* Tolerance of the project's bar. */
static const double bar = 5e-3;

/* Copper figures of the files hold at 20 degC. */
static void begin(drafted_adapter *a, const char *parts)
{
    drafted_begin(a, parts);
    drafted_must(a, hl_draft_ambient(a->draft, NULL, 293.15, 0, a->said));
}

static double quantity(const drafted_adapter *a, const char *stage, const char *name)
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

typedef struct answer {
    const drafted_adapter *adapter;
    const char *stage;
} answer;

static double ask(void *who, const char *name)
{
    const answer *from = who;
    return quantity(from->adapter, from->stage, name);
}

static void compare(const drafted_adapter *a, const char *stage, json_t *one,
                    const reference_circuit *circuit, reference_asking *asking)
{
    asking->who = &(answer){a, stage};
    ck_assert_uint_ge(reference_compare(one, circuit, asking), 20);
}

static void over_cases(const reference_circuit *circuit, void (*check)(json_t *one, void *asking))
{
    reference_asking asking = {.asked = ask, .relative = bar, .absolute = 1e-9};
    reference_each(circuit, check, &asking);
    printf("%s: worst output off by %.2g\n", circuit->file, asking.worst);
}

/* -------------------------------------------------------------------- LLC -- */

static void check_llc(json_t *one, void *asking)
{
    bool full = !strcmp(reference_word(one, "rectifier"), "full_bridge"),
         rc = !strcmp(reference_word(one, "load"), "rc");
    bool dead = !strcmp(reference_word(one, "kind"), "dt");
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
        dead ? reference_input(one, "Vbd") : 0.8, reference_input(one, "Qoss"), reference_input(one, "Vin"),
        reference_input(one, "Cr"), reference_input(one, "n"), reference_input(one, "Lm"),
        reference_input(one, "Lr"), reference_input(one, "Rp") - 1e-5, reference_input(one, "Rs"),
        reference_input(one, "Rs"));
    if (rc)
        snprintf(
            parts + strlen(parts), sizeof parts - strlen(parts),
            "  co: { model: film_capacitor, capacitance: %.17g F, rated_voltage: 100 V, esr: %.17g ohm,\n"
            "        dielectric_loss_factor: 0 }\n",
            reference_input(one, "Cout"), reference_input(one, "esr"));
    drafted_adapter a;
    begin(&a, parts);
    drafted_source(&a, reference_input(one, "Vin"), 0);
    drafted_stage(&a, "llc", "half_bridge_llc", "source");
    drafted_choose(&a, "llc", "secondary", full ? "full_bridge" : "centre_tapped");
    drafted_choose(&a, "llc", "transition", dead ? "dead_time" : "instant");
    drafted_choose(&a, "llc", "output_model", rc ? "capacitor" : "stiff");
    drafted_choose(&a, "llc", "light_load", "continuous");
    drafted_set(&a, "llc", "dead_time", reference_input(one, "td"));
    drafted_fill(&a, "llc", "switch", "q");
    drafted_fill(&a, "llc", "rectifier", "d");
    drafted_fill(&a, "llc", "resonant_capacitor", "cr");
    drafted_fill(&a, "llc", "transformer", "t");
    if (rc) drafted_bus_capacitor(&a, "llc", "bus", "co");
    drafted_port(&a, "out", "llc", reference_input(one, "Vout"), reference_input(one, "Iout"));
    drafted_solve(&a);
    compare(&a, "llc", one, &reference_llc, asking);
    drafted_end(&a);
}

START_TEST(every_llc_case_holds_as_a_whole_adapter)
{
    over_cases(&reference_llc, check_llc);
}
END_TEST

/* -------------------------------------------------------------------- PFC -- */

static void check_pfc(json_t *one, void *asking)
{
    bool fixed = !strcmp(reference_word(one, "mode"), "fixed");
    char parts[1200];
    snprintf(parts, sizeof parts,
             "parts:\n"
             "  q: { model: measured_switch, resistance: 0 ohm, rated_voltage: 650 V }\n"
             "  l: { model: measured_inductor, inductance: %.17g H, dc_resistance: 1 uohm }\n"
             "  co: { model: film_capacitor, capacitance: %.17g F, rated_voltage: 1000 V, esr: 10 uohm,\n"
             "        dielectric_loss_factor: 0 }\n",
             reference_input(one, "L"), reference_input(one, "Cout"));
    drafted_adapter a;
    begin(&a, parts);
    drafted_source(&a, reference_input(one, "Vac"), reference_input(one, "fline"));
    drafted_stage(&a, "bridge", "bridge_rectifier", "mains");
    drafted_stage(&a, "pfc", "boost_pfc", "bridge");
    drafted_choose(&a, "pfc", "mode", fixed ? "continuous" : "boundary");
    drafted_set(&a, "pfc", "output_voltage", reference_input(one, "Vo"));
    if (fixed) drafted_set(&a, "pfc", "switching_frequency", reference_input(one, "fs"));
    drafted_set(&a, "pfc", "dead_time", 0);
    drafted_fill(&a, "pfc", "switch", "q");
    drafted_fill(&a, "pfc", "rectifier", "q");
    drafted_fill(&a, "pfc", "boost_inductor", "l");
    drafted_bus_capacitor(&a, "pfc", "bulk", "co");
    drafted_port(&a, "bus", "pfc", reference_input(one, "Vo"),
                 reference_input(one, "P") / reference_input(one, "Vo"));
    drafted_solve(&a);
    compare(&a, "pfc", one, &reference_pfc, asking);
    drafted_end(&a);
}

START_TEST(every_pfc_case_holds_as_a_whole_adapter)
{
    over_cases(&reference_pfc, check_pfc);
}
END_TEST

/* ------------------------------------------------------------------- buck -- */

static void check_buck(json_t *one, void *asking)
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
             reference_input(one, "Rhs"), reference_input(one, "Vf"), reference_input(one, "Rls"),
             reference_input(one, "Vf"), reference_input(one, "L"), reference_input(one, "DCR"),
             reference_input(one, "Cout"), reference_input(one, "esr"));
    drafted_adapter a;
    begin(&a, parts);
    drafted_source(&a, reference_input(one, "Vin"), 0);
    drafted_stage(&a, "buck", "synchronous_buck", "source");
    drafted_choose(&a, "buck", "light_load",
                   strcmp(reference_word(one, "mode"), "fccm") ? "diode_emulation" : "forced_continuous");
    drafted_set(&a, "buck", "switching_frequency", reference_input(one, "fs"));
    drafted_set(&a, "buck", "dead_time_fall", reference_input(one, "td1"));
    drafted_set(&a, "buck", "dead_time_rise", reference_input(one, "td2"));
    drafted_fill(&a, "buck", "high_switch", "h");
    drafted_fill(&a, "buck", "low_switch", "l");
    drafted_fill(&a, "buck", "inductor", "i");
    drafted_bus_capacitor(&a, "buck", "out", "co");
    drafted_port(&a, "load_port", "buck", reference_input(one, "Vout"), reference_input(one, "Iout"));
    drafted_solve(&a);
    compare(&a, "buck", one, &reference_buck, asking);
    drafted_end(&a);
}

START_TEST(every_buck_case_holds_as_a_whole_adapter)
{
    over_cases(&reference_buck, check_buck);
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
