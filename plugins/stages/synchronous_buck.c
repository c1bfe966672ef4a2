/* synchronous_buck.c - buck stage: a high switch, a low switch or diode, one inductor per phase.
 *
 * The cycle is high side on | dead time | low side on | dead time. In a dead time the current flows in a body
 * path, low side when positive, high side (back into the input) when negative, and rests once it comes to
 * zero. The on-time is solved so that the mean output voltage is the one wanted. docs/theory/buck.md source:
 * R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 3 and 5 (modes and
 * averages); the exact currents by inductor_cycle.h */
#include <math.h>
#include <stdio.h>

#include "heatledger/plugin.h"
#include "inductor_waves.h"
#include "slot_terminal.h"

enum { HIGH, LOW, INDUCTOR, SENSE, SLOTS };
enum { IN_HIGH = 1, IN_LOW = 2, IN_LOW_BODY = 4, IN_HIGH_BODY = 8 }; /* bits of inductor_path.who */

enum {
    FREQUENCY,
    OUTPUT_VOLTAGE,
    LIGHT_LOAD,
    DEAD_FALL,
    DEAD_RISE,
    SKIP_ON_TIME,
    SKIP_PEAK,
    MINIMUM_ON_TIME,
    MAXIMUM_DUTY,
    PHASES,
    INDUCTANCE,
    COMMUTATION_SLOPE,
    PARAMETERS
};
enum { FORCED_CONTINUOUS, DIODE_EMULATION, PULSE_SKIPPING };
static const char *const light_loads[] = {"forced_continuous", "diode_emulation", "pulse_skipping", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"switching_frequency", "Hz", HL_NUMBER, HL_REQUIRED, 0, 10e3, 20e6, NULL, NULL, "frequency at which the high switch turns on", "timing part, or measured"},
    {"output_voltage", "V", HL_NUMBER, 0, 0, 0.3, 400, NULL, NULL, "voltage it regulates to; absent: what the port asks", "feedback divider, or measured"},
    {"light_load", "1", HL_CHOICE, HL_DEFAULT, FORCED_CONTINUOUS, 0, 0, NULL, light_loads, "forced_continuous: the low switch lets the current reverse; diode_emulation: it opens at zero current; pulse_skipping: that, and pulses are left out", "controller's data sheet"},
    {"dead_time_fall", "s", HL_NUMBER, HL_DEFAULT, 20e-9, 0, 2e-6, NULL, NULL, "from high side off to low side on", "measured; 20 ns is common practice"},
    {"dead_time_rise", "s", HL_NUMBER, HL_DEFAULT, 20e-9, 0, 2e-6, NULL, NULL, "from low side off to high side on", "measured; 20 ns is common practice"},
    {"skip_on_time", "s", HL_NUMBER, 0, 0, 5e-9, 100e-6, NULL, NULL, "pulse_skipping: shortest pulse; with less load pulses are left out", "controller's data sheet, or measured"},
    {"skip_peak_current", "A", HL_NUMBER, 0, 0, 1e-3, 200, NULL, NULL, "pulse_skipping: a pulse lasts at least up to this current, of one phase", "controller's data sheet, or measured"},
    {"minimum_on_time", "s", HL_NUMBER, 0, 0, 1e-9, 10e-6, NULL, NULL, "shortest on-time the controller can make", "controller's data sheet"},
    {"maximum_duty", "1", HL_NUMBER, HL_DEFAULT, 1, 0.05, 1, NULL, NULL, "largest on-time over period", "controller's data sheet"},
    {"phases", "1", HL_NUMBER, HL_DEFAULT, 1, 1, WAVE_PHASES_MAX, NULL, NULL, "equal phases, interleaved", "board"},
    {"inductance", "H", HL_NUMBER, 0, 0, 10e-9, 10e-3, NULL, NULL, "overrides the inductance of the inductor part", "measured"},
    {"commutation_slope", "A/s", HL_NUMBER, HL_DEFAULT, 3e8, 1e6, 1e11, NULL, NULL, "di/dt at which the high switch takes over from the low-side diode", "measured; 300 A/us is common practice"},
};

static const hl_slot slots[SLOTS] = {
    {"high_switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "from the input to the switch node, of each phase"},
    {"low_switch", HL_FITS(HL_FAMILY_SWITCH) | HL_FITS(HL_FAMILY_DIODE), HL_REQUIRED, 1, "synchronous switch, or diode, from the switch node to ground, of each phase"},
    {"inductor", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "inductor of each phase"},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "in series with the inductor of each phase"},
};
/* clang-format on */

