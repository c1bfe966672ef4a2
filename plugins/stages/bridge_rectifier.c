/* bridge_rectifier.c - four diodes, or four synchronous switches, between the mains and a stage that
 * shapes its own current. Two of the four carry the line current at any time.
 *
 *   P = 2 Vf <|i|> + 2 r <i^2>      one package; n packages in parallel have r / n
 * source: exact for a threshold-and-slope diode; the same split is used by N. Mohan, T. Undeland, W. Robbins,
 * Power Electronics, 3rd ed. 2003, ch. 5. Charging of the bus by peaks is another stage:
 * capacitor_input_rectifier. */
#include <math.h>
#include <stdio.h>

#include "heatledger/plugin.h"
#include "line_wave.h"
#include "refusal.h"
#include "slot_terminal.h"

enum { RECTIFIER, SYNCHRONOUS, SLOTS };
enum { RIPPLE_PATH, PARAMETERS };
enum { BYPASSED, THROUGH };

static const char *const paths[] = {"bypassed", "through", NULL};

/* Mean over rms of a rectified sine, 2 sqrt(2) / pi. */
static const double sine_mean = 0.90031631615710607;

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"ripple_path", "1", HL_CHOICE, HL_DEFAULT, BYPASSED, 0, 0, NULL, paths,
     "bypassed: a film capacitor behind the bridge takes the switching ripple; through: the bridge carries it", "board"},
};

static const hl_slot slots[SLOTS] = {
    {"rectifier", HL_FITS(HL_FAMILY_DIODE), 0, 1, "bridge package of four diodes; several in parallel share the current", NULL},
    {"synchronous_switch", HL_FITS(HL_FAMILY_SWITCH), 0, 4, "four switches that conduct in place of the diodes", NULL},
};
/* clang-format on */

/* The line current through the bridge, all packages together. */
typedef struct flow {
    double mean, rms, slow_rms, peak; /* A; mean of the magnitude */
} flow;

static void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

/* rms^2 of the switching ripple the load draws. */
static double ripple_square(const hl_side *load)
{
    double sum = 0.0;
    for (size_t k = 0; load->wave && load->weight && k < load->cycles; k++) {
        double rms = hl_wave_rms(&load->wave[k]), mean = hl_wave_average(&load->wave[k]);
        sum += load->weight[k] * fmax(rms * rms - mean * mean, 0.0);
    }
    return sum;
}

typedef struct line_figures {
    double rms, mean, peak; /* of its magnitude */
} line_figures;

/* False: the scratch is full. */
static bool measure(const hl_wave *line, double omega, hl_scratch *scratch, line_figures *figures)
{
    line_wave known;
    if (!line_wave_fits(line, omega, &known)) {
        double high, low;
        hl_wave_peaks(line, &high, &low);
        *figures = (line_figures){hl_wave_rms(line), fabs(hl_wave_average(line)), fmax(high, -low)};
        return true;
    }
    if (!line_wave_read(scratch, &known)) return false;
    line_sums sums = line_wave_sums(&known);
    *figures = (line_figures){sqrt(sums.mean_square), fabs(sums.average), line_peak(&known, &known.piece)};
    return true;
}

/* False: the scratch is full. */
static bool flow_of(const hl_stage_input *in, bool through, flow *f)
{
    const hl_side *load = &in->load;
    double omega = 2.0 * 3.14159265358979324 * in->input_frequency;
    line_figures line = {0};
    if (load->line.n && !measure(&load->line, omega, in->scratch, &line)) return false;
    *f = (flow){
        .slow_rms = load->current, .mean = sine_mean * load->current, .peak = sqrt(2.0) * load->current};
    if (line.rms > 0.0) {
        f->mean = load->current * line.mean / line.rms;
        f->peak = load->current * line.peak / line.rms;
    }
    f->rms = f->slow_rms;
    if (through) {
        f->rms = sqrt(f->slow_rms * f->slow_rms + ripple_square(load));
        f->peak = fmax(f->peak, load->current_peak);
    }
    return true;
}

/* The full line period from the rectified half: the half, then its mirror. */
static bool unfold(const hl_wave *half, double factor, hl_scratch *scratch, hl_wave *full)
{
    if (!half->n) return true;
    hl_segment *s = hl_scratch_take(scratch, 2 * half->n * sizeof *s);
    if (!s) return false;
    mirror_unfold(half->segment, half->n, factor, s);
    *full = (hl_wave){2 * half->n, s};
    return true;
}

/* One entry per array: the bridge works at line frequency. */
typedef struct figures {
    double one, frequency, average, rms, peak, blocked, half, zero;
} figures;

static void stress_of(const figures *f, hl_stress *stress)
{
    *stress = (hl_stress){.struct_size = sizeof *stress,
                          .n = 1,
                          .weight = &f->one,
                          .frequency = &f->frequency,
                          .current_average = &f->average,
                          .current_rms = &f->rms,
                          .current_peak = &f->peak,
                          .voltage_off = &f->blocked,
                          .current_on = &f->zero,
                          .current_off = &f->zero,
                          .voltage_on = &f->zero,
                          .duty = &f->half,
                          .voltage_peak = f->blocked,
                          .total_average = f->average,
                          .total_rms = f->rms,
                          .total_peak = f->peak};
}

