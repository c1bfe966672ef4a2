/* housekeeping.c - what runs the adapter itself: controllers, gate supplies, bleeders. No output.
 *
 * Power at the bus: (stated power + quiescent current x its supply voltage) / efficiency of that supply, plus
 * the bleeder's V^2 / R. A linear or dropper supply has efficiency supply / bus voltage: state `linear`.
 * source: Kirchhoff's laws and the definition of efficiency; nothing else is in it. */
#include <math.h>
#include <stdio.h>

#include "heatledger/plugin.h"
#include "refusal.h"
#include "slot_terminal.h"

enum { BLEEDER, SLOTS };
enum { POWER, QUIESCENT, SUPPLY_VOLTAGE, SUPPLY, EFFICIENCY, PARAMETERS };
enum { SWITCHED, LINEAR };

static const char *const supplies[] = {"switched", "linear", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"power", "W", HL_NUMBER, HL_DEFAULT, 0, 0, 20, NULL, NULL, "what the circuits take at their supply", "sum of the controllers' data sheets, or measured"},
    {"quiescent_current", "A", HL_NUMBER, HL_DEFAULT, 0, 0, 1, NULL, NULL, "current they take besides", "controllers' data sheets"},
    {"supply_voltage", "V", HL_NUMBER, 0, 0, 1, 500, NULL, NULL, "voltage that current flows at; the bus voltage when not stated", "measured"},
    {"supply", "1", HL_CHOICE, HL_DEFAULT, SWITCHED, 0, 0, NULL, supplies, "switched: with an efficiency; linear: the bus carries the same current", "board"},
    {"supply_efficiency", "1", HL_NUMBER, HL_DEFAULT, 1, 0.05, 1, NULL, NULL, "of a switched supply, from the bus to the supply voltage", "measured; 0.7 is common practice for a small auxiliary winding"},
};

static const hl_slot slots[SLOTS] = {
    {"bleeder", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "resistor across the bus, or a divider taken as one", HL_KINDS("resistor")},
};
/* clang-format on */

static double stated(const hl_value *value, double otherwise)
{
    return value->given && isfinite(value->number) ? value->number : otherwise;
}

static void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

/* W at the bus for the circuits alone. */
static double circuits_power(const hl_value *v, double bus)
{
    double current = stated(&v[QUIESCENT], 0.0), volts = stated(&v[SUPPLY_VOLTAGE], bus);
    double power = stated(&v[POWER], 0.0) + current * volts;
    if ((int)stated(&v[SUPPLY], SWITCHED) == LINEAR) return power * bus / volts;
    return power / stated(&v[EFFICIENCY], 1.0);
}

static double bleed(const hl_stage_input *in, hl_stress *stress)
{
    const hl_slot_view *slot = &in->slot[BLEEDER];
    double resistance = slot_terminal(slot, in->input_voltage).resistance;
    double current = slot_filled(slot) && resistance > 0.0 ? in->input_voltage / resistance : 0.0;
    double part = slot->count ? current / slot->count : 0.0;
    *stress = (hl_stress){.struct_size = sizeof *stress,
                          .total_rms = part,
                          .total_average = part,
                          .total_peak = part,
                          .voltage_dc = in->input_voltage,
                          .voltage_peak = in->input_voltage};
    return current * in->input_voltage;
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    const hl_value *v = in->values;
    double bus = in->input_voltage, volts = stated(&v[SUPPLY_VOLTAGE], bus);
    if (!(bus > 0.0) || !isfinite(bus))
        return refuse(out, "no bus voltage feeds the housekeeping (%.4g V); check what feeds it", bus);
    if (!(volts > 0.0)) return refuse(out, "a supply voltage of %.4g V is none; state supply_voltage", volts);
    if ((int)stated(&v[SUPPLY], SWITCHED) == LINEAR && volts > bus)
        return refuse(
            out, "a linear supply of %.4g V cannot run from a bus of %.4g V; lower it or make it switched",
            volts, bus);
    double circuits = circuits_power(v, bus), bleeder = bleed(in, &out->stress[BLEEDER]);
    if (!(circuits >= 0.0) || !isfinite(circuits) || !isfinite(bleeder) || !isfinite(in->extra_loss))
        return refuse(out, "housekeeping of %.4g W is no load; check power, current and efficiency",
                      circuits);
    out->own_loss = circuits;
    out->own_name = "controllers and supplies";
    out->circuit_loss = circuits + bleeder;
    out->input.voltage = bus;
    out->input.voltage_peak = bus;
    out->input.power = circuits + bleeder + in->extra_loss;
    out->input.current = out->input.current_peak = out->input.power / bus;
    say(out, "circuits_power", "W", circuits);
    say(out, "bleeder_power", "W", bleeder);
    say(out, "bus_current", "A", out->input.current);
    return HL_STAGE_SOLVED;
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_DC,
    .output = HL_DC,
    .terminal = true,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "housekeeping",
    .title = "controllers, gate supplies and bleeders",
    .source = "definition of efficiency; Ohm's law",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("housekeeping", "0.1.0", "heatledger", "MIT", &model);
