/* check_reference_adapters.c - the solved circuits of tests/reference as whole adapters: parts from part-file
 * text, a tree of stages, one call of hl_solve; every named quantity within 0.5 %.
 *
 * Source of the expected figures: tests/reference/{A_llc,B_pfc,C_buck}_open.json, time-domain solutions of
 * the same circuits, made independently of this project's equations; their own error is below 1e-9. */
#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "reference_circuit.h"
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

typedef struct answer {
    const adapter *adapter;
    const char *stage;
} answer;

static double ask(void *who, const char *name)
{
    const answer *from = who;
    return quantity(from->adapter, from->stage, name);
}

static void compare(const adapter *a, const char *stage, json_t *one, const reference_circuit *circuit,
                    reference_asking *asking)
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
    adapter a = begin(parts);
    must(&a, hl_draft_source(a.draft, NULL, reference_input(one, "Vin"), 0, a.said));
    must(&a, hl_draft_stage(a.draft, NULL, "llc", "half_bridge_llc", "source", a.said));
    choose(&a, "llc", "secondary", full ? "full_bridge" : "centre_tapped");
    choose(&a, "llc", "transition", dead ? "dead_time" : "instant");
    choose(&a, "llc", "output_model", rc ? "capacitor" : "stiff");
    choose(&a, "llc", "light_load", "continuous");
    set(&a, "llc", "dead_time", reference_input(one, "td"));
    fill_slot(&a, "llc", "switch", "q");
    fill_slot(&a, "llc", "rectifier", "d");
    fill_slot(&a, "llc", "resonant_capacitor", "cr");
    fill_slot(&a, "llc", "transformer", "t");
    if (rc)
        must(&a, hl_draft_bus_capacitor(a.draft, NULL, "llc", "bus", hl_catalogue_find(a.catalogue, "co"), 1,
                                        a.said));
    must(&a, hl_draft_port(a.draft, NULL, "out", "llc", reference_input(one, "Vout"),
                           reference_input(one, "Iout"), a.said));
    solve(&a);
    compare(&a, "llc", one, &reference_llc, asking);
    end(&a);
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
    adapter a = begin(parts);
    must(&a,
         hl_draft_source(a.draft, NULL, reference_input(one, "Vac"), reference_input(one, "fline"), a.said));
    must(&a, hl_draft_stage(a.draft, NULL, "bridge", "bridge_rectifier", "mains", a.said));
    must(&a, hl_draft_stage(a.draft, NULL, "pfc", "boost_pfc", "bridge", a.said));
    choose(&a, "pfc", "mode", fixed ? "continuous" : "boundary");
    set(&a, "pfc", "output_voltage", reference_input(one, "Vo"));
    if (fixed) set(&a, "pfc", "switching_frequency", reference_input(one, "fs"));
    set(&a, "pfc", "dead_time", 0);
    fill_slot(&a, "pfc", "switch", "q");
    fill_slot(&a, "pfc", "rectifier", "q");
    fill_slot(&a, "pfc", "boost_inductor", "l");
    must(&a, hl_draft_bus_capacitor(a.draft, NULL, "pfc", "bulk", hl_catalogue_find(a.catalogue, "co"), 1,
                                    a.said));
    must(&a, hl_draft_port(a.draft, NULL, "bus", "pfc", reference_input(one, "Vo"),
                           reference_input(one, "P") / reference_input(one, "Vo"), a.said));
    solve(&a);
    compare(&a, "pfc", one, &reference_pfc, asking);
    end(&a);
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
    adapter a = begin(parts);
    must(&a, hl_draft_source(a.draft, NULL, reference_input(one, "Vin"), 0, a.said));
    must(&a, hl_draft_stage(a.draft, NULL, "buck", "synchronous_buck", "source", a.said));
    choose(&a, "buck", "light_load",
           strcmp(reference_word(one, "mode"), "fccm") ? "diode_emulation" : "forced_continuous");
    set(&a, "buck", "switching_frequency", reference_input(one, "fs"));
    set(&a, "buck", "dead_time_fall", reference_input(one, "td1"));
    set(&a, "buck", "dead_time_rise", reference_input(one, "td2"));
    fill_slot(&a, "buck", "high_switch", "h");
    fill_slot(&a, "buck", "low_switch", "l");
    fill_slot(&a, "buck", "inductor", "i");
    must(&a, hl_draft_bus_capacitor(a.draft, NULL, "buck", "out", hl_catalogue_find(a.catalogue, "co"), 1,
                                    a.said));
    must(&a, hl_draft_port(a.draft, NULL, "load_port", "buck", reference_input(one, "Vout"),
                           reference_input(one, "Iout"), a.said));
    solve(&a);
    compare(&a, "buck", one, &reference_buck, asking);
    end(&a);
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
