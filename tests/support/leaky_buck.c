#include "leaky_buck.h"

#include <stdio.h>
#include <string.h>

#include "story.h"

static const char parts[] =
    "heatledger: parts/1\nparts:\n"
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

void leaky_buck_parts(double capacity, char text[LEAKY_TEXT])
{
    char heat[60] = "";
    if (capacity > 0) snprintf(heat, sizeof heat, "    heat_capacity: %.9g J/K\n", capacity);
    snprintf(text, LEAKY_TEXT, parts, heat);
}

void leaky_buck_open(drafted_adapter *b, double resistance, double capacity)
{
    leaky_buck_open_with(b, resistance, capacity, NULL);
}

void leaky_buck_open_with(drafted_adapter *b, double resistance, double capacity,
                          void (*more)(drafted_adapter *b))
{
    char text[LEAKY_TEXT];
    leaky_buck_parts(capacity, text);
    drafted_begin(b, text);
    drafted_source(b, 48, 0);
    drafted_stage(b, "buck", "synchronous_buck", "source");
    drafted_set(b, "buck", "switching_frequency", 200e3);
    drafted_choose(b, "buck", "light_load", "diode_emulation");
    drafted_fill(b, "buck", "high_switch", "high");
    drafted_fill(b, "buck", "low_switch", "diode");
    drafted_fill(b, "buck", "inductor", "coil");
    drafted_port(b, "out", "buck", 12, 2);
    drafted_cool(b, "buck.high_switch", 1);
    drafted_cool(b, "buck.inductor", 1);
    drafted_cool(b, "buck.low_switch", 1 / resistance);
    if (more) more(b);
    drafted_finish(b);
}

size_t leaky_buck_diode(const drafted_adapter *b)
{
    for (size_t i = 0; i < hl_design_items(b->design); i++)
        if (!strcmp(hl_design_item(b->design, i)->slot, "low_switch")) return i;
    ck_abort_msg("no diode");
    return 0;
}

hl_outcome leaky_buck_at(drafted_adapter *b, double celsius)
{
    b->settings[drafted_setting(b, "ambient.temperature")] = celsius + 273.15;
    drafted_must(b, hl_solve(b->workspace, b->settings));
    return hl_result_outcome(b->workspace);
}
