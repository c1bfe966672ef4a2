/* lc_output_filter.c - an inductor between two dc buses whose capacitors make it a low-pass.
 *
 * Direct current meets the winding resistance; ripple of the bus upstream drives an alternating current
 * through the inductor into the capacitors downstream. The upstream ripple is stated as a parameter, taken as
 * a sine at its frequency; the capacitors themselves sit on the buses. source: voltage divider at one
 * frequency, jwL + R over r + 1/(jwC); any text on filters */
#include <math.h>
#include <stdio.h>

#include "dc_bounds.h"
#include "heatledger/plugin.h"
#include "refusal.h"
#include "slot_terminal.h"

enum { INDUCTOR, SLOTS };
enum { RIPPLE_VOLTAGE, RIPPLE_FREQUENCY, INDUCTANCE, PARAMETERS };

static const double two_pi = 6.283185307179586;

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"ripple_voltage", "V", HL_NUMBER, 0, 0, 1e-4, 50, NULL, NULL, "peak-to-peak ripple of the bus upstream", "oscilloscope, or the ripple figure of the stage upstream"},
    {"ripple_frequency", "Hz", HL_NUMBER, 0, 0, 50, 20e6, NULL, NULL, "frequency of that ripple", "oscilloscope, or the switching frequency upstream"},
    {"inductance", "H", HL_NUMBER, 0, 0, 10e-9, 10e-3, NULL, NULL, "overrides the inductance of the inductor part", "measured"},
};

static const hl_slot slots[SLOTS] = {
    {"inductor", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "in series from bus to bus", NULL},
};
/* clang-format on */

typedef struct filter {
    double input, current, resistance, inductance;
    double capacitance, esr, upstream;         /* F, ohm, F */
    double frequency, drive;                   /* Hz, V amplitude */
    double ripple, attenuation, output_ripple; /* A amplitude, 1, V peak to peak */
} filter;

typedef struct answer {
    double weight, frequency, average, rms, peak;
    hl_segment current, part, flux;
    hl_wave current_wave, part_wave, flux_wave;
} answer;

static double stated(const hl_value *value)
{
    return value->given && isfinite(value->number) ? value->number : 0.0;
}

static void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

static hl_stage_status look(const hl_stage_input *in, filter *f, hl_stage_output *out)
{
    hl_terminal choke = slot_terminal(&in->slot[INDUCTOR], 0.0);
    f->input = in->input_voltage;
    f->current = in->load.current;
    f->resistance = choke.winding_resistance[0];
    f->inductance =
        stated(&in->values[INDUCTANCE]) > 0.0 ? stated(&in->values[INDUCTANCE]) : choke.inductance;
    double frequency = stated(&in->values[RIPPLE_FREQUENCY]), ripple = stated(&in->values[RIPPLE_VOLTAGE]);
    f->capacitance = capacitance_sound(in->output_capacitance);
    f->upstream = capacitance_sound(in->input_capacitance);
    f->esr = esr_sound(in->output_esr);
    f->frequency = frequency_sound(frequency) ? frequency : 0.0;
    f->drive = drop_sound(ripple) ? 0.5 * ripple : 0.0;
    if (!voltage_sound(f->input))
        return refuse(out, "no input voltage is there (%.4g V); check what feeds it", f->input);
    if (!load_sound(in))
        return refuse(out, "the load of the filter is no number, or negative (%.4g A)", f->current);
    if (!resistance_sound(f->resistance) || !within(f->inductance, 0.0, 1e3))
        return refuse(out, "the filter inductor shows %.3g ohm and %.3g H; both must be zero or more",
                      f->resistance, f->inductance);
    if (!(f->current * f->resistance < f->input))
        return refuse(
            out, "the winding drops %.4g V of the %.4g V there; lower the load or take a thicker winding",
            f->current * f->resistance, f->input);
    return HL_STAGE_SOLVED;
}

/* Z_c = r + 1/(jwC), Z = R + jwL + Z_c: current = drive / |Z|, attenuation = |Z_c / Z|. Without a capacitor
 * downstream the bus is stiff and no ripple is left on it. */
static void divide(filter *f)
{
    if (!(f->frequency > 0.0)) return;
    double w = two_pi * f->frequency;
    double reactance = f->capacitance > 0.0 ? -1.0 / (w * f->capacitance) : 0.0;
    double real = f->resistance + f->esr, imaginary = w * f->inductance + reactance;
    double all = hypot(real, imaginary), part = f->capacitance > 0.0 ? hypot(f->esr, reactance) : 0.0;
    if (!(all > 0.0)) return;
    f->attenuation = part / all;
    f->ripple = f->drive / all;
    f->output_ripple = 2.0 * f->drive * f->attenuation;
}