typedef struct buck {
    inductor_cycle cycle;
    cycle_figures figures;
    hl_terminal part[SLOTS];
    double input, output, load; /* V, V, A of one phase */
    double period, dead_fall, dead_rise, on_limit;
    double on_time;
    unsigned phases;
    bool diode, forced;
} buck;

static double stated(const hl_value *value)
{
    return value->given && isfinite(value->number) ? value->number : 0.0;
}

static unsigned phases_of(const hl_value *values)
{
    double n = stated(&values[PHASES]);
    return !(n >= 1.5) ? 1u : n >= WAVE_PHASES_MAX ? WAVE_PHASES_MAX : (unsigned)lround(n);
}

static unsigned positions(const hl_value *values, size_t slot)
{
    (void)slot;
    return phases_of(values);
}

static hl_stage_status refuse(hl_stage_output *out, const char *sentence, double a, double b)
{
    snprintf(out->reason.text, sizeof out->reason.text, sentence, a, b);
    return HL_STAGE_INFEASIBLE;
}

/* --------------------------------------------------------------- circuit -- */

static double series_resistance(const buck *b)
{
    return b->part[INDUCTOR].winding_resistance[0] + b->part[SENSE].resistance;
}

static inductor_path path_of(const buck *b, double source, double resistance, unsigned who)
{
    return (inductor_path){source, resistance + series_resistance(b), true, who};
}

/* The gate states of one cycle. The control is the on-time, or with `skipping` the time from pulse to pulse.
 */
static void set_states(buck *b, bool skipping)
{
    const hl_terminal *high = &b->part[HIGH], *low = &b->part[LOW];
    inductor_path on = path_of(b, b->input - high->voltage, high->resistance, IN_HIGH);
    inductor_path low_body = path_of(b, -low->reverse_voltage, low->reverse_resistance, IN_LOW_BODY);
    inductor_path high_body =
        path_of(b, b->input + high->reverse_voltage, high->reverse_resistance, IN_HIGH_BODY);
    inductor_path low_on = path_of(b, -low->voltage, low->resistance, IN_LOW);
    inductor_cycle *c = &b->cycle;
    double rate = skipping ? 0.0 : 1.0, base = skipping ? b->on_time : 0.0;
    double rest = (skipping ? -b->on_time : b->period) - b->dead_fall - b->dead_rise;
    size_t n = 0;
    c->state[n++] = (gate_state){on, on, true, base, rate};
    if (!b->diode) c->state[n++] = (gate_state){low_body, high_body, false, b->dead_fall, 0.0};
    c->state[n++] = (gate_state){low_on, high_body, b->forced && !b->diode, rest, skipping ? 1.0 : -1.0};
    if (!b->diode) c->state[n++] = (gate_state){low_body, high_body, false, b->dead_rise, 0.0};
    c->states = n;
    c->control_floor = skipping ? b->on_time + b->dead_fall + b->dead_rise : 0.0;
    c->control_limit = skipping ? INFINITY : b->on_limit;
}

static hl_stage_status look_at_parts(const hl_stage_input *in, buck *b, hl_stage_output *out)
{
    b->part[HIGH] = slot_terminal(&in->slot[HIGH], b->input);
    b->part[LOW] = slot_terminal(&in->slot[LOW], b->input);
    b->part[INDUCTOR] = slot_terminal(&in->slot[INDUCTOR], 0.0);
    b->part[SENSE] = slot_terminal(&in->slot[SENSE], 0.0);
    b->diode = slot_filled(&in->slot[LOW]) && in->slot[LOW].device->family == HL_FAMILY_DIODE;
    double inductance = stated(&in->values[INDUCTANCE]);
    if (!(inductance > 0.0)) inductance = b->part[INDUCTOR].inductance;
    if (!(inductance > 0.0) || !isfinite(inductance))
        return refuse(
            out, "the buck inductor has no inductance; state it at the part or as inductance of the stage", 0,
            0);
    double sum = series_resistance(b);
    for (int s = HIGH; s <= LOW; s++) {
        const hl_terminal *t = &b->part[s];
        if (!(t->resistance >= 0.0 && t->voltage >= 0.0 && t->reverse_resistance >= 0.0 &&
              t->reverse_voltage >= 0.0))
            sum = NAN;
        sum += t->resistance + t->voltage + t->reverse_resistance + t->reverse_voltage;
    }
    if (!(sum >= 0.0) || !isfinite(sum))
        return refuse(
            out, "a part of the buck stage shows a resistance or drop that is negative or no number", 0, 0);
    bool stiff = b->phases > 1 || !(in->output_capacitance > 0.0) || !isfinite(in->output_capacitance);
    b->cycle.output = (inductor_output){.inductance = inductance,
                                        .elastance = stiff ? 0.0 : 1.0 / in->output_capacitance,
                                        .esr = !stiff && in->output_esr > 0.0 ? in->output_esr : 0.0,
                                        .load = b->load};
    b->cycle.voltage = b->output;
    return HL_STAGE_SOLVED;
}

