/* mains_input_filter.c - what stands between the mains and the rectifier.
 *
 *   mains -- fuse -- thermistor --+--- common-mode choke(s) -- differential choke --+-- load
 *                                 x capacitor, discharge resistor, varistor          second x capacitor
 *
 * At line frequency the ladder is solved with phasors; the load takes constant power with the displacement
 * its line wave has. Harmonics of the load's wave flow through the series parts unchanged (the X capacitors
 * are far above them in impedance) and their loss is drawn at the fundamental, as a sinusoidal mains supplies
 * no power at them. source: C. A. Desoer, E. S. Kuh, Basic Circuit Theory, 1969, ch. 7;
 * docs/theory/mains_input_filter.md */
#include <complex.h>
#include <math.h>
#include <stdio.h>

#include "heatledger/plugin.h"
#include "line_wave.h"
#include "refusal.h"
#include "slot_terminal.h"

enum { FUSE, THERMISTOR, X1, DISCHARGE, VARISTOR, CHOKE, CHOKE2, DIFFERENTIAL, X2, SLOTS };
enum { RIPPLE_LINES = 8, RIPPLE_CYCLES = 40 };

/* clang-format off */
static const hl_slot slots[SLOTS] = {
    {"fuse", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "mains fuse", HL_KINDS("fuse")},
    {"thermistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "inrush thermistor, at its hot resistance", HL_KINDS("thermistor")},
    {"x_capacitor", HL_FITS(HL_FAMILY_CAPACITOR), 0, 1, "X capacitor at the mains side", HL_KINDS("x_capacitor")},
    {"discharge_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "resistor that empties the X capacitors", HL_KINDS("resistor")},
    {"varistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "surge varistor, by its leakage resistance", HL_KINDS("varistor")},
    {"common_mode_choke", HL_FITS(HL_FAMILY_MAGNETIC), 0, 1, "two windings, both in the line current", NULL},
    {"second_common_mode_choke", HL_FITS(HL_FAMILY_MAGNETIC), 0, 1, "another one in series", NULL},
    {"differential_choke", HL_FITS(HL_FAMILY_MAGNETIC), 0, 1, "one winding in the line", NULL},
    {"second_x_capacitor", HL_FITS(HL_FAMILY_CAPACITOR), 0, 1, "X capacitor at the rectifier side", HL_KINDS("x_capacitor")},
};
/* clang-format on */

typedef double complex phasor; /* rms; the load's voltage is the reference */

typedef struct ladder {
    hl_terminal part[SLOTS];
    double omega;
    double front, choke[3]; /* ohm: fuse + thermistor; each choke */
    phasor series;          /* ohm, all chokes */
    phasor shunt1, shunt2;  /* S */
    phasor cap1, cap2;      /* S, the X capacitors alone */
} ladder;

typedef struct flows {
    phasor load, choke, input, middle, load_voltage, mains; /* A and V rms */
    double harmonic;                                        /* A rms of all harmonics */
} flows;

static void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

static double square(phasor z)
{
    return creal(z) * creal(z) + cimag(z) * cimag(z);
}

/* ---------------------------------------------------------------- ladder -- */

/* Both windings of a common-mode choke carry the line current; a part that shows one winding has two alike.
 */
static double choke_resistance(const hl_terminal *part, bool common_mode)
{
    double sum = 0.0;
    for (int w = 0; w < HL_WINDINGS_MAX; w++) sum += part->winding_resistance[w];
    return common_mode && part->windings < 1.5 ? 2.0 * sum : sum;
}

/* Admittance of ESR in series with C. */
static phasor capacitor_admittance(const hl_terminal *part, double omega)
{
    if (!(part->capacitance > 0.0)) return 0.0;
    return 1.0 / (part->resistance - I / (omega * part->capacitance));
}

static double conductance(const hl_terminal *part)
{
    return part->resistance > 0.0 ? 1.0 / part->resistance : 0.0;
}

static bool sound(const hl_terminal *part)
{
    return part->resistance >= 0.0 && part->capacitance >= 0.0 && isfinite(part->resistance) &&
           isfinite(part->capacitance) && isfinite(part->inductance) && isfinite(part->leakage) &&
           choke_resistance(part, false) >= 0.0 && isfinite(choke_resistance(part, false));
}

static bool build_ladder(const hl_stage_input *in, ladder *l)
{
    double crest = sqrt(2.0) * in->input_voltage;
    l->omega = 2.0 * 3.14159265358979324 * in->input_frequency;
    for (int s = 0; s < SLOTS; s++) {
        bool across = s == X1 || s == X2 || s == VARISTOR || s == DISCHARGE;
        l->part[s] = slot_terminal(&in->slot[s], across ? crest : 0.0);
        if (!sound(&l->part[s])) return false;
    }
    l->front = l->part[FUSE].resistance + l->part[THERMISTOR].resistance;
    l->choke[0] = choke_resistance(&l->part[CHOKE], true);
    l->choke[1] = choke_resistance(&l->part[CHOKE2], true);
    l->choke[2] = choke_resistance(&l->part[DIFFERENTIAL], false);
    double inductance = l->part[CHOKE].leakage + l->part[CHOKE2].leakage + l->part[DIFFERENTIAL].inductance;
    l->series = l->choke[0] + l->choke[1] + l->choke[2] + I * (l->omega * inductance);
    l->cap1 = capacitor_admittance(&l->part[X1], l->omega);
    l->cap2 = capacitor_admittance(&l->part[X2], l->omega);
    l->shunt1 = l->cap1 + conductance(&l->part[DISCHARGE]) + conductance(&l->part[VARISTOR]);
    l->shunt2 = l->cap2;
    return true;
}

/* Mains = A V2 + B S* / V2 with V2 real: |A w + B S*|^2 = |mains|^2 w, w = V2^2; the higher root is the
 * stable one. False: the line cannot carry that power (voltage collapse). */
static bool solve_ladder(const ladder *l, double mains, phasor load_power, flows *f)
{
    phasor through = 1.0 + l->series * l->shunt2;
    phasor a = through + l->front * (l->shunt2 + l->shunt1 * through);
    phasor b = (l->series + l->front * (1.0 + l->shunt1 * l->series)) * load_power;
    double half = 0.5 * mains * mains - creal(a * conj(b)), root = half * half - square(a) * square(b);
    if (!(root >= 0.0) || !(half > 0.0)) return false;
    double w = (half + sqrt(root)) / square(a);
    f->load_voltage = sqrt(w);
    f->load = load_power / f->load_voltage;
    f->choke = f->load + l->shunt2 * f->load_voltage;
    f->middle = f->load_voltage + l->series * f->choke;
    f->input = f->choke + l->shunt1 * f->middle;
    f->mains = f->middle + l->front * f->input;
    return true;
}

/* ------------------------------------------------------------------ load -- */

typedef struct load_shape {
    double displacement; /* reactive over active part of the fundamental, leading positive */
    double distortion;   /* harmonic rms over active part of the fundamental */
    double cosine, sine; /* A, peak, of the fundamental; 0 without a wave */
} load_shape;

/* The load's line wave by its pieces; `known` is false for one that is not made of the mains' own sine. */
typedef struct load_wave {
    line_wave table;
    bool known;
} load_wave;

/* False: the scratch is full. */
static bool read_load(const hl_stage_input *in, const ladder *l, load_wave *w)
{
    w->known = line_wave_fits(&in->load.line, l->omega, &w->table);
    return !w->known || line_wave_read(in->scratch, &w->table);
}

/* Whether a wave lasts one period of the mains. */
static bool lasts_period(const line_wave *t)
{
    double turn = t->omega * t->time * (t->mirrored ? 2.0 : 1.0);
    return fabs(turn - 2.0 * 3.14159265358979324) < 1e-9;
}

/* rms, and the amplitudes of the fundamental. */
static double measure(const hl_side *load, const load_wave *w, double *cosine, double *sine)
{
    if (w->known && lasts_period(&w->table)) {
        line_sums sums = line_wave_sums(&w->table);
        *cosine = sums.cosine;
        *sine = sums.sine;
        return sqrt(sums.mean_square);
    }
    hl_wave_fourier(&load->line, 1, cosine, sine);
    return hl_wave_rms(&load->line);
}

/* Root of what a square is beyond a part of it; nothing where that is no more than rounding leaves. */
static double beyond(double square, double part)
{
    double rest = square - part;
    return rest > 1e-12 * square ? sqrt(rest) : 0.0;
}

/* From the load's line wave, whose time starts at the rising zero of the voltage: the sine part is active. */
static load_shape shape_of(const hl_side *load, const load_wave *w)
{
    load_shape shape = {0};
    double rms = load->line.n ? measure(load, w, &shape.cosine, &shape.sine) : 0.0;
    if (rms > 0.0) {
        double cosine = shape.cosine, sine = shape.sine;
        if (!(sine > 0.0)) return shape;
        shape.displacement = cosine / sine;
        shape.distortion = beyond(2.0 * rms * rms, cosine * cosine + sine * sine) / sine;
    } else if (load->current > 0.0 && load->voltage > 0.0 && load->power > 0.0) {
        double active = load->power / load->voltage;
        shape.distortion = beyond(load->current * load->current, active * active) / active;
    }
    return shape;
}

/* Harmonic loss rides on the fundamental: repeat until it stands still (contracts by the loss fraction). */
static bool settle(const hl_stage_input *in, const ladder *l, const load_shape *shape, flows *f)
{
    double series = l->front + creal(l->series), wanted = in->load.power + in->extra_loss,
           harmonic_loss = 0.0;
    for (int pass = 0; pass < 50; pass++) {
        double active = wanted + harmonic_loss;
        phasor power = active + I * (shape->displacement * in->load.power);
        if (!solve_ladder(l, in->input_voltage, power, f)) return false;
        f->harmonic = shape->distortion * in->load.power / creal(f->load_voltage);
        double next = f->harmonic * f->harmonic * series;
        bool still = fabs(next - harmonic_loss) <= 1e-14 * (active + next);
        harmonic_loss = next;
        if (still) return true;
    }
    return false;
}

/* ---------------------------------------------------------------- stress -- */

static double through(phasor fundamental, double harmonic)
{
    return sqrt(square(fundamental) + harmonic * harmonic);
}

/* A sine of the line frequency alone. */
static hl_wave fundamental_alone(const hl_stage_input *in, const ladder *l, phasor current)
{
    hl_segment *s = hl_scratch_take(in->scratch, sizeof *s);
    if (!s) return (hl_wave){0, NULL};
    *s = (hl_segment){.duration = 1.0 / in->input_frequency,
                      .omega = l->omega,
                      .cosine = sqrt(2.0) * cimag(current),
                      .sine = sqrt(2.0) * creal(current)};
    return (hl_wave){1, s};
}

/* Pieces of the load's wave with a sine of the line frequency added, which is a cos wt + b sin wt. */
FOUR_LANES static void add_sine(const line_wave *load, double scale, double a, double b, line_pieces *sum)
{
    for (size_t k = 0; k < load->room; k += LANES) {
        lanes c = lanes_load(load->cosine + k), s = lanes_load(load->sine + k);
        lanes_store(sum->offset + k, scale * lanes_load(load->piece.offset + k));
        lanes_store(sum->slope + k, scale * lanes_load(load->piece.slope + k));
        lanes_store(sum->cosine + k, scale * lanes_load(load->piece.cosine + k) + (a * c + b * s));
        lanes_store(sum->sine + k, scale * lanes_load(load->piece.sine + k) + (b * c - a * s));
    }
}

/* The load's wave with a sine of the line frequency added, or as it is where a piece has a frequency of its
 * own; and its peak. */
static hl_wave with_fundamental(const hl_stage_input *in, const ladder *l, const load_wave *load,
                                double scale, phasor extra, double *peak)
{
    const line_wave *own = &load->table;
    if (load->known) {
        line_pieces sum;
        hl_segment *s = hl_scratch_take(in->scratch, own->wave.n * sizeof *s);
        if (!s || !line_pieces_take(own->room, in->scratch, &sum)) return (hl_wave){0, NULL};
        add_sine(own, scale, sqrt(2.0) * cimag(extra), sqrt(2.0) * creal(extra), &sum);
        *peak = line_peak(own, &sum);
        line_write(own, &sum, s);
        return (hl_wave){own->wave.n, s};
    }
    double low;
    hl_wave wave = in->load.line.n ? in->load.line : fundamental_alone(in, l, extra);
    hl_wave_peaks(&wave, peak, &low);
    *peak = fmax(*peak, -low);
    return wave;
}

static void series_stress(double current, double peak, double count, hl_stress *stress)
{
    stress->total_rms = current / count;
    stress->total_peak = peak / count;
}

/* The wave of one of n parts that share it; NULL: no scratch left. */
static const hl_segment *share_of(const hl_wave *wave, double n, hl_scratch *scratch)
{
    if (n == 1.0) return wave->segment;
    hl_segment *s = hl_scratch_take(scratch, wave->n * sizeof *s);
    for (size_t k = 0; s && k < wave->n; k++) {
        s[k] = wave->segment[k];
        s[k].offset /= n;
        s[k].slope /= n;
        s[k].cosine /= n;
        s[k].sine /= n;
    }
    return s;
}

/* Magnetics see the line wave as one cycle at line frequency; common-mode flux of it is nil. */
static bool choke_stress(const hl_stage_input *in, double rms, double peak, const hl_wave *wave, int slot,
                         hl_stress *stress)
{
    double n = fmax(1.0, in->slot[slot].count);
    series_stress(rms, peak, n, stress);
    if (!slot_filled(&in->slot[slot])) return true;
    double *figures = hl_scratch_take(in->scratch, 2 * sizeof *figures);
    hl_wave *own = hl_scratch_take(in->scratch, sizeof *own);
    if (!figures || !own) return false;
    *own = (hl_wave){wave->n, share_of(wave, n, in->scratch)};
    if (!own->segment) return false;
    figures[0] = 1.0;
    figures[1] = in->input_frequency;
    stress->n = 1;
    stress->weight = figures;
    stress->frequency = figures + 1;
    stress->windings = slot == DIFFERENTIAL ? 1 : 2;
    for (size_t w = 0; w < stress->windings; w++) stress->winding_current[w] = own;
    return true;
}

/* An X capacitor's lines: the mains, and at the load side the switching ripple nobody else took. */
static bool capacitor_stress(const hl_stage_input *in, phasor current, bool ripple, double crest, int slot,
                             hl_stress *stress)
{
    double n = fmax(1.0, in->slot[slot].count), sum;
    const hl_side *load = &in->load;
    size_t cycles = ripple && load->wave && load->weight && load->frequency ? load->cycles : 0;
    if (cycles > RIPPLE_CYCLES) cycles = RIPPLE_CYCLES;
    double *lines = hl_scratch_take(in->scratch, 2 * (1 + cycles * RIPPLE_LINES) * sizeof *lines);
    if (!lines) return false;
    double *squares = lines + 1 + cycles * RIPPLE_LINES;
    lines[0] = in->input_frequency;
    sum = squares[0] = square(current) / (n * n);
    size_t at = 1;
    for (size_t k = 0; k < cycles; k++) {
        double cosine[RIPPLE_LINES], sine[RIPPLE_LINES];
        hl_wave_fourier(&load->wave[k], RIPPLE_LINES, cosine, sine);
        for (int h = 0; h < RIPPLE_LINES; h++, at++) {
            lines[at] = load->frequency[k] * (h + 1);
            squares[at] = 0.5 * load->weight[k] * (cosine[h] * cosine[h] + sine[h] * sine[h]) / (n * n);
            sum += squares[at];
        }
    }
    stress->lines = at;
    stress->line_frequency = lines;
    stress->line_rms_squared = squares;
    stress->total_rms = sqrt(sum);
    stress->total_peak = sqrt(2.0 * sum);
    stress->voltage_peak = crest;
    return true;
}

static bool fill_stress(const hl_stage_input *in, const ladder *l, const flows *f, const hl_wave *choke_wave,
                        double input_peak, double choke_peak, hl_stress stress[])
{
    double input = through(f->input, f->harmonic), choke = through(f->choke, f->harmonic);
    double crest = sqrt(2.0 * square(f->middle));
    for (int s = 0; s < SLOTS; s++) { /* the host has cleared them */
        stress[s].struct_size = sizeof *stress;
        stress[s].voltage_peak = crest;
    }
    series_stress(input, input_peak, fmax(1.0, in->slot[FUSE].count), &stress[FUSE]);
    series_stress(input, input_peak, fmax(1.0, in->slot[THERMISTOR].count), &stress[THERMISTOR]);
    for (int s = CHOKE; s <= DIFFERENTIAL; s++)
        if (!choke_stress(in, choke, choke_peak, choke_wave, s, &stress[s])) return false;
    for (int s = DISCHARGE; s <= VARISTOR; s++) {
        double current = sqrt(square(f->middle)) * conductance(&l->part[s]);
        series_stress(current, sqrt(2.0) * current, fmax(1.0, in->slot[s].count), &stress[s]);
    }
    bool second = slot_filled(&in->slot[X2]);
    return capacitor_stress(in, l->cap1 * f->middle, !second, crest, X1, &stress[X1]) &&
           capacitor_stress(in, l->cap2 * f->load_voltage, true, crest, X2, &stress[X2]);
}

/* ------------------------------------------------------------- quantities -- */

static double loss_of(const ladder *l, const flows *f)
{
    double input = square(f->input) + f->harmonic * f->harmonic,
           choke = square(f->choke) + f->harmonic * f->harmonic;
    return input * l->front + choke * creal(l->series) + square(f->middle) * creal(l->shunt1) +
           square(f->load_voltage) * creal(l->shunt2);
}

/* The plug's pins after pulling it at the crest: V e^(-t / R C). The varistor's leakage is not relied on.
 * source: IEC 62368-1, 5.5.2.2 (judged 2 s after unplugging; 60 V for 300 nF and more is from memory);
 * IEC 60950-1, 2.1.1.7 (time constant at most 1 s above 0.1 uF). */
static void say_discharge(const ladder *l, double mains, hl_stage_output *out)
{
    double capacitance = l->part[X1].capacitance + l->part[X2].capacitance, r = l->part[DISCHARGE].resistance;
    if (!(capacitance > 0.0)) return;
    double crest = sqrt(2.0) * mains, rate = r > 0.0 ? 1.0 / (r * capacitance) : 0.0;
    double after_1s = crest * exp(-rate), after_2s = crest * exp(-2.0 * rate);
    say(out, "discharge_capacitance", "F", capacitance);
    if (r > 0.0) say(out, "discharge_time_constant", "s", r * capacitance);
    say(out, "discharge_voltage_after_1s", "V", after_1s);
    say(out, "discharge_voltage_after_2s", "V", after_2s);
    if (capacitance < 0.3e-6) return;
    out->headroom_name = "plug after 2 s";
    out->headroom_unit = "V";
    out->headroom_value = after_2s;
    out->headroom_limit = 60.0;
}

static void report(const hl_stage_input *in, const ladder *l, const flows *f, hl_stage_output *out)
{
    double rms = through(f->input, f->harmonic), fundamental = sqrt(square(f->input));
    double apparent = in->input_voltage * rms, active = creal(f->mains * conj(f->input));
    say(out, "input_current_rms", "A", rms);
    say(out, "input_current_fundamental", "A", fundamental);
    say(out, "choke_current_rms", "A", through(f->choke, f->harmonic));
    say(out, "apparent_power", "VA", apparent);
    say(out, "power_factor", "1", apparent > 0.0 ? active / apparent : 1.0);
    say(out, "displacement_factor", "1",
        fundamental > 0.0 ? active / (in->input_voltage * fundamental) : 1.0);
    say(out, "harmonic_distortion", "1", fundamental > 0.0 ? f->harmonic / fundamental : 0.0);
    say(out, "reactive_power", "VA", cimag(f->mains * conj(f->input)));
    say(out, "x_capacitor_current_rms", "A", sqrt(square(l->cap1 * f->middle)));
    say(out, "second_x_capacitor_current_rms", "A", sqrt(square(l->cap2 * f->load_voltage)));
    say(out, "output_voltage_rms", "V", creal(f->load_voltage));
    double rated = l->part[FUSE].rated_current;
    if (rated > 0.0) say(out, "fuse_current_share", "1", rms / (rated * fmax(1.0, in->slot[FUSE].count)));
    say_discharge(l, in->input_voltage, out);
}

/* ----------------------------------------------------------------- solve -- */

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    ladder l;
    flows f;
    double mains = in->input_voltage, power = in->load.power;
    if (!(mains > 0.0) || !isfinite(mains))
        return refuse(out, "no mains feeds the input filter (%.4g V); raise mains.voltage", mains);
    if (!(in->input_frequency > 0.0) || !isfinite(in->input_frequency))
        return refuse(out, "the input filter needs mains of some frequency, not %.3g Hz",
                      in->input_frequency);
    if (!(power >= 0.0) || !isfinite(power + in->load.current + in->extra_loss))
        return refuse(out, "the load behind the filter is no number, or negative (%.4g W)", power);
    if (!build_ladder(in, &l))
        return refuse(out, "a part of the input filter shows a value that is no number, or negative; check "
                           "the parts in its slots");
    load_wave load;
    if (!read_load(in, &l, &load)) return HL_STAGE_NO_MEMORY;
    load_shape shape = shape_of(&in->load, &load);
    if (!settle(in, &l, &shape, &f))
        return refuse(out,
                      "%.4g W cannot pass the filter at %.4g V: its resistance takes too much; lower the "
                      "load or the resistances",
                      power, mains);
    double active = power / creal(f.load_voltage), cosine = shape.cosine, sine = shape.sine;
    double scale = sine > 0.0 ? sqrt(2.0) * active / sine : 1.0;
    phasor carried = sine > 0.0 ? scale * (sine + I * cosine) / sqrt(2.0) : 0.0;
    double choke_peak, input_peak;
    hl_wave choke = with_fundamental(in, &l, &load, scale, f.choke - carried, &choke_peak);
    hl_wave line = with_fundamental(in, &l, &load, scale, f.input - carried, &input_peak);
    if (!choke.n || !line.n) return HL_STAGE_NO_MEMORY;
    if (!fill_stress(in, &l, &f, &choke, input_peak, choke_peak, out->stress)) return HL_STAGE_NO_MEMORY;
    out->circuit_loss = loss_of(&l, &f);
    out->output.voltage = creal(f.load_voltage);
    out->output.voltage_peak = sqrt(2.0) * creal(f.load_voltage);
    out->output.power = power;
    out->output.current = in->load.current;
    out->output.line_frequency = out->input.line_frequency = in->input_frequency;
    out->input.voltage = mains;
    out->input.voltage_peak = sqrt(2.0) * mains;
    out->input.current = through(f.input, f.harmonic);
    out->input.current_peak = input_peak;
    out->input.power = creal(f.mains * conj(f.input));
    out->input.line = line;
    report(in, &l, &f, out);
    return HL_STAGE_SOLVED;
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_AC,
    .output = HL_AC,
    .scratch_size = 131072,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "mains_input_filter",
    .title = "fuse, thermistor, chokes and X capacitors",
    .source = "C. A. Desoer, E. S. Kuh, Basic Circuit Theory, 1969, ch. 7",
    .stage = &stage,
};

HL_PLUGIN_TABLE("mains_input_filter", "0.1.0", "heatledger", "MIT", &model);