static hl_stage_status fill_stress(const hl_stage_input *in, const flow *f, bool synchronous,
                                   hl_stage_output *out)
{
    figures *each = hl_scratch_take(in->scratch, SLOTS * sizeof *each);
    if (!each) return HL_STAGE_NO_MEMORY;
    double crest = sqrt(2.0) * in->input_voltage;
    for (int s = 0; s < SLOTS; s++)
        each[s] = (figures){.one = 1.0, .frequency = in->input_frequency, .blocked = crest, .half = 0.5};
    figures *used = &each[synchronous ? SYNCHRONOUS : RECTIFIER];
    double n = fmax(1.0, in->slot[synchronous ? SYNCHRONOUS : RECTIFIER].count);
    used->average = f->mean / n * (synchronous ? 0.5 : 1.0); /* a switch works every other half line */
    used->rms = f->rms / n * (synchronous ? sqrt(0.5) : 1.0);
    used->peak = f->peak / n;
    for (int s = 0; s < SLOTS; s++) stress_of(&each[s], &out->stress[s]);
    return HL_STAGE_SOLVED;
}

/* V rms behind the bridge, such that offered voltage x current = power passed on + loss; at no current, the
 * limit of that for a current shaped like the voltage. */
static double voltage_behind(double voltage, double power, double loss, double drop)
{
    return power > 0.0 ? voltage * power / (power + loss) : voltage - 2.0 * drop * sine_mean;
}

static void report(const hl_stage_input *in, const flow *f, double loss, hl_stage_output *out)
{
    say(out, "rectifier_current_average", "A", 0.5 * f->mean);
    say(out, "rectifier_current_rms", "A", sqrt(0.5) * f->slow_rms);
    say(out, "rectifier_current_rms_with_ripple", "A", sqrt(0.5) * f->rms);
    say(out, "rectifier_current_peak", "A", f->peak);
    say(out, "input_current_rms", "A", out->input.current);
    say(out, "reverse_voltage_peak", "V", sqrt(2.0) * in->input_voltage);
    say(out, "rectifier_loss", "W", loss);
    say(out, "output_voltage_rms", "V", out->output.voltage);
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    double voltage = in->input_voltage, power = in->load.power;
    if (!(voltage > 0.0) || !isfinite(voltage))
        return refuse(out, "no mains feeds the bridge (%.4g V); raise mains.voltage", voltage);
    if (!(in->input_frequency >= 0.0) || !isfinite(in->input_frequency))
        return refuse(out, "a mains frequency of %.4g Hz is none; set mains.frequency", in->input_frequency);
    if (!(power >= 0.0 && in->load.current >= 0.0) || !isfinite(power + in->load.current + in->extra_loss))
        return refuse(out, "the load behind the bridge is no number, or negative (%.4g W, %.4g A)", power,
                      in->load.current);
    bool synchronous = slot_filled(&in->slot[SYNCHRONOUS]);
    hl_terminal part = slot_terminal(&in->slot[synchronous ? SYNCHRONOUS : RECTIFIER], voltage);
    double drop = synchronous ? 0.0 : part.voltage;
    if (!(drop >= 0.0 && part.resistance >= 0.0) || !isfinite(drop + part.resistance))
        return refuse(out,
                      "a part of the bridge shows a drop of %.4g V and %.4g ohm; both must be zero or more",
                      drop, part.resistance);
    flow f;
    if (!flow_of(in, in->values[RIPPLE_PATH].given && (int)in->values[RIPPLE_PATH].number == THROUGH, &f))
        return HL_STAGE_NO_MEMORY;
    double loss = 2.0 * drop * f.mean + 2.0 * part.resistance * f.rms * f.rms;
    double behind = voltage_behind(voltage, power, loss, drop);
    if (!(behind > 0.0))
        return refuse(out, "the bridge's drop of %.3g V leaves nothing of %.4g V rms; raise the mains",
                      2.0 * drop, voltage);
    double passed = power + loss, factor = passed > 0.0 ? 1.0 + in->extra_loss / passed : 1.0;
    out->circuit_loss = loss;
    out->output = in->load;
    out->output.voltage = behind;
    out->output.voltage_peak = fmax(sqrt(2.0) * voltage - 2.0 * drop, 0.0);
    out->output.line_frequency = in->input_frequency;
    out->output.cycles = 0; /* the ripple is the load's; it is not pushed out by the bridge */
    out->output.wave = NULL;
    out->output.line.n = 0; /* nor does the line current flow in a capacitor behind it */
    out->input.voltage = voltage;
    out->input.voltage_peak = sqrt(2.0) * voltage;
    out->input.power = passed + in->extra_loss;
    out->input.current = passed > 0.0 ? factor * f.slow_rms : in->extra_loss / voltage;
    out->input.current_peak = factor * f.peak;
    out->input.line_frequency = in->input_frequency;
    if (!unfold(&in->load.line, factor, in->scratch, &out->input.line)) return HL_STAGE_NO_MEMORY;
    if (f.rms > f.slow_rms) {
        out->input.cycles = in->load.cycles;
        out->input.weight = in->load.weight;
        out->input.frequency = in->load.frequency;
        out->input.wave = in->load.wave;
    }
    report(in, &f, loss, out);
    return fill_stress(in, &f, synchronous, out);
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_AC,
    .output = HL_RECTIFIED,
    .scratch_size = 65536,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "bridge_rectifier",
    .title = "bridge rectifier before a power-factor stage",
    .source = "N. Mohan, T. Undeland, W. Robbins, Power Electronics, 3rd ed. 2003, ch. 5",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("bridge_rectifier", "0.1.0", "heatledger", "MIT", &model);