static hl_stage_status look_at_input(const hl_stage_input *in, buck *b, hl_stage_output *out)
{
    const hl_value *v = in->values;
    b->input = in->input_voltage;
    b->output = v[OUTPUT_VOLTAGE].given ? v[OUTPUT_VOLTAGE].number : in->output_voltage;
    if (!(b->output > 0.0) || !isfinite(b->output))
        return refuse(out,
                      "nothing says which voltage the buck stage gives; state its output_voltage, or let a "
                      "port ask for one",
                      0, 0);
    if (!(b->input > 0.0) || !isfinite(b->input))
        return refuse(out, "no input voltage is there (%.4g V)", b->input, 0);
    double f = stated(&v[FREQUENCY]);
    if (!(f > 0.0)) return refuse(out, "a switching frequency of %.4g Hz does not run a buck stage", f, 0);
    if (!(in->load.current >= 0.0) || !isfinite(in->load.current) || !isfinite(in->extra_loss))
        return refuse(out, "the load of the buck stage is no number, or negative (%.4g A)", in->load.current,
                      0);
    b->phases = phases_of(v);
    b->load = in->load.current / b->phases;
    b->period = 1.0 / f;
    hl_stage_status status = look_at_parts(in, b, out);
    if (status != HL_STAGE_SOLVED) return status;
    b->dead_fall = b->diode ? 0.0 : fmax(stated(&v[DEAD_FALL]), 0.0);
    b->dead_rise = b->diode ? 0.0 : fmax(stated(&v[DEAD_RISE]), 0.0);
    b->forced = !b->diode && (int)stated(&v[LIGHT_LOAD]) == FORCED_CONTINUOUS;
    double duty = stated(&v[MAXIMUM_DUTY]);
    b->on_limit = b->period * (duty > 0.0 ? fmin(duty, 1.0) : 1.0);
    b->on_limit = fmin(b->on_limit, b->period - b->dead_fall - b->dead_rise);
    if (!(b->on_limit > 0.0))
        return refuse(out, "the dead times of %.3g ns leave no on-time in a period of %.3g ns",
                      1e9 * (b->dead_fall + b->dead_rise), 1e9 * b->period);
    return HL_STAGE_SOLVED;
}

/* ----------------------------------------------------------------- solve -- */

/* Volt-seconds with the mean current in every resistance; exact but for the ripple.
 * source: Erickson and Maksimovic (2001), sect. 3.2 to 3.5 */
static double reachable_voltage(const buck *b, double on)
{
    const hl_terminal *high = &b->part[HIGH], *low = &b->part[LOW];
    double i = b->load, dead = b->dead_fall + b->dead_rise, off = b->period - on - dead;
    double area = on * (b->input - high->voltage - high->resistance * i) -
                  off * (low->voltage + low->resistance * i) -
                  dead * (low->reverse_voltage + low->reverse_resistance * i);
    return area / b->period - series_resistance(b) * i;
}

static hl_stage_status out_of_reach(const buck *b, hl_stage_output *out)
{
    snprintf(out->reason.text, sizeof out->reason.text,
             "asks for %.4g V, but from %.4g V at %.4g A the largest duty ratio of %.1f %% reaches at most "
             "%.4g V after the "
             "drops; lower the output voltage or the load, or raise the input or maximum_duty",
             b->output, b->input, b->load * b->phases, 100.0 * b->on_limit / b->period,
             reachable_voltage(b, b->on_limit));
    return HL_STAGE_INFEASIBLE;
}