static void write_stress(const filter *f, double count, answer *a, hl_stage_output *out)
{
    double w = two_pi * f->frequency, n = 1.0 / count, ac = f->ripple;
    double period = f->frequency > 0.0 ? 1.0 / f->frequency : 1.0;
    a->current = (hl_segment){.duration = period, .offset = f->current, .omega = w, .cosine = ac};
    a->part = (hl_segment){.duration = period, .offset = n * f->current, .omega = w, .cosine = n * ac};
    a->flux = (hl_segment){.duration = period, .omega = w, .sine = -w * f->inductance * ac};
    a->current_wave = (hl_wave){1, &a->current};
    a->part_wave = (hl_wave){1, &a->part};
    a->flux_wave = (hl_wave){1, &a->flux};
    a->weight = 1.0;
    a->frequency = f->frequency;
    a->average = n * f->current;
    a->rms = n * sqrt(f->current * f->current + 0.5 * ac * ac);
    a->peak = n * (f->current + ac);
    out->stress[INDUCTOR] = (hl_stress){.struct_size = sizeof(hl_stress),
                                        .n = 1,
                                        .weight = &a->weight,
                                        .frequency = &a->frequency,
                                        .current_average = &a->average,
                                        .current_rms = &a->rms,
                                        .current_peak = &a->peak,
                                        .flux_voltage = &a->flux_wave,
                                        .windings = 1,
                                        .flux_bias = f->inductance * f->current,
                                        .voltage_peak = f->drive,
                                        .total_rms = a->rms,
                                        .total_average = a->average,
                                        .total_peak = a->peak};
    out->stress[INDUCTOR].winding_current[0] = &a->part_wave;
}

static void write_sides(const hl_stage_input *in, const filter *f, const answer *a, hl_stage_output *out)
{
    double output = f->input - f->current * f->resistance;
    hl_side *sides[2] = {&out->input, &out->output};
    out->circuit_loss = f->resistance * (f->current * f->current + 0.5 * f->ripple * f->ripple);
    out->output.voltage = output;
    out->output.current = f->current;
    out->output.power = output * f->current;
    out->output.voltage_peak = output + 0.5 * f->output_ripple;
    out->input.voltage = f->input;
    out->input.power = out->output.power + out->circuit_loss + in->extra_loss;
    out->input.current = out->input.power / f->input;
    out->input.voltage_peak = f->input + f->drive;
    for (int k = 0; k < 2; k++) {
        sides[k]->current_peak = f->current + f->ripple;
        if (!(f->ripple > 0.0)) continue;
        sides[k]->cycles = 1;
        sides[k]->weight = &a->weight;
        sides[k]->frequency = &a->frequency;
        sides[k]->wave = &a->current_wave;
    }
}

/* Resonance of the inductor with both buses' capacitors in series (the upstream one stiff when unknown); 0:
 * there is none. */
static double resonance(const filter *f)
{
    double c = f->capacitance;
    if (c > 0.0 && f->upstream > 0.0) c = c * f->upstream / (c + f->upstream);
    return c * f->inductance > 1e-30 ? 1.0 / (two_pi * sqrt(f->inductance * c)) : 0.0;
}

/* Nothing is said of what was not stated: no ripple is not the same as none known. */
static void say_ripple(const filter *f, hl_stage_output *out)
{
    if (!(f->frequency > 0.0 && f->drive > 0.0) && HL_REACHES(out, note))
        snprintf(
            out->note.text, sizeof out->note.text,
            "no ripple is counted in the filter and in the capacitors behind it, since ripple_voltage and "
            "ripple_frequency are not both stated; state what the stage upstream leaves");
    if (!(f->frequency > 0.0)) return;
    say(out, "ripple_attenuation", "1", f->attenuation);
    if (!(f->drive > 0.0)) return;
    say(out, "inductor_current_ripple", "A", 2.0 * f->ripple);
    say(out, "output_voltage_ripple", "V", f->output_ripple);
    say(out, "output_capacitor_current_rms", "A", f->ripple / sqrt(2.0));
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    filter f = {0};
    hl_stage_status status = look(in, &f, out);
    if (status != HL_STAGE_SOLVED) return status;
    answer *a = hl_scratch_take(in->scratch, sizeof *a);
    if (!a) return HL_STAGE_NO_MEMORY;
    divide(&f);
    write_stress(&f, slot_filled(&in->slot[INDUCTOR]) ? in->slot[INDUCTOR].count : 1.0, a, out);
    write_sides(in, &f, a, out);
    say(out, "inductor_current_rms", "A", sqrt(f.current * f.current + 0.5 * f.ripple * f.ripple));
    say(out, "voltage_drop", "V", f.current * f.resistance);
    say(out, "resonant_frequency", "Hz", resonance(&f));
    say_ripple(&f, out);
    say(out, "inductor_winding_loss", "W", out->circuit_loss);
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
    .scratch_size = sizeof(answer) + 64,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "lc_output_filter",
    .title = "output filter of inductor and bus capacitors",
    .source = "voltage divider at one frequency",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("lc_output_filter", "0.1.0", "heatledger", "MIT", &model);
