/* capacitor_input_rectifier.c - bridge straight onto a bulk capacitor: short current pulses at the crest.
 *
 * The pulse is solved in charging_pulse.h, behind an inductance in inductive_pulse.h; here it becomes
 * currents, harmonics and the stress of the parts. The bulk capacitor sits on the output bus. */
#include <stdio.h>

#include "charging_currents.h"
#include "charging_pulse.h"
#include "heatledger/plugin.h"
#include "inductive_figures.h"
#include "refusal.h"
#include "slot_terminal.h"

enum { RECTIFIER, THERMISTOR, SLOTS };
enum { LOAD, SOURCE_RESISTANCE, MINIMUM_BUS, SOURCE_INDUCTANCE, PARAMETERS };
enum { CONSTANT_POWER, CONSTANT_CURRENT };
enum { PIECES_MAX = 26 };

static const double pi = 3.14159265358979324;
static const char *const loads[] = {"constant_power", "constant_current", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"load", "1", HL_CHOICE, HL_DEFAULT, CONSTANT_POWER, 0, 0, NULL, loads, "what the next stage draws as the bus ripples", "regulated converters draw constant power"},
    {"source_resistance", "ohm", HL_NUMBER, HL_DEFAULT, 0.4, 0, 50, NULL, NULL, "of mains, cable and filter in series: shapes the pulse; its loss is booked elsewhere", "measured; 0.4 ohm is that of the reference impedance of IEC TR 60725"},
    {"minimum_bus_voltage", "V", HL_NUMBER, 0, 0, 10, 1000, NULL, NULL, "lowest bus voltage the next stage works at", "next stage"},
    {"source_inductance", "H", HL_NUMBER, 0, 0, 0, 0.5, NULL, NULL, "of mains, cable and the filter's chokes, by their leakage, in series: shapes the pulse", "measured; the reference impedance of IEC TR 60725, 0.4 + j 0.25 ohm at 50 Hz, has 0.8 mH"},
};