/* Where Newton starts: volt-seconds of the two modes with lossless parts.
 * source: Erickson and Maksimovic (2001), eq. 2.24 (continuous), 5.21 (discontinuous) */
static void first_guess(const buck *b, double *on, double *current)
{
    double l = b->cycle.output.inductance, full = b->period,
           slope = reachable_voltage(b, full) - reachable_voltage(b, 0.0);
    double t = (b->output - reachable_voltage(b, 0.0)) / slope * full;
    double fall = (b->output + b->part[LOW].voltage) / l, rise = (b->input - b->output) / l;
    double ripple = fall * (full - t);
    *current = b->load - 0.5 * ripple;
    if (!b->forced && *current < 0.0 && rise > 0.0) {
        *current = 0.0;
        t = sqrt(2.0 * b->load * full * fall / (rise * (rise + fall)));
    } else if (*current < 0.0) { /* the current reverses: the second dead time lifts the node to the input */
        t -= b->dead_rise * (b->input + b->part[HIGH].reverse_voltage + b->part[LOW].reverse_voltage) /
             b->input;
        *current += b->dead_rise * rise;
    }
    *on = fmin(fmax(t, 1e-3 * b->on_limit), b->on_limit);
}

/* On-time of the pulses that skipping holds on to: the stated one, or the one that reaches the stated peak.
 */
static double skip_on_time(const hl_stage_input *in, const buck *b)
{
    double on = stated(&in->values[SKIP_ON_TIME]), peak = stated(&in->values[SKIP_PEAK]);
    if (peak > 0.0) {
        inductor_path path = path_of(b, b->input - b->part[HIGH].voltage, b->part[HIGH].resistance, IN_HIGH);
        double r = path.resistance, l = b->cycle.output.inductance, drive = path.source - b->output;
        if (drive > r * peak)
            on = fmax(on, r * peak < 1e-6 * drive ? l * peak / drive : -l / r * log1p(-r * peak / drive));
    }
    return on;
}

/* One pulse of this on-time as often as the load needs one: the period is the unknown. */
static hl_stage_status settle_skipping(buck *b, double on, bool *solved, hl_stage_output *out)
{
    double l = b->cycle.output.inductance, peak = (b->input - b->output) * on / l;
    double charge = 0.5 * peak * on * b->input / (b->output + b->part[LOW].voltage);
    if (!(charge * b->cycle.output.elastance < 0.5 * b->output)) {
        snprintf(out->reason.text, sizeof out->reason.text,
                 "one pulse of %.3g us (%.3g A) would lift the output capacitor by %.3g V at an output of "
                 "%.3g V; state a "
                 "shorter skip_on_time or smaller skip_peak_current, or more capacitance",
                 1e6 * on, peak, charge * b->cycle.output.elastance, b->output);
        return HL_STAGE_INFEASIBLE;
    }
    b->on_time = on;
    set_states(b, true);
    double guess = fmax(charge / b->load, 1.5 * b->cycle.control_floor);
    b->cycle.control_limit = 1e3 * guess;
    *solved = cycle_settle(&b->cycle, guess, 0.0, b->output - 0.5 * charge * b->cycle.output.elastance);
    return HL_STAGE_SOLVED;
}

static hl_stage_status run(const hl_stage_input *in, buck *b, hl_stage_output *out)
{
    double guess, current;
    if (!(reachable_voltage(b, b->on_limit) > 0.98 * b->output) && b->load > 0.0) return out_of_reach(b, out);
    set_states(b, false);
    first_guess(b, &guess, &current);
    bool solved = cycle_settle(&b->cycle, guess, current, b->output);
    double skip =
        !b->forced && (int)stated(&in->values[LIGHT_LOAD]) == PULSE_SKIPPING ? skip_on_time(in, b) : 0.0;
    b->on_time = b->cycle.control;
    if (skip > 0.0 && (!solved || b->on_time < skip) && b->output < b->input) {
        hl_stage_status status = settle_skipping(b, skip, &solved, out);
        if (status != HL_STAGE_SOLVED) return status;
    }
    if (!solved) {
        if (!(reachable_voltage(b, b->on_limit) > 1.0001 * b->output)) return out_of_reach(b, out);
        return refuse(out, "no steady cycle was found that gives %.4g V at %.4g A", b->output,
                      b->load * b->phases);
    }
    double least = stated(&in->values[MINIMUM_ON_TIME]);
    if (b->on_time < least * (1.0 - 1e-9))
        return refuse(out,
                      "needs an on-time of %.3g ns but the controller makes at least %.3g ns; lower the "
                      "frequency or let it skip pulses",
                      1e9 * b->on_time, 1e9 * least);
    return HL_STAGE_SOLVED;
}

