#include "leaky_buck.h"

#include <stdio.h>
#include <string.h>

#include "story.h"

static const char parts[] =
    "parts:\n"
    "  high: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V, heat_capacity: 1 J/K }\n"
    "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm, heat_capacity: 5 J/K }\n"
    "  diode:\n"
    "    model: schottky_diode\n"
    "    rated_voltage: 60 V\n"
    "    rated_current: 5 A\n"
    "    threshold_voltage: 0.30 V\n"
    "    slope_resistance: 20 mohm\n"
    "    leakage_current: { typical: 2 mA, maximum: 2 mA }\n"
    "    leakage_voltage: 60 V\n"
    "    leakage_temperature: 25 degC\n"
    "    leakage_doubling: 10 K\n"
    "    threshold_temperature_coefficient: 0 V/K\n"
    "    resistance_temperature_coefficient: 0 1/K\n"
    "    maximum_temperature: 150 degC\n"
    "    transient_impedance: { table: [[1 ms, 0.5 K/W], [10 ms, 1.1 K/W], [100 ms, 1.6 K/W], [1 s, 2 K/W]] "
    "}\n"
    "%s";

void leaky_buck_must(leaky_buck *b, hl_status status)
{
    ck_assert_msg(status == HL_OK, "%s",
                  hl_diagnostics_count(b->said) ? hl_diagnostics_text(b->said, 0) : hl_status_text(status));
}

static void put(leaky_buck *b, const char *slot, const char *part)
{
    leaky_buck_must(
        b, hl_draft_fill(b->draft, NULL, "buck", slot, hl_catalogue_find(b->catalogue, part), 1, b->said));
}

static void cool(leaky_buck *b, const char *item, double conductance)
{
    const double p[4] = {conductance};
    leaky_buck_must(b, hl_draft_link(b->draft, NULL, item, "ambient", HL_LAW_FIXED, 0, p, b->said));
}

void leaky_buck_open(leaky_buck *b, double resistance, double capacity)
{
    leaky_buck_open_with(b, resistance, capacity, NULL);
}

void leaky_buck_open_with(leaky_buck *b, double resistance, double capacity, void (*more)(leaky_buck *b))
{
    char text[1600], heat[60] = "";
    memset(b, 0, sizeof *b);
    b->resistance = resistance;
    b->capacity = capacity;
    if (capacity > 0) snprintf(heat, sizeof heat, "    heat_capacity: %.9g J/K\n", capacity);
    snprintf(text, sizeof text, parts, heat);
    b->host = hl_host_create();
    b->said = hl_diagnostics_create();
    leaky_buck_must(b, hl_host_load_shipped(b->host, b->said));
    b->catalogue = hl_catalogue_create(b->host);
    leaky_buck_must(b, hl_catalogue_read_text(b->catalogue, "parts", text, strlen(text), b->said));
    b->draft = hl_draft_create(b->host, "bench");
    leaky_buck_must(b, hl_draft_source(b->draft, NULL, 48, 0, b->said));
    leaky_buck_must(b, hl_draft_stage(b->draft, NULL, "buck", "synchronous_buck", "source", b->said));
    leaky_buck_must(b, hl_draft_set(b->draft, NULL, "buck", "switching_frequency", "200 kHz", b->said));
    leaky_buck_must(b, hl_draft_set(b->draft, NULL, "buck", "light_load", "diode_emulation", b->said));
    put(b, "high_switch", "high");
    put(b, "low_switch", "diode");
    put(b, "inductor", "coil");
    leaky_buck_must(b, hl_draft_port(b->draft, NULL, "out", "buck", 12, 2, b->said));
    cool(b, "buck.high_switch", 1);
    cool(b, "buck.inductor", 1);
    cool(b, "buck.low_switch", 1 / resistance);
    if (more) more(b);
    b->design = hl_draft_finish(b->draft, b->said);
    ck_assert_msg(b->design != NULL, "%s", hl_diagnostics_text(b->said, 0));
    b->workspace = hl_workspace_create(b->design);
    ck_assert_uint_lt(hl_design_settings(b->design), 600);
    hl_design_defaults(b->design, b->settings);
}

void leaky_buck_close(leaky_buck *b)
{
    hl_workspace_destroy(b->workspace);
    hl_design_destroy(b->design);
    hl_draft_destroy(b->draft);
    hl_catalogue_destroy(b->catalogue);
    hl_host_destroy(b->host);
    hl_diagnostics_destroy(b->said);
}

size_t leaky_buck_setting(const leaky_buck *b, const char *name)
{
    size_t index = hl_design_find_setting(b->design, name, NULL);
    ck_assert_msg(index != SIZE_MAX, "no setting %s", name);
    return index;
}

size_t leaky_buck_diode(const leaky_buck *b)
{
    for (size_t i = 0; i < hl_design_items(b->design); i++)
        if (!strcmp(hl_design_item(b->design, i)->slot, "low_switch")) return i;
    ck_abort_msg("no diode");
    return 0;
}

hl_outcome leaky_buck_at(leaky_buck *b, double celsius)
{
    b->settings[leaky_buck_setting(b, "ambient.temperature")] = celsius + 273.15;
    leaky_buck_must(b, hl_solve(b->workspace, b->settings));
    return hl_result_outcome(b->workspace);
}
