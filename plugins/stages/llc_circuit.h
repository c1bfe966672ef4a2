/* llc_circuit.h - slots, parameters, and the tank they make. */
#ifndef LLC_CIRCUIT_H
#define LLC_CIRCUIT_H

#include <stdio.h>

#include "heatledger/plugin.h"
#include "llc_tank.h"

enum { LLC_SWITCH, LLC_INDUCTOR, LLC_CAPACITOR, LLC_TRANSFORMER, LLC_RECTIFIER, LLC_SLOTS };

enum {
    LLC_SECONDARY,
    LLC_OUTPUT_VOLTAGE,
    LLC_DEAD_TIME,
    LLC_TRANSITION,
    LLC_OUTPUT_MODEL,
    LLC_MINIMUM_FREQUENCY,
    LLC_MAXIMUM_FREQUENCY,
    LLC_LIGHT_LOAD,
    LLC_BURST_CURRENT,
    LLC_PARAMETERS
};

enum { LLC_CENTRE_TAPPED, LLC_FULL_BRIDGE };

/* One point as asked. */
typedef struct llc_point {
    llc_tank tank;
    bool full_bridge, instant, burst_allowed;
    double output_voltage, load; /* V, A */
    double dead_time;            /* s */
    double minimum, maximum;     /* Hz, 0 = no limit */
    double burst_current;        /* A, 0 = none */
    double node_charge;          /* C, both switches at the bus voltage */
    double external_inductance;  /* H, of the resonant inductor alone */
    double switch_resistance;    /* ohm, of one position */
} llc_point;

static hl_terminal llc_terminal(const hl_stage_input *in, int slot, double voltage)
{
    hl_terminal terminal = {.struct_size = sizeof terminal};
    const hl_slot_view *view = &in->slot[slot];
    if (view->count && view->device && view->device->present)
        view->device->present(view->state, view->temperature, voltage, &terminal);
    return terminal;
}

static double llc_parallel(const hl_stage_input *in, int slot)
{
    return in->slot[slot].count ? (double)in->slot[slot].count : 1.0;
}

static void llc_read_primary(const hl_stage_input *in, const hl_terminal *transformer, llc_point *point)
{
    llc_tank *tank = &point->tank;
    hl_terminal chip = llc_terminal(in, LLC_SWITCH, tank->input);
    hl_terminal choke = llc_terminal(in, LLC_INDUCTOR, 0.0);
    hl_terminal capacitor = llc_terminal(in, LLC_CAPACITOR, 0.5 * tank->input);
    double chips = llc_parallel(in, LLC_SWITCH), chokes = llc_parallel(in, LLC_INDUCTOR);
    double capacitors = llc_parallel(in, LLC_CAPACITOR), cores = llc_parallel(in, LLC_TRANSFORMER);
    point->node_charge = 2.0 * chip.output_charge * chips;
    point->external_inductance = choke.inductance / chokes;
    point->switch_resistance = chip.resistance / chips;
    tank->series = point->external_inductance + transformer->leakage / cores;
    tank->magnetizing = transformer->inductance / cores;
    tank->capacitance = capacitor.capacitance * capacitors;
    tank->ratio = transformer->turns_ratio;
    tank->primary_resistance = point->switch_resistance + choke.winding_resistance[0] / chokes +
                               transformer->winding_resistance[0] / cores + capacitor.resistance / capacitors;
    tank->body_drop = chip.reverse_voltage;
}

static void llc_read_secondary(const hl_stage_input *in, const hl_terminal *transformer, llc_point *point)
{
    double blocked = (point->full_bridge ? 1.0 : 2.0) * point->output_voltage;
    hl_terminal rectifier = llc_terminal(in, LLC_RECTIFIER, blocked);
    double in_series = point->full_bridge ? 2.0 : 1.0;
    point->tank.secondary_resistance =
        transformer->winding_resistance[1] / llc_parallel(in, LLC_TRANSFORMER) +
        in_series * rectifier.resistance / llc_parallel(in, LLC_RECTIFIER);
    const hl_slot_view *view = &in->slot[LLC_RECTIFIER];
    bool diode = view->count && view->device && view->device->family == HL_FAMILY_DIODE;
    point->tank.drop = diode ? in_series * rectifier.voltage : 0.0;
}

static double llc_given(const hl_stage_input *in, int parameter)
{
    return in->values[parameter].given ? in->values[parameter].number : 0.0;
}