/* --------------------------------------------------------------- figures -- */

static void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

enum { FIG_HIGH, FIG_LOW, FIG_LOW_BODY, FIG_HIGH_BODY }; /* bit numbers of IN_... */

typedef struct losses {
    double high, low, body, winding, sense, esr; /* W, one phase */
} losses;

static losses losses_of(const buck *b)
{
    const cycle_figures *f = &b->figures;
    const hl_terminal *high = &b->part[HIGH], *low = &b->part[LOW];
    double square = f->ac_square + f->mean * f->mean;
    return (losses){
        .high = high->resistance * f->square[FIG_HIGH] + high->voltage * f->average[FIG_HIGH],
        .low = low->resistance * f->square[FIG_LOW] + low->voltage * f->average[FIG_LOW],
        .body = low->reverse_resistance * f->square[FIG_LOW_BODY] +
                low->reverse_voltage * f->average[FIG_LOW_BODY] +
                high->reverse_resistance * f->square[FIG_HIGH_BODY] -
                high->reverse_voltage * f->average[FIG_HIGH_BODY],
        .winding = b->part[INDUCTOR].winding_resistance[0] * square,
        .sense = b->part[SENSE].resistance * square,
        .esr = b->cycle.output.esr * f->fed_ac_square,
    };
}

static void say_currents(const buck *b, double ripple_in, double ripple_out, double ripple_voltage,
                         hl_stage_output *out)
{
    const cycle_figures *f = &b->figures;
    const inductor_cycle *c = &b->cycle;
    say(out, "switching_frequency", "Hz", 1.0 / c->period);
    say(out, "duty_ratio", "1", b->on_time / c->period);
    say(out, "on_time", "s", b->on_time);
    say(out, "high_switch_current_rms", "A", sqrt(f->square[FIG_HIGH]));
    say(out, "high_switch_current_average", "A", f->average[FIG_HIGH]);
    say(out, "low_switch_current_rms", "A", sqrt(f->square[FIG_LOW]));
    say(out, "low_switch_current_average", "A", f->average[FIG_LOW]);
    say(out, "low_body_current_average", "A", f->average[FIG_LOW_BODY]);
    say(out, "low_body_current_rms", "A", sqrt(f->square[FIG_LOW_BODY]));
    say(out, "high_body_current_average", "A", -f->average[FIG_HIGH_BODY]);
    say(out, "high_body_current_rms", "A", sqrt(f->square[FIG_HIGH_BODY]));
    say(out, "inductor_current_rms", "A", sqrt(f->ac_square + f->mean * f->mean));
    say(out, "inductor_current_peak", "A", f->peak);
    say(out, "inductor_current_valley", "A", f->valley);
    say(out, "inductor_current_ripple", "A", f->peak - f->valley);
    say(out, "inductor_current_ac_rms", "A", sqrt(f->ac_square));
    say(out, "turn_on_current", "A", c->current);
    say(out, "turn_off_current", "A", c->span[0].i1);
    say(out, "input_current_average", "A", b->phases * (f->average[FIG_HIGH] + f->average[FIG_HIGH_BODY]));
    say(out, "input_capacitor_current_rms", "A", ripple_in);
    say(out, "output_capacitor_current_rms", "A", ripple_out);
    say(out, "output_voltage_ripple", "V", ripple_voltage);
}

static void say_losses(const buck *b, const losses *p, hl_stage_output *out)
{
    double m = b->phases, sum = m * (p->high + p->low + p->body + p->winding + p->sense + p->esr),
           power = m * b->output * b->load;
    say(out, "high_switch_conduction_loss", "W", m * p->high);
    say(out, "low_switch_conduction_loss", "W", m * p->low);
    say(out, "body_conduction_loss", "W", m * p->body);
    say(out, "inductor_winding_loss", "W", m * p->winding);
    say(out, "sense_resistor_loss", "W", m * p->sense);
    say(out, "output_capacitor_loss", "W", m * p->esr);
    say(out, "conduction_efficiency", "1", power > 0.0 ? power / (power + sum) : 0.0);
}