static const hl_slot slots[SLOTS] = {
    {"rectifier", HL_FITS(HL_FAMILY_DIODE), 0, 1, "bridge package of four diodes; several in parallel share the current", NULL},
    {"thermistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "inrush thermistor, at its hot resistance", HL_KINDS("thermistor")},
};

static const char *const harmonic_names[HARMONICS] = {
    "input_current_harmonic_1", "input_current_harmonic_3", "input_current_harmonic_5", "input_current_harmonic_7",
    "input_current_harmonic_9", "input_current_harmonic_11", "input_current_harmonic_13", "input_current_harmonic_15",
    "input_current_harmonic_17", "input_current_harmonic_19", "input_current_harmonic_21", "input_current_harmonic_23",
    "input_current_harmonic_25", "input_current_harmonic_27", "input_current_harmonic_29", "input_current_harmonic_31",
    "input_current_harmonic_33", "input_current_harmonic_35", "input_current_harmonic_37", "input_current_harmonic_39",
};
/* clang-format on */

static double stated(const hl_value *value)
{
    return value->given && isfinite(value->number) ? value->number : 0.0;
}

static void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

/* ---------------------------------------------------------------- totals -- */

/* Where to look for the slope's zero next: Newton, and half way where that leaves the bracket or creeps. */
static double top_nearer(double low, double high, double s, double newton, double last)
{
    return newton > low && newton < high && fabs(newton - s) < 0.6 * last ? newton : 0.5 * (low + high);
}

/* Largest value of a form over the pulse: its slope changes sign once inside. The top is flat, so a part in
 * 1e9 of the time is plenty. */
static double top_of(const pulse_form *f, double length)
{
    double low = 0.0, high = length, s = 0.5 * length, last = length;
    for (int pass = 0; pass < 60; pass++) {
        pulse_instant now = pulse_instant_at(f, s);
        double rise = pulse_rise(f, &now), newton = s - rise / pulse_bend(f, &now);
        if (rise > 0.0)
            low = s;
        else
            high = s;
        double next = top_nearer(low, high, s, newton, last);
        last = fabs(next - s);
        s = next;
        if (!(last > 1e-9 * length)) break;
    }
    return pulse_at(f, s);
}

/* Odd harmonics of the line current: its two half periods mirror each other, so
 *   c_n = (2 / T_half) integral of i e^(-j n w t) over one pulse, rms |c_n| / sqrt(2). */
static void harmonics_of(const charging_pulse *p, currents *c)
{
    double x = p->omega * p->start, y = p->omega * p->length;
    double complex begin = cos(x) + I * sin(x), end = p->finish.c + I * p->finish.s;
    double complex two = cos(2.0 * x) + I * sin(2.0 * x), on = cos(2.0 * y) + I * sin(2.0 * y), step = end;
    for (int k = 0; k < HARMONICS; k++) {
        double complex z =
            turned(pulse_fourier(&p->line, 2 * k + 1, p->length, p->finish.fade, end, step), begin);
        put_harmonic(c, k, p->half, z);
        begin = turned(begin, two);
        end = turned(end, on);
    }
}

/* Capacitor current: i - i_load while conducting, -i_load idle; mean square. Idle at constant power:
 * integral of P^2 / v^2 = C P / 2 ln(v2^2 / v1^2), with v1^2 = v2^2 - 2 P t / C. */
static double capacitor_square(const charging_pulse *p)
{
    pulse_form swing = p->voltage; /* C dv/dt as a form */
    double w = p->omega, c = p->capacitance;
    swing.constant = 0.0;
    swing.exponential = -c * p->voltage.rate * p->voltage.exponential;
    swing.cosine = c * w * p->voltage.sine;
    swing.sine = -c * w * p->voltage.cosine;
    double idle = p->half - p->length, sum = pulse_product(&swing, &swing, &p->moments);
    if (p->power > 0.0)
        sum += -0.5 * c * p->power * log1p(-2.0 * p->power * idle / (c * p->end * p->end));
    else
        sum += p->current * p->current * idle;
    return sum / p->half;
}

static void totals(const charging_pulse *p, double outside, currents *c)
{
    c->mean = pulse_integral(&p->line, &p->moments) / p->half;
    c->rms = sqrt(fmax(pulse_product(&p->line, &p->line, &p->moments) / p->half, 0.0));
    c->peak = top_of(&p->line, p->length);
    c->top = top_of(&p->voltage, p->length);
    c->mean_voltage = pulse_mean_voltage(p);
    c->loss = (p->resistance - outside) * c->rms * c->rms + p->drop * c->mean;
    c->capacitor_rms = sqrt(fmax(capacitor_square(p), 0.0));
    harmonics_of(p, c);
    c->input_power = p->crest / sqrt(2.0) * c->active - outside * c->rms * c->rms;
    c->conduction = p->length;
}

/* Largest harmonic against its limit, 1 = at the limit. Class A in A; class D in mA per W and never above
 * class A. source: IEC 61000-3-2 as quoted: A 3: 2.30, 5: 1.14, 7: 0.77, 9: 0.40, 11: 0.33, 13: 0.21, 15..39:
 * 0.15 x 15/n A; D 3: 3.4, 5: 1.9, 7: 1.0, 9: 0.5, 11: 0.35, 13..39: 3.85/n mA/W, for 75 W < P <= 600 W. */
static void worst_share(const double harmonic[], double power, double *class_a, double *class_d)
{
    static const double a[] = {0, 2.30, 1.14, 0.77, 0.40, 0.33, 0.21}, d[] = {0, 3.4, 1.9, 1.0, 0.5, 0.35};
    *class_a = *class_d = 0.0;
    for (int k = 1; k < HARMONICS; k++) {
        int n = 2 * k + 1;
        double most_a = k < 7 ? a[k] : 0.15 * 15.0 / n;
        double most_d = 1e-3 * power * (k < 6 ? d[k] : 3.85 / n);
        if (most_d > most_a) most_d = most_a;
        *class_a = fmax(*class_a, harmonic[k] / most_a);
        if (most_d > 0.0) *class_d = fmax(*class_d, harmonic[k] / most_d);
    }
}

/* ----------------------------------------------------------------- waves -- */

/* The pulse as segments: the sine exactly, the exponential by straight pieces of the same mean, half a time
 * constant wide while it lives (six time constants: 12 pieces, told from 13 in the middle between, lest
 * rounding should choose), and no more than 13 after that. */
static size_t write_pulse(const charging_pulse *p, hl_segment s[])
{
    const pulse_form *f = &p->line;
    double t = 0.0, fine = 0.5 / f->rate, coarse = p->length / 12.0, last = f->exponential;
    size_t n = 0;
    while (t < p->length * (1.0 - 1e-12) && n < PIECES_MAX) {
        double length = fine < coarse && f->rate * t < 5.75 ? fine : coarse;
        if (length > p->length - t) length = p->length - t;
        double first = last;
        last = f->exponential * exp(-f->rate * (t + length));
        double mean = (first - last) / (f->rate * length), rise = last - first;
        double co = cos(f->omega * t), si = sin(f->omega * t);
        s[n++] = (hl_segment){.duration = length,
                              .offset = f->constant + mean - 0.5 * rise,
                              .slope = rise / length,
                              .omega = f->omega,
                              .cosine = f->cosine * co + f->sine * si,
                              .sine = f->sine * co - f->cosine * si};
        t += length;
    }
    return n;
}

static bool write_waves(const charging_pulse *p, hl_scratch *scratch, hl_wave *line, hl_wave *bus)
{
    hl_segment *s = hl_scratch_take(scratch, 2 * (PIECES_MAX + 2) * sizeof *s);
    if (!s) return false;
    s[0] = (hl_segment){.duration = p->start};
    size_t n = 1 + write_pulse(p, s + 1);
    s[n] = (hl_segment){.duration = fmax(0.0, p->half - p->start - p->length)};
    n++;
    for (size_t k = 0; k < n; k++) {
        s[n + k] = s[k];
        s[n + k].offset = -s[k].offset;
        s[n + k].slope = -s[k].slope;
        s[n + k].cosine = -s[k].cosine;
        s[n + k].sine = -s[k].sine;
    }
    *bus = (hl_wave){n, s};
    *line = (hl_wave){2 * n, s};
    return true;
}

static bool fill_stress(const hl_stage_input *in, const currents *c, double crest, hl_stress stress[])
{
    double *f = hl_scratch_take(in->scratch, 8 * sizeof *f);
    if (!f) return false;
    double n = fmax(1.0, in->slot[RECTIFIER].count), m = fmax(1.0, in->slot[THERMISTOR].count);
    double figures[8] = {1.0, in->input_frequency, c->mean / n, c->rms / n, c->peak / n, crest, 0.0, 0.5};
    for (int k = 0; k < 8; k++) f[k] = figures[k];
    stress[RECTIFIER] = (hl_stress){.struct_size = sizeof *stress,
                                    .n = 1,
                                    .weight = f,
                                    .frequency = f + 1,
                                    .current_average = f + 2,
                                    .current_rms = f + 3,
                                    .current_peak = f + 4,
                                    .voltage_off = f + 5,
                                    .current_off = f + 6,
                                    .current_on = f + 6,
                                    .duty = f + 7,
                                    .voltage_dc = 0.5 * c->mean_voltage, /* two in series across the bus */
                                    .voltage_peak = crest,
                                    .total_average = f[2],
                                    .total_rms = f[3],
                                    .total_peak = f[4]};
    stress[THERMISTOR] =
        (hl_stress){.struct_size = sizeof *stress, .total_rms = c->rms / m, .total_peak = c->peak / m};
    return true;
}

/* ----------------------------------------------------------------- solve -- */

static void report(const charging_pulse *p, const currents *c, double power, hl_stage_output *out)
{
    double share_a, share_d, fundamental = c->harmonic[0];
    double apparent = p->crest / sqrt(2.0) * c->rms;
    say(out, "output_voltage_mean", "V", c->mean_voltage);
    say(out, "output_voltage_valley", "V", p->valley);
    say(out, "output_voltage_peak", "V", c->top);
    say(out, "output_voltage_ripple", "V", c->top - p->valley);
    say(out, "conduction_start_angle", "rad", p->omega * p->start);
    say(out, "conduction_angle", "rad", p->omega * c->conduction);
    say(out, "conduction_time", "s", c->conduction);
    say(out, "input_current_rms", "A", c->rms);
    say(out, "input_current_peak", "A", c->peak);
    say(out, "power_factor", "1", apparent > 0.0 ? c->input_power / apparent : 1.0);
    say(out, "displacement_factor", "1", c->displacement);
    say(out, "harmonic_distortion", "1",
        fundamental > 0.0 ? sqrt(fmax(c->rms * c->rms / (fundamental * fundamental) - 1.0, 0.0)) : 0.0);
    say(out, "rectifier_current_average", "A", 0.5 * c->mean);
    say(out, "rectifier_current_rms", "A", sqrt(0.5) * c->rms);
    say(out, "rectifier_current_peak", "A", c->peak);
    say(out, "output_capacitor_current_rms", "A", c->capacitor_rms);
    for (int k = 0; k < HARMONICS; k++) say(out, harmonic_names[k], "A", c->harmonic[k]);
    worst_share(c->harmonic, c->input_power, &share_a, &share_d);
    say(out, "harmonic_share_of_class_a_limit", "1", share_a);
    say(out, "harmonic_share_of_class_d_limit", "1", power > 0.0 ? share_d : 0.0);
}

/* No load: the capacitor stays at the crest and nothing flows. */
static void rest(const charging_pulse *p, const hl_stage_input *in, hl_stage_output *out)
{
    for (int s = 0; s < SLOTS; s++)
        out->stress[s] = (hl_stress){.struct_size = sizeof(hl_stress), .voltage_peak = p->crest};
    out->input.voltage = in->input_voltage;
    out->input.voltage_peak = p->crest;
    out->input.line_frequency = out->output.line_frequency = in->input_frequency;
    out->output.voltage = out->output.voltage_peak = p->crest - p->drop;
    say(out, "output_voltage_mean", "V", out->output.voltage);
    say(out, "output_voltage_valley", "V", out->output.voltage);
    say(out, "output_voltage_ripple", "V", 0.0);
    say(out, "input_current_rms", "A", 0.0);
}

static hl_stage_status set_pulse(const hl_stage_input *in, charging_pulse *p, double *listed,
                                 hl_stage_output *out)
{
    double voltage = in->input_voltage, extra = in->extra_loss;
    hl_terminal bridge = slot_terminal(&in->slot[RECTIFIER], voltage),
                ntc = slot_terminal(&in->slot[THERMISTOR], 0.0);
    if (!(voltage > 0.0) || !isfinite(voltage))
        return refuse(out, "no mains feeds the rectifier (%.4g V); raise mains.voltage", voltage);
    if (!(in->input_frequency > 0.0) || !isfinite(in->input_frequency))
        return refuse(out, "the rectifier needs mains of some frequency, not %.3g Hz; set mains.frequency",
                      in->input_frequency);
    if (!(in->output_capacitance > 0.0) || !isfinite(in->output_capacitance))
        return refuse(
            out,
            "a capacitor-input rectifier needs a capacitor on its bus (%.3g F); name one under capacitors",
            in->output_capacitance);
    *listed = stated(&in->values[SOURCE_RESISTANCE]) + 2.0 * bridge.resistance + ntc.resistance;
    if (!(*listed >= 0.0 && bridge.voltage >= 0.0) || !isfinite(*listed + bridge.voltage))
        return refuse(
            out, "a part of the rectifier shows %.4g ohm and a drop of %.4g V; both must be zero or more",
            *listed, bridge.voltage);
    p->crest = sqrt(2.0) * voltage;
    p->drop = 2.0 * bridge.voltage;
    p->omega = 2.0 * pi * in->input_frequency;
    p->half = 0.5 / in->input_frequency;
    p->resistance = fmax(*listed, 1e-6); /* a stiff source needs some path to be solved; 1 uohm is none */
    p->capacitance = in->output_capacitance;
    if (!(p->drop < 0.5 * p->crest))
        return refuse(out, "a drop of %.3g V leaves too little of a crest of %.3g V; raise the mains",
                      p->drop, p->crest);
    if (!(in->load.power >= 0.0 && in->load.current >= 0.0) ||
        !isfinite(in->load.power + in->load.current + extra))
        return refuse(out, "the load behind the rectifier is no number, or negative (%.4g W, %.4g A)",
                      in->load.power, in->load.current);
    return HL_STAGE_SOLVED;
}

/* V, the lowest the bus may fall to. */
static double least_bus(const hl_stage_input *in, const charging_pulse *p)
{
    return fmax(stated(&in->values[MINIMUM_BUS]), 0.05 * p->crest);
}

/* The load and the lowest start, rad. */
static hl_stage_status set_load(const hl_stage_input *in, charging_pulse *p, double *lowest,
                                hl_stage_output *out)
{
    double least = least_bus(in, p);
    bool current = (int)stated(&in->values[LOAD]) == CONSTANT_CURRENT;
    double sine = (least + p->drop) / p->crest;
    if (!(sine < 0.999))
        return refuse(
            out,
            "a crest of %.4g V cannot hold a bus of %.4g V; raise the mains or lower minimum_bus_voltage",
            p->crest, least);
    *lowest = asin(sine);
    p->power = current ? 0.0 : in->load.power + in->extra_loss;
    p->current = current ? in->load.current + in->extra_loss / (p->crest - p->drop) : 0.0;
    return HL_STAGE_SOLVED;
}

static hl_stage_status find_pulse(const hl_stage_input *in, charging_pulse *p, double lowest,
                                  hl_stage_output *out)
{
    pulse_kept *last = in->memory;
    if (pulse_solve(p, lowest, last)) {
        if (last) *last = (pulse_kept){p->start, p->length, p->middle, p->shift, false};
        return HL_STAGE_SOLVED;
    }
    return refuse(out,
                  "the bus sags below %.4g V between two crests of %.4g V: %.3g uF cannot carry %.4g W; add "
                  "capacitance, or lower the load or the resistance of %.3g ohm",
                  least_bus(in, p), p->crest, 1e6 * p->capacitance, in->load.power, p->resistance);
}

/* ------------------------------------------------------ behind inductance -- */

static hl_stage_status find_inductive(const hl_stage_input *in, inductive_pulse *q, double lowest,
                                      hl_stage_output *out)
{
    const charging_pulse *p = &q->whole;
    pulse_kept *last = in->memory;
    if (!inductive_solve(q, lowest, last))
        return refuse(out,
                      "the bus sags below %.4g V between two crests of %.4g V: %.3g uF cannot carry %.4g W; "
                      "add capacitance, or lower the load, the resistance of %.3g ohm or the inductance of "
                      "%.3g mH",
                      least_bus(in, p), p->crest, 1e6 * p->capacitance, in->load.power, p->resistance,
                      1e3 * q->inductance);
    if (q->unbroken)
        return refuse(out,
                      "behind %.3g mH the mains current flows on from one half line into the next, which is "
                      "not followed; lower source_inductance or the load",
                      1e3 * q->inductance);
    if (q->crowded)
        return refuse(out,
                      "behind %.3g mH and %.3g ohm the mains current rings and breaks into more than %d "
                      "pulses a half line; state what resistance there is, or no source_inductance",
                      1e3 * q->inductance, p->resistance, CHARGES_MAX);
    /* in the time domain strong pulses then leave no room for the next:
     * tests/stages/check_inductive_rectifier.c */
    double answer = inductive_answer(q);
    if (!(answer >= -1.0))
        return refuse(
            out,
            "behind %.3g mH and %.3g ohm strong and weak half lines take turns (each answers the one "
            "before %.3g-fold), which is not followed; lower source_inductance or state what "
            "resistance there is",
            1e3 * q->inductance, p->resistance, -answer);
    if (last) *last = (pulse_kept){p->start, q->charge[0].length, p->middle, p->shift, q->n == 1};
    return HL_STAGE_SOLVED;
}

/* The pulse, its figures and waves; of p what is given, and found of it as a whole. */
static hl_stage_status settle_inductive(const hl_stage_input *in, charging_pulse *p, double lowest,
                                        currents *c, hl_stage_output *out)
{
    inductive_pulse q = {.whole = *p, .inductance = stated(&in->values[SOURCE_INDUCTANCE])};
    hl_stage_status status = find_inductive(in, &q, lowest, out);
    if (status != HL_STAGE_SOLVED) return status;
    *p = q.whole;
    inductive_totals(&q, stated(&in->values[SOURCE_RESISTANCE]), c);
    return inductive_waves(&q, in->scratch, &out->input.line, &out->output.line) ? HL_STAGE_SOLVED
                                                                                 : HL_STAGE_NO_MEMORY;
}

static hl_stage_status settle(const hl_stage_input *in, charging_pulse *p, double lowest, currents *c,
                              hl_stage_output *out)
{
    hl_stage_status status = find_pulse(in, p, lowest, out);
    if (status != HL_STAGE_SOLVED) return status;
    totals(p, stated(&in->values[SOURCE_RESISTANCE]), c);
    return write_waves(p, in->scratch, &out->input.line, &out->output.line) ? HL_STAGE_SOLVED
                                                                            : HL_STAGE_NO_MEMORY;
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    charging_pulse p = {0};
    currents c = {0};
    double listed = 0.0, power = in->load.power, lowest = 0.0;
    hl_stage_status status = set_pulse(in, &p, &listed, out);
    if (status == HL_STAGE_SOLVED) status = set_load(in, &p, &lowest, out);
    if (status != HL_STAGE_SOLVED) return status;
    if (!(p.power + p.current > 1e-9)) {
        rest(&p, in, out);
        return HL_STAGE_SOLVED;
    }
    status =
        (stated(&in->values[SOURCE_INDUCTANCE]) > 0.0 ? settle_inductive : settle)(in, &p, lowest, &c, out);
    if (status != HL_STAGE_SOLVED) return status;
    if (!fill_stress(in, &c, p.crest, out->stress)) return HL_STAGE_NO_MEMORY;
    /* constant current: what the load takes follows from the mean bus voltage */
    if (!(p.power > 0.0)) power = p.current * c.mean_voltage - in->extra_loss;
    /* The waveform's own book: it closes but for rounding, which at microwatts is what is left of amperes. */
    double booked = power + c.loss + in->extra_loss;
    if (!(fabs(c.input_power - booked) <= 1e-6 * booked + 1e-7))
        return refuse(out, "the charging pulse did not settle: %.6g W in, %.6g W out and lost", c.input_power,
                      booked);
    c.input_power = booked;
    out->circuit_loss = c.loss;
    out->own_loss = (p.resistance - listed) * c.rms * c.rms;
    out->own_name = "least path resistance";
    out->input.voltage = in->input_voltage;
    out->input.voltage_peak = p.crest;
    out->input.power = c.input_power;
    out->input.current = c.rms;
    out->input.current_peak = c.peak;
    out->output.voltage = c.mean_voltage;
    out->output.voltage_peak = c.top;
    out->output.power = power;
    out->output.current = power / c.mean_voltage;
    out->output.current_peak = c.peak;
    out->input.line_frequency = out->output.line_frequency = in->input_frequency;
    report(&p, &c, power, out);
    return HL_STAGE_SOLVED;
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_AC,
    .output = HL_DC,
    .memory_size = sizeof(pulse_kept),
    .scratch_size = 98304,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "capacitor_input_rectifier",
    .title = "bridge rectifier onto a bulk capacitor",
    .source = "N. Mohan, T. Undeland, W. Robbins, Power Electronics, 3rd ed. 2003, ch. 5; IEC 61000-3-2",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("capacitor_input_rectifier", "0.1.0", "heatledger", "MIT", &model);
