/* linear_regulator.c - a transistor in series holds the output steady and burns the rest.
 *
 *   I = I_load + I_ground,  V = V_in - R I  behind an optional series resistor
 *   P = (V - V_out) I_load + V I_ground + R I^2
 * Source: Kirchhoff's laws.  Valid for direct current while V >= V_out + dropout. */
#include <heatledger/plugin.h>
#include <stdio.h>

enum { OUTPUT_VOLTAGE, DROPOUT, GROUND_CURRENT, PARAMETERS };
enum { SERIES_RESISTOR, SLOTS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {.name = "output_voltage", .dimension = "V", .kind = HL_NUMBER, .flags = HL_REQUIRED,
     .low = 0.5, .high = 60, .meaning = "voltage it holds", .source = "marking, or measured"},
    {.name = "dropout_voltage", .dimension = "V", .kind = HL_NUMBER, .flags = HL_DEFAULT, .fallback = 0.3,
     .low = 0, .high = 5, .meaning = "least drop it needs to regulate", .source = "data sheet"},
    {.name = "ground_current", .dimension = "A", .kind = HL_NUMBER, .flags = HL_DEFAULT, .fallback = 1e-3,
     .low = 0, .high = 0.1, .meaning = "what it takes for itself", .source = "data sheet"},
};

static const hl_slot slots[SLOTS] = {
    {.name = "series_resistor", .families = HL_FITS(HL_FAMILY_RESISTOR), .positions = 1,
     .meaning = "in front of the regulator, to share its heat"},
};
/* clang-format on */

static hl_stage_status refuse(hl_stage_output *out, const char *sentence, double a, double b)
{
    snprintf(out->reason.text, sizeof out->reason.text, sentence, a, b);
    return HL_STAGE_INFEASIBLE;
}

/* Ohms of all parts in the slot together, and the stress of one of them. */
static double series(const hl_slot_view *slot, double current, hl_stress *stress)
{
    hl_terminal seen = {.struct_size = sizeof seen};
    if (!slot->count || !slot->device) return 0;
    slot->device->present(slot->state, slot->temperature, 0, &seen);
    double share = current / slot->count; /* A */
    *stress = (hl_stress){.struct_size = sizeof *stress, .total_rms = share, .total_average = share,
                          .total_peak = share};
    return seen.resistance / slot->count;
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    double v_in = in->input_voltage, i_load = in->load.current;
    double v_out = in->values[OUTPUT_VOLTAGE].number, i_ground = in->values[GROUND_CURRENT].number;
    double i = i_load + i_ground; /* A */
    bool sound = v_in > 0 && v_in < 1e6 && i_load >= 0 && i_ground >= 0 && i < 1e6 && in->extra_loss < 1e9;
    if (!sound) /* false for what is no number, too */
        return refuse(out, "a regulator cannot work from %.4g V into %.4g A", v_in, i_load);
    double r = series(&in->slot[SERIES_RESISTOR], i, &out->stress[SERIES_RESISTOR]); /* ohm */
    double v = v_in - r * i;                                                         /* V, at the regulator */
    double wanted = v_out + in->values[DROPOUT].number;
    if (!(v <= v_in && v >= wanted && wanted > 0))
        return refuse(out, "%.4g V reach the regulator, it needs %.4g V; raise the input", v, wanted);
    out->own_loss = (v - v_out) * i_load + v * i_ground; /* W */
    out->own_name = "pass transistor";
    out->circuit_loss = out->own_loss + r * i * i;
    out->output = (hl_side){.voltage = v_out, .current = i_load, .power = v_out * i_load,
                            .current_peak = i_load, .voltage_peak = v_out};
    out->input = (hl_side){.voltage = v_in, .voltage_peak = v_in,
                           .power = out->output.power + out->circuit_loss + in->extra_loss};
    out->input.current = out->input.current_peak = out->input.power / v_in;
    out->quantity[out->quantities++] = (hl_quantity){"drop", "V", v - v_out};
    return HL_STAGE_SOLVED;
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage), .slots = slots, .n_slots = SLOTS, .slot_size = sizeof(hl_slot),
    .input = HL_DC, .output = HL_DC, .regulates = true, .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model), .name = "linear_regulator", .title = "linear post-regulator",
    .source = "Kirchhoff's laws", .parameters = parameters, .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter), .stage = &stage,
};

HL_PLUGIN_TABLE("linear_regulator", "1.0", "an example", "MIT", &model);