/* ---------------------------------------------------------------- stress -- */

/* What the high switch still blocks when it turns on. Hard while the low side conducts; from rest the node
 * stands at the output (ringing taken as died out); with negative current the node has risen by the charge i
 * t / C, C = Q(V)/V of both switches. source: charge balance at the switch node; constant current over the
 * dead time */
static double residual_voltage(const buck *b)
{
    const inductor_cycle *c = &b->cycle;
    double i = c->current, charge = b->part[HIGH].output_charge + b->part[LOW].output_charge;
    if (i > 0.0) return b->input;
    if (!(i < 0.0)) return fmax(b->input - b->output, 0.0);
    double swing = charge > 0.0 ? -i * b->dead_rise / charge : 1.0;
    return swing < 1.0 ? b->input * (1.0 - swing) : 0.0;
}

typedef struct figure_store { /* arrays of one entry for the stress of a part */
    double weight, frequency, average, rms, peak, on, off, voltage_on, voltage_off, reverse, reverse_rms,
        slope, swing, duty;
} figure_store;

static void attach(figure_store *s, hl_stress *stress)
{
    stress->struct_size = sizeof *stress;
    stress->n = 1;
    stress->weight = &s->weight;
    stress->frequency = &s->frequency;
    stress->current_average = &s->average;
    stress->current_rms = &s->rms;
    stress->current_peak = &s->peak;
    stress->current_on = &s->on;
    stress->current_off = &s->off;
    stress->voltage_on = &s->voltage_on;
    stress->voltage_off = &s->voltage_off;
    stress->reverse_average = &s->reverse;
    stress->reverse_rms = &s->reverse_rms;
    stress->slope_off = &s->slope;
    stress->charge_on = &s->swing;
    stress->duty = &s->duty;
}

static double duration_of(const inductor_cycle *c, unsigned who)
{
    double t = 0.0;
    for (size_t k = 0; k < c->spans; k++)
        if (!c->span[k].idle && c->span[k].path.who & who) t += c->span[k].duration;
    return t;
}

static void stress_high(const buck *b, double count, figure_store *s, hl_stress *stress)
{
    const cycle_figures *f = &b->figures;
    double off = b->cycle.span[0].i1, residual = residual_voltage(b), n = 1.0 / count;
    *s = (figure_store){.weight = 1.0,
                        .frequency = 1.0 / b->cycle.period,
                        .average = n * f->average[FIG_HIGH],
                        .rms = n * sqrt(f->square[FIG_HIGH]),
                        .peak = n * fmax(fabs(f->peak), fabs(b->cycle.current)),
                        .on = n * fmax(b->cycle.current, 0.0),
                        .off = n * fmax(off, 0.0),
                        .voltage_on = residual,
                        .voltage_off = b->input,
                        .swing = residual,
                        .reverse = -n * f->average[FIG_HIGH_BODY],
                        .reverse_rms = n * sqrt(f->square[FIG_HIGH_BODY]),
                        .duty = b->on_time / b->cycle.period};
    attach(s, stress);
    stress->voltage_dc = b->input - b->output;
    stress->voltage_peak = b->input + b->part[LOW].reverse_voltage;
    stress->total_rms = n * sqrt(f->square[FIG_HIGH] + f->square[FIG_HIGH_BODY]);
    stress->total_average = n * (f->average[FIG_HIGH] + f->average[FIG_HIGH_BODY]);
    stress->total_peak = s->peak;
}

/* The low switch. slope_off > 0: current_off is what its diode carries as the high switch commutates it (the
 * channel itself opened into its own diode, at no voltage). slope_off = 0: the channel interrupts
 * current_off, reversed by then, and the node rises. */