static void llc_read_settings(const hl_stage_input *in, llc_point *point)
{
    point->full_bridge = llc_given(in, LLC_SECONDARY) == LLC_FULL_BRIDGE;
    point->instant = llc_given(in, LLC_TRANSITION) == 1.0;
    point->burst_allowed = llc_given(in, LLC_LIGHT_LOAD) == 0.0;
    point->output_voltage =
        in->values[LLC_OUTPUT_VOLTAGE].given ? in->values[LLC_OUTPUT_VOLTAGE].number : in->output_voltage;
    point->dead_time = llc_given(in, LLC_DEAD_TIME);
    point->minimum = llc_given(in, LLC_MINIMUM_FREQUENCY);
    point->maximum = llc_given(in, LLC_MAXIMUM_FREQUENCY);
    point->burst_current = point->burst_allowed ? llc_given(in, LLC_BURST_CURRENT) : 0.0;
    point->load = in->load.current;
    point->tank.input = in->input_voltage;
}

/* The waveform's own dead time and node capacitance, and the output capacitor. */
static void llc_read_borders(const hl_stage_input *in, llc_point *point)
{
    llc_tank *tank = &point->tank;
    if (!point->instant && point->node_charge > 0) {
        tank->dead_time = point->dead_time;
        /* 1 fF at least: a smaller one rings faster than doubles can follow */
        tank->node_capacitance = fmax(point->node_charge / tank->input, 1e-15);
    }
    if (llc_given(in, LLC_OUTPUT_MODEL) == 1.0 && in->output_capacitance > 0) {
        tank->output_capacitance = in->output_capacitance;
        tank->output_esr = in->output_esr;
        tank->load_conductance = point->load / point->output_voltage;
    }
}

typedef struct llc_requirement {
    const char *what;
    double value, low, high;
    const char *unit;
} llc_requirement;

/* false: reason says which figure does not make a converter. */
static bool llc_sane(const hl_stage_input *in, const llc_point *point, hl_reason *reason)
{
    const llc_tank *tank = &point->tank;
    const llc_requirement need[] = {
        {"input voltage", tank->input, 1e-3, 1e6, "V"},
        {"output voltage", point->output_voltage, 1e-3, 1e6, "V"},
        {"load current", point->load, 0.0, 1e6, "A"},
        {"series inductance (resonant inductor and leakage)", tank->series, 1e-10, 10.0, "H"},
        {"magnetizing inductance", tank->magnetizing, 1e-9, 1e3, "H"},
        {"resonant capacitance", tank->capacitance, 1e-13, 1.0, "F"},
        {"turns ratio", tank->ratio, 1e-4, 1e5, ""},
        {"primary resistance", tank->primary_resistance, 0.0, 1e6, "ohm"},
        {"secondary resistance", tank->secondary_resistance, 0.0, 1e6, "ohm"},
        {"rectifier drop", tank->drop, 0.0, 1e3, "V"},
        {"body diode drop", tank->body_drop, 0.0, 100.0, "V"},
        {"output charge", point->node_charge, 0.0, 1.0, "C"},
        {"dead time", point->dead_time, 0.0, 1.0, "s"},
        {"output capacitance", tank->output_capacitance, 0.0, 1e3, "F"},
        {"output ESR", tank->output_esr, 0.0, 1e6, "ohm"},
        {"extra loss", in->extra_loss, -1e9, 1e9, "W"},
    };
    for (size_t i = 0; i < sizeof need / sizeof need[0]; i++) {
        if (need[i].value >= need[i].low && need[i].value <= need[i].high) continue;
        snprintf(reason->text, sizeof reason->text,
                 "the %s of %g %s is outside %g ... %g %s; no half-bridge LLC works with that", need[i].what,
                 need[i].value, need[i].unit, need[i].low, need[i].high, need[i].unit);
        return false;
    }
    double ratio = tank->magnetizing / tank->series;
    if (!(ratio >= 0.05 && ratio <= 1e5)) {
        snprintf(reason->text, sizeof reason->text,
                 "magnetizing over series inductance is %g; a resonant tank needs 0.05 ... 1e5", ratio);
        return false;
    }
    return true;
}

static void llc_read(const hl_stage_input *in, llc_point *point)
{
    memset(point, 0, sizeof *point);
    llc_read_settings(in, point);
    hl_terminal transformer = llc_terminal(in, LLC_TRANSFORMER, 0.0);
    llc_read_primary(in, &transformer, point);
    llc_read_secondary(in, &transformer, point);
    llc_read_borders(in, point);
}

#endif
