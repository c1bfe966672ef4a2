/* output_switch.c - what stands in series between the converter and the port: one switch, or two back to
 * back, a sense resistor, and the connector and cable. Direct current only: each is its resistance. source:
 * Ohm's law; two switches source to source block both ways and conduct through both channels */
#include <math.h>
#include <stdio.h>

#include "dc_bounds.h"
#include "heatledger/plugin.h"
#include "refusal.h"
#include "slot_terminal.h"

enum { SWITCH, SENSE, CABLE, SLOTS };
enum { ARRANGEMENT, PARAMETERS };
enum { SINGLE, BACK_TO_BACK };
static const char *const arrangements[] = {"single", "back_to_back", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"arrangement", "1", HL_CHOICE, HL_DEFAULT, BACK_TO_BACK, 0, 0, NULL, arrangements, "one switch, or two back to back so that neither diode conducts when off", "board"},
};

static const hl_slot slots[SLOTS] = {
    {"switch", HL_FITS(HL_FAMILY_SWITCH), 0, 2, "in series with the port; twice when back to back", NULL},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "measures the port current", HL_KINDS("resistor", "trace", "wire")},
    {"cable", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "connector and cable, both conductors; the output is then the far end", HL_KINDS("wire", "resistor")},
};
/* clang-format on */

static bool doubled(const hl_value *values)
{
    const hl_value *v = &values[ARRANGEMENT];
    return !v->given || !(v->number < 0.5);
}

static unsigned positions(const hl_value *values, size_t slot)
{
    return slot == SWITCH && doubled(values) ? 2u : 1u;
}

static void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

typedef struct figure_store { /* one entry for each array of a stress */
    double weight, frequency, current, duty;
} figure_store;

/* Direct current through one of `count` parallel parts; nothing switches. The host has cleared the stress. */
static void carry(double current, unsigned count, figure_store *s, hl_stress *stress)
{
    *s = (figure_store){1.0, 0.0, current / count, 1.0};
    stress->struct_size = sizeof *stress;
    stress->n = 1;
    stress->weight = &s->weight;
    stress->frequency = &s->frequency;
    stress->current_average = stress->current_rms = stress->current_peak = &s->current;
    stress->duty = &s->duty;
    stress->total_rms = stress->total_average = stress->total_peak = s->current;
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    double input = in->input_voltage, current = in->load.current, drop[SLOTS], sum = 0.0;
    if (!voltage_sound(input))
        return refuse(out, "no input voltage is there (%.4g V); check what feeds it", input);
    if (!load_sound(in))
        return refuse(out, "the load of the output switch is no number, or negative (%.4g A)", current);
    figure_store *store = hl_scratch_take(in->scratch, SLOTS * sizeof *store);
    if (!store) return HL_STAGE_NO_MEMORY;
    for (size_t s = 0; s < SLOTS; s++) {
        hl_terminal t = slot_terminal(&in->slot[s], 0.0);
        drop[s] = positions(in->values, s) * (t.resistance * current + (current > 0.0 ? t.voltage : 0.0));
        if (!within(drop[s], 0.0, 1e9))
            return refuse(out, "a part of the output switch drops %.4g V; that must be zero or more",
                          drop[s]);
        sum += drop[s];
        if (slot_filled(&in->slot[s])) carry(current, in->slot[s].count, &store[s], &out->stress[s]);
    }
    if (!(sum < input))
        return refuse(
            out, "the parts in series drop %.4g V of the %.4g V there; lower the load or their resistance",
            sum, input);
    double output = input - sum;
    out->circuit_loss = sum * current;
    out->output = (hl_side){.voltage = output,
                            .current = current,
                            .power = output * current,
                            .current_peak = current,
                            .voltage_peak = output};
    out->input = (hl_side){.voltage = input,
                           .power = out->output.power + out->circuit_loss + in->extra_loss,
                           .current_peak = current,
                           .voltage_peak = input};
    out->input.current = out->input.power / input;
    say(out, "voltage_drop", "V", sum);
    say(out, "switch_voltage_drop", "V", drop[SWITCH]);
    say(out, "sense_voltage", "V", drop[SENSE]);
    say(out, "cable_voltage_drop", "V", drop[CABLE]);
    say(out, "port_voltage", "V", output + drop[CABLE]);
    say(out, "far_end_voltage", "V", output);
    say(out, "port_current", "A", current);
    return HL_STAGE_SOLVED;
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_DC,
    .output = HL_DC,
    .regulates = false,
    .scratch_size = SLOTS * sizeof(figure_store) + 64,
    .positions = positions,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "output_switch",
    .title = "output switch, sense resistor and cable",
    .source = "Ohm's law",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("output_switch", "0.1.0", "heatledger", "MIT", &model);