static void stress_low(const buck *b, double count, double slope, figure_store *s, hl_stress *stress)
{
    const cycle_figures *f = &b->figures;
    const inductor_cycle *c = &b->cycle;
    double n = 1.0 / count, before = 0.0, at_on = c->span[0].i1, at_off = 0.0;
    size_t low_state = b->diode ? 1 : 2;
    for (size_t k = 0; k < c->spans; k++) {
        if (c->span[k].state < low_state) at_on = c->span[k].i1;
        if (c->span[k].state == low_state) at_off = c->span[k].i1;
    }
    if (!b->diode && at_on <= 0.0)
        before = at_on < 0.0 ? b->input : b->output; /* its diode has not brought the node down */
    bool commutated = c->current > 0.0, opens_hard = !commutated && at_off < 0.0;
    *s = (figure_store){.weight = 1.0,
                        .frequency = 1.0 / c->period,
                        .average = n * fabs(f->average[FIG_LOW]),
                        .rms = n * sqrt(f->square[FIG_LOW]),
                        .peak = n * fmax(fabs(f->peak), fabs(f->valley)),
                        .on = n * fmax(-at_on, 0.0),
                        .off = n * (commutated   ? c->current
                                    : opens_hard ? -at_off
                                                 : 0.0),
                        .voltage_on = before,
                        .voltage_off = b->input,
                        .swing = before,
                        .reverse = n * f->average[FIG_LOW_BODY],
                        .reverse_rms = n * sqrt(f->square[FIG_LOW_BODY]),
                        .slope = commutated ? n * slope : 0.0,
                        .duty = duration_of(c, IN_LOW) / c->period};
    attach(s, stress);
    stress->voltage_dc = b->output;
    stress->voltage_peak = b->input + b->part[HIGH].reverse_voltage;
    stress->total_rms = n * sqrt(f->square[FIG_LOW] + f->square[FIG_LOW_BODY]);
    stress->total_average = n * (f->average[FIG_LOW] + f->average[FIG_LOW_BODY]);
    stress->total_peak = s->peak;
}

static void stress_series(const buck *b, double inductors, double resistors, figure_store *s,
                          const hl_wave *current, const hl_wave *flux, hl_stress stress[])
{
    const cycle_figures *f = &b->figures;
    double rms = sqrt(f->ac_square + f->mean * f->mean), peak = fmax(fabs(f->peak), fabs(f->valley)),
           n = 1.0 / inductors;
    *s = (figure_store){.weight = 1.0,
                        .frequency = 1.0 / b->cycle.period,
                        .average = n * f->mean,
                        .rms = n * rms,
                        .peak = n * peak};
    hl_stress *choke = &stress[INDUCTOR], *sense = &stress[SENSE];
    attach(s, choke);
    choke->flux_voltage = flux;
    choke->windings = 1;
    choke->winding_current[0] = current;
    choke->flux_bias = b->cycle.output.inductance * f->mean;
    choke->voltage_peak = fmax(b->input - b->output, b->output);
    choke->total_rms = n * rms;
    choke->total_average = n * f->mean;
    choke->total_peak = n * peak;
    if (!(resistors > 0.0)) return;
    sense->struct_size = sizeof *sense;
    sense->total_rms = rms / resistors;
    sense->total_average = f->mean / resistors;
    sense->total_peak = peak / resistors;
}

/* ---------------------------------------------------------------- answer -- */

typedef struct answer { /* taken from scratch */
    figure_store high, low, choke;
    double weight, frequency;
    hl_wave input, output, part, flux;
} answer;

static bool write_waves(buck *b, double inductors, hl_scratch *scratch, answer *a)
{
    hl_segment *s = hl_scratch_take(scratch, 4 * WAVE_SEGMENTS_MAX * sizeof *s);
    if (!s) return false;
    hl_segment *input = s + WAVE_SEGMENTS_MAX, *part = s + 2 * WAVE_SEGMENTS_MAX,
               *flux = s + 3 * WAVE_SEGMENTS_MAX;
    a->output = (hl_wave){write_current(&b->cycle, ~0u, 1.0, s), s};
    a->input = (hl_wave){write_current(&b->cycle, IN_HIGH | IN_HIGH_BODY, 1.0, input), input};
    a->part = a->output;
    if (inductors > 1.0) a->part = (hl_wave){write_current(&b->cycle, ~0u, 1.0 / inductors, part), part};
    write_flux(b->cycle.output.inductance, a->output.n, s, flux);
    a->flux = (hl_wave){a->output.n, flux};
    return true;
}

static void fill_sides(const hl_stage_input *in, const buck *b, const answer *a, double ripple,
                       hl_stage_output *out)
{
    const cycle_figures *f = &b->figures;
    hl_side *input = &out->input, *output = &out->output;
    double drawn = b->phases * (f->average[FIG_HIGH] + f->average[FIG_HIGH_BODY]);
    input->voltage = input->voltage_peak = b->input;
    input->power = drawn * b->input + in->extra_loss;
    input->current = input->power / b->input;
    input->current_peak = fmax(f->peak, 0.0);
    output->voltage = b->output;
    output->current = b->load * b->phases;
    output->power = output->current * b->output;
    output->current_peak = f->peak;
    output->voltage_peak = b->output + 0.5 * ripple;
    input->cycles = output->cycles = 1;
    input->weight = output->weight = &a->weight;
    input->frequency = output->frequency = &a->frequency;
    input->wave = &a->input;
    output->wave = &a->output;
    out->headroom_name = "duty ratio";
    out->headroom_unit = "1";
    out->headroom_value = b->on_time / b->cycle.period;
    out->headroom_limit = b->on_limit / b->period;
}

/* Nothing to deliver and the current may not reverse: no pulse is made. */
static void rest(const hl_stage_input *in, const buck *b, hl_stage_output *out)
{
    for (size_t s = 0; s < SLOTS; s++)
        out->stress[s] = (hl_stress){.struct_size = sizeof(hl_stress), .voltage_peak = b->input};
    out->input.voltage = out->input.voltage_peak = b->input;
    out->input.power = in->extra_loss;
    out->input.current = in->extra_loss / b->input;
    out->output.voltage = out->output.voltage_peak = b->output;
    say(out, "switching_frequency", "Hz", 0.0);
    say(out, "duty_ratio", "1", 0.0);
    say(out, "inductor_current_rms", "A", 0.0);
}

static double filled(const hl_slot_view *slot)
{
    return slot_filled(slot) ? (double)slot->count : 0.0;
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    buck b;
    memset(&b, 0, sizeof b);
    hl_stage_status status = look_at_input(in, &b, out);
    if (status != HL_STAGE_SOLVED) return status;
    if (!b.forced && !(b.load > 0.0) && b.output < b.input) {
        rest(in, &b, out);
        return HL_STAGE_SOLVED;
    }
    status = run(in, &b, out);
    if (status != HL_STAGE_SOLVED) return status;
    answer *a = hl_scratch_take(in->scratch, sizeof *a);
    if (!a) return HL_STAGE_NO_MEMORY;
    cycle_measure(&b.cycle, &b.figures);
    const cycle_figures *f = &b.figures;
    a->weight = 1.0;
    a->frequency = 1.0 / b.cycle.period;
    double inductors = fmax(filled(&in->slot[INDUCTOR]), 1.0);
    if (!write_waves(&b, inductors, in->scratch, a)) return HL_STAGE_NO_MEMORY;
    double drawn = f->average[FIG_HIGH] + f->average[FIG_HIGH_BODY];
    double ripple_in = sqrt(fmax(f->square[FIG_HIGH] + f->square[FIG_HIGH_BODY] - drawn * drawn, 0.0));
    double ripple_voltage = f->highest - f->lowest;
    stress_high(&b, fmax(filled(&in->slot[HIGH]), 1.0), &a->high, &out->stress[HIGH]);
    stress_low(&b, fmax(filled(&in->slot[LOW]), 1.0), stated(&in->values[COMMUTATION_SLOPE]), &a->low,
               &out->stress[LOW]);
    stress_series(&b, inductors, filled(&in->slot[SENSE]), &a->choke, &a->part, &a->flux, out->stress);
    losses p = losses_of(&b);
    say_currents(&b, ripple_in, sqrt(f->fed_ac_square), ripple_voltage, out);
    say_losses(&b, &p, out);
    fill_sides(in, &b, a, ripple_voltage, out);
    out->circuit_loss = b.phases * (p.high + p.low + p.body + p.winding + p.sense + p.esr);
    return HL_STAGE_SOLVED;
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_DC,
    .output = HL_DC,
    .regulates = true,
    .scratch_size = sizeof(answer) + 64 + 4 * WAVE_SEGMENTS_MAX * sizeof(hl_segment),
    .positions = positions,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "synchronous_buck",
    .title = "buck stage, synchronous or with a diode",
    .source = "R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 3, 5",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

static const hl_model *const models[] = {&model};

HL_EXPORT const hl_plugin hl_plugin_table = {
    .struct_size = sizeof(hl_plugin),
    .abi = HL_PLUGIN_ABI,
    .name = "synchronous_buck",
    .version = "0.1.0",
    .author = "heatledger",
    .licence = "MIT",
    .models = models,
    .n_models = 1,
};
