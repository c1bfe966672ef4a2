/* switched_stage.h - what the dc-fed stages around one inductor (buck, boost, four switches) have in common:
 * the checks of what they are asked, the light-load modes, the waves, and the figures they report. */
#ifndef SWITCHED_STAGE_H
#define SWITCHED_STAGE_H

#include <stddef.h>
#include <stdio.h>

#include "dc_bounds.h"
#include "inductor_search.h"
#include "inductor_waves.h"
#include "node_ring.h"
#include "partner_charge.h"
#include "past_points.h"
#include "phase_sum.h"
#include "refusal.h"
#include "slot_terminal.h"
#include "stress_stretch.h"

enum { FORCED_CONTINUOUS, DIODE_EMULATION, PULSE_SKIPPING };

typedef struct switched_stage {
    inductor_cycle cycle;
    cycle_figures figures;
    const char *kind;           /* "buck", for sentences */
    double input, output, load; /* V, V, A of one phase */
    double period, on_limit, on_time;
    double winding, sense;       /* ohm in series with the inductance */
    double inductors, resistors; /* parts in parallel; resistors 0: none */
    double capacitance, esr;     /* of the output bus, also where the phases are solved with a stiff output */
    unsigned phases;
    unsigned drawn, fed; /* parts whose current comes from the input, goes to the output */
} switched_stage;

/* All zero, but for spans, which a walk writes before they are read. */
static inline void clear_switched(switched_stage *b)
{
    memset(&b->cycle, 0, offsetof(inductor_cycle, span));
    memset(&b->figures, 0, sizeof *b - offsetof(switched_stage, figures));
}

static inline double stated(const hl_value *value)
{
    return value->given && isfinite(value->number) ? value->number : 0.0;
}

static inline double filled(const hl_slot_view *slot)
{
    return slot_filled(slot) ? (double)slot->count : 0.0;
}

static inline void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

static inline unsigned phases_stated(const hl_value *value)
{
    double n = round(stated(value));
    return !(n >= 2.0) ? 1u : n >= WAVE_PHASES_MAX ? WAVE_PHASES_MAX : (unsigned)n;
}

/* ---------------------------------------------------------------- checks -- */

static inline bool part_sound(const hl_terminal *t)
{
    return resistance_sound(t->resistance) && drop_sound(t->voltage) &&
           resistance_sound(t->reverse_resistance) && drop_sound(t->reverse_voltage);
}

/* Voltages, load and frequency. `load` becomes that of one phase. */
static inline hl_stage_status look_at_demand(const hl_stage_input *in, const hl_value *wanted,
                                             const hl_value *frequency, switched_stage *b,
                                             hl_stage_output *out)
{
    b->input = in->input_voltage;
    b->output = wanted->given ? wanted->number : in->output_voltage;
    if (!voltage_sound(b->output))
        return refuse(out,
                      "nothing says which voltage the %s stage gives (%.4g V); state its output_voltage, or "
                      "let a port ask for one",
                      b->kind, b->output);
    if (!voltage_sound(b->input))
        return refuse(out, "no input voltage is there for the %s stage (%.4g V); check what feeds it",
                      b->kind, b->input);
    double f = stated(frequency);
    if (!frequency_sound(f))
        return refuse(out,
                      "the %s stage does not run at a switching frequency of %.4g Hz; state a higher one",
                      b->kind, f);
    if (!load_sound(in))
        return refuse(out, "the load of the %s stage is no number, or negative (%.4g A)", b->kind,
                      in->load.current);
    b->load = in->load.current / b->phases;
    b->period = 1.0 / f;
    return HL_STAGE_SOLVED;
}

/* Inductor, sense resistor and output capacitor. Several phases are each solved with a stiff output: what the
 * ripple of the output does to their currents is of second order. */
static inline hl_stage_status look_at_inductor(const hl_stage_input *in, size_t inductor, size_t sense,
                                               const hl_value *inductance, switched_stage *b,
                                               hl_stage_output *out)
{
    hl_terminal choke = slot_terminal(&in->slot[inductor], 0.0), shunt = slot_terminal(&in->slot[sense], 0.0);
    double l = stated(inductance) > 0.0 ? stated(inductance) : choke.inductance;
    b->winding = choke.winding_resistance[0];
    b->sense = shunt.resistance;
    b->inductors = fmax(filled(&in->slot[inductor]), 1.0);
    b->resistors = filled(&in->slot[sense]);
    if (!inductance_sound(l))
        return refuse(out,
                      "the inductor of the %s stage has no inductance; state it at the part or as inductance "
                      "of the stage",
                      b->kind);
    if (!resistance_sound(b->winding) || !resistance_sound(b->sense))
        return refuse(out,
                      "the inductor or sense resistor of the %s stage shows a resistance of %.4g and %.4g "
                      "ohm; both must be zero or more",
                      b->kind, b->winding, b->sense);
    b->capacitance = capacitance_sound(in->output_capacitance);
    b->esr = esr_sound(in->output_esr);
    bool stiff = b->phases > 1 || !(b->capacitance > 0.0);
    b->cycle.output = (inductor_output){.inductance = l,
                                        .elastance = stiff ? 0.0 : 1.0 / b->capacitance,
                                        .esr = stiff ? 0.0 : b->esr,
                                        .load = b->load};
    b->cycle.voltage = b->output;
    return HL_STAGE_SOLVED;
}

/* Largest on-time, from the largest duty ratio and the dead times. */
static inline hl_stage_status limit_on_time(const hl_value *duty, double dead, switched_stage *b,
                                            hl_stage_output *out)
{
    double most = stated(duty);
    b->on_limit = b->period - dead;
    if (most > 0.0) b->on_limit = fmin(b->on_limit, b->period * most);
    if (!(b->on_limit > 0.0))
        return refuse(out,
                      "the dead times of the %s stage take %.3g ns and leave no on-time in a period of %.3g "
                      "ns; lower the dead times or the frequency",
                      b->kind, 1e9 * dead, 1e9 * b->period);
    return HL_STAGE_SOLVED;
}

/* ----------------------------------------------------------------- search -- */

/* Newton from where the points solved before lead, when `past` holds any; else, and where that fails, from a
 * guess.  false: no cycle was found. */
static inline bool settle_from(past_points *past, switched_stage *b, double control, double current)
{
    inductor_cycle *c = &b->cycle;
    past_point now = {.asked = {b->load, b->input, b->output}};
    bool solved = past_lead(past, now.asked, now.given) && now.given[0] > c->control_floor &&
                  now.given[0] <= c->control_limit &&
                  cycle_newton(c, now.given[0], now.given[1], now.given[2]);
    if (!solved) solved = cycle_settle(c, control, current, b->output);
    if (!solved) return false;
    now = (past_point){{b->load, b->input, b->output}, {c->control, c->current, c->capacitor}};
    past_keep(past, &now);
    return true;
}

/* ------------------------------------------------------------ light load -- */

/* On-time of the pulses that skipping holds on to: the stated one, or the one in which `drive` volts bring
 * the current from zero to the stated peak, and never longer than a pulse may be. The drive is taken at the
 * mean output voltage: a capacitor that moves much within a pulse moves the peak with it. */
static inline double skip_on_time(const switched_stage *b, const hl_value *shortest, const hl_value *peak,
                                  double drive, double resistance)
{
    double on = stated(shortest), i = stated(peak), l = b->cycle.output.inductance;
    double x = resistance * i / drive;
    if (i > 0.0 && drive > resistance * i)
        on = fmax(on, l * i / drive * (x > 1e-6 ? -log1p(-x) / x : 1.0 + 0.5 * x));
    else if (i > 0.0)
        on = b->on_limit;
    return fmin(on, b->on_limit);
}

/* The period from which such pulses are looked for, and up to where. */
static inline double skipping_start(switched_stage *b, double charge)
{
    double start = fmax(charge / b->load, 1.5 * b->cycle.control_floor);
    b->cycle.control_limit = 1e3 * start;
    return start;
}

/* One pulse, carrying about `charge` to the output, as often as the load needs one: the gate states are
 * already set with the period as their control. */
static inline hl_stage_status settle_skipping(switched_stage *b, double charge, bool *solved,
                                              hl_stage_output *out)
{
    double lift = charge * b->cycle.output.elastance;
    if (!(lift < 0.5 * b->output)) {
        snprintf(out->reason.text, sizeof out->reason.text,
                 "one pulse of %.3g us would lift the output capacitor of the %s stage by %.3g V at an "
                 "output of %.3g V; "
                 "state a shorter skip_on_time or smaller skip_peak_current, or more capacitance",
                 1e6 * b->on_time, b->kind, lift, b->output);
        return HL_STAGE_INFEASIBLE;
    }
    double start = skipping_start(b, charge);
    *solved = cycle_settle(&b->cycle, start, 0.0, b->output - 0.5 * lift);
    return HL_STAGE_SOLVED;
}

/* Nothing to deliver and the current may not reverse: no pulse is made. */
static inline void rest_switched(const hl_stage_input *in, const switched_stage *b, size_t slots,
                                 hl_stage_output *out)
{
    double most = fmax(b->input, b->output);
    for (size_t s = 0; s < slots; s++)
        out->stress[s] = (hl_stress){.struct_size = sizeof(hl_stress), .voltage_peak = most};
    out->input.voltage = out->input.voltage_peak = b->input;
    out->input.power = in->extra_loss;
    out->input.current = in->extra_loss / b->input;
    out->output.voltage = out->output.voltage_peak = b->output;
    say(out, "switching_frequency", "Hz", 0.0);
    say(out, "duty_ratio", "1", 0.0);
    say(out, "inductor_current_rms", "A", 0.0);
}

/* ---------------------------------------------------------------- stress -- */

typedef struct figure_store { /* arrays of one entry for the stress of a part */
    double weight, frequency, average, rms, peak, on, off, voltage_on, voltage_off, reverse, reverse_rms,
        slope, swing, duty;
} figure_store;

static inline void attach(figure_store *s, hl_stress *stress)
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

static inline double span_time(const inductor_cycle *c, unsigned who)
{
    double t = 0.0;
    for (size_t k = 0; k < c->spans; k++)
        if (!c->span[k].idle && c->span[k].path.who & who) t += c->span[k].duration;
    return t;
}

/* s of a cycle in which nothing conducts. */
static inline double idle_time(const switched_stage *b)
{
    double idle = 0.0;
    for (size_t k = 0; k < b->cycle.spans; k++)
        if (b->cycle.span[k].idle) idle += b->cycle.span[k].duration;
    return idle;
}

/* The node's ring at the end of that time: it swings `swing` of `whole` volts to where it rests. */
static inline node_ring ring_of(const switched_stage *b, double whole, double swing, double charge)
{
    return node_ring_after(whole, swing, b->cycle.output.inductance, charge, idle_time(b));
}

/* The ring of a node with this output charge dies in the inductors; W of all phases. */
static inline double ring_power(const switched_stage *b, const node_ring *ring, double whole, double swing,
                                double charge)
{
    return b->phases * node_ring_loss(ring, whole, swing, charge) / b->cycle.period;
}

/* Tells the time in which nothing conducts apart for a part that blocks `voltage` meanwhile, ringing on the
 * average. A ring that has died has charged a diode to that voltage, by the share that has. A switch is not
 * told, as its frequency is that of its gate too. false: the scratch is full. */
static inline bool stress_rests(const switched_stage *b, double voltage, bool diode, const node_ring *ring,
                                hl_scratch *scratch, hl_stress *stress)
{
    double share = idle_time(b) / b->cycle.period;
    const double often = ring->died / b->cycle.period;
    const stress_stretch rest = {&share, &voltage};
    return stress_tell_charged(stress, 1, &rest, diode ? &often : NULL, scratch);
}

/* What the table of a switch that turns on with `current` A in one part holds is not told to its partner. */
static inline void leave_partner(const hl_terminal *starter, double current, bool diode, figure_store *s)
{
    double *told = diode ? &s->frequency : &s->off;
    if (diode || s->slope > 0.0) *told *= partner_share(starter, current);
}

/* Current at the start and end of a gate state. */
static inline double state_entry(const inductor_cycle *c, size_t state)
{
    for (size_t k = 0; k < c->spans; k++)
        if (c->span[k].state == state) return c->span[k].i0;
    return 0.0;
}

static inline double state_exit(const inductor_cycle *c, size_t state)
{
    double i = 0.0;
    for (size_t k = 0; k < c->spans; k++)
        if (c->span[k].state == state) i = c->span[k].i1;
    return i;
}

/* Currents of one of `count` parts: channel is bit `part` of who, its body path bit `body`; CYCLE_PARTS: has
 * none. Averages are given as magnitudes. */
static inline void stress_currents(const switched_stage *b, double count, int part, int body, figure_store *s,
                                   hl_stress *stress)
{
    const cycle_figures *f = &b->figures;
    double n = 1.0 / fmax(count, 1.0), reverse = body < CYCLE_PARTS ? f->average[body] : 0.0;
    double reverse_square = body < CYCLE_PARTS ? f->square[body] : 0.0;
    *s = (figure_store){.weight = 1.0,
                        .frequency = 1.0 / b->cycle.period,
                        .average = n * fabs(f->average[part]),
                        .rms = n * sqrt(f->square[part]),
                        .peak = n * fmax(fabs(f->peak), fabs(f->valley)),
                        .reverse = n * fabs(reverse),
                        .reverse_rms = n * sqrt(reverse_square),
                        .duty = span_time(&b->cycle, 1u << part) / b->cycle.period};
    attach(s, stress);
    stress->total_rms = n * sqrt(f->square[part] + reverse_square);
    stress->total_average = n * (f->average[part] + reverse);
    stress->total_peak = s->peak;
}

static inline void stress_inductor(const switched_stage *b, figure_store *s, const hl_wave *current,
                                   const hl_wave *flux, hl_stress *choke, hl_stress *sense)
{
    const cycle_figures *f = &b->figures;
    double rms = sqrt(f->ac_square + f->mean * f->mean), peak = fmax(fabs(f->peak), fabs(f->valley)),
           n = 1.0 / b->inductors;
    *s = (figure_store){.weight = 1.0,
                        .frequency = 1.0 / b->cycle.period,
                        .average = n * f->mean,
                        .rms = n * rms,
                        .peak = n * peak};
    attach(s, choke);
    choke->flux_voltage = flux;
    choke->windings = 1;
    choke->winding_current[0] = current;
    choke->flux_bias = b->cycle.output.inductance * f->mean;
    choke->voltage_peak = fmax(b->input, b->output);
    choke->total_rms = n * rms;
    choke->total_average = n * f->mean;
    choke->total_peak = n * peak;
    if (!(b->resistors > 0.0)) return;
    sense->struct_size = sizeof *sense;
    sense->total_rms = rms / b->resistors;
    sense->total_average = f->mean / b->resistors;
    sense->total_peak = peak / b->resistors;
}

/* ---------------------------------------------------------------- answer -- */

typedef struct switched_waves { /* taken from scratch */
    double weight, frequency;
    double ripple_in, ripple_out, ripple_voltage; /* A rms, A rms, V peak to peak; all phases */
    double peak_in, peak_out;                     /* A */
    figure_store choke;
    hl_wave input, output, part, flux;
    hl_segment segment[5][WAVE_SEGMENTS_MAX];
    hl_segment sum[2][PHASE_SUM_MAX];
} switched_waves;

static inline double ripple_rms(const hl_wave *wave)
{
    double mean = hl_wave_average(wave);
    return sqrt(fmax(hl_wave_mean_square(wave) - mean * mean, 0.0));
}

static inline void sum_phases(const switched_stage *b, switched_waves *a)
{
    a->input = (hl_wave){phase_sum(&a->input, b->cycle.period, b->phases, a->sum[0]), a->sum[0]};
    a->output = (hl_wave){phase_sum(&a->output, b->cycle.period, b->phases, a->sum[1]), a->sum[1]};
    a->ripple_in = ripple_rms(&a->input);
    a->ripple_out = ripple_rms(&a->output);
    a->ripple_voltage =
        b->capacitance > 0.0 ? phase_ripple(&a->output, b->phases * b->load, b->capacitance, b->esr) : 0.0;
    double low;
    hl_wave_peaks(&a->input, &a->peak_in, &low);
    hl_wave_peaks(&a->output, &a->peak_out, &low);
}

/* Measures the cycle and writes its waves; NULL when the scratch is full. */
static inline switched_waves *write_switched(switched_stage *b, hl_scratch *scratch)
{
    switched_waves *a = hl_scratch_take(scratch, sizeof *a);
    if (!a) return NULL;
    inductor_cycle *c = &b->cycle;
    cycle_figures *f = &b->figures;
    cycle_measure(c, f);
    a->weight = 1.0;
    a->frequency = 1.0 / c->period;
    unsigned through[WAVE_SEGMENTS_MAX];
    const hl_wave whole = {write_current(c, a->segment[0], through), a->segment[0]};
    a->part = a->input = a->output = whole;
    if (b->inductors > 1.0) a->part = share_current(&whole, through, ~0u, 1.0 / b->inductors, a->segment[1]);
    write_flux(c->output.inductance, whole.n, a->segment[0], a->segment[2]);
    a->flux = (hl_wave){whole.n, a->segment[2]};
    if (b->drawn != ~0u) a->input = share_current(&whole, through, b->drawn, 1.0, a->segment[3]);
    if (b->fed != ~0u) a->output = share_current(&whole, through, b->fed, 1.0, a->segment[4]);
    a->ripple_out = sqrt(f->fed_ac_square);
    a->ripple_voltage = b->capacitance > 0.0 ? f->highest - f->lowest : 0.0;
    a->peak_in = a->peak_out = fmax(f->peak, 0.0);
    double drawn = 0.0, square = 0.0;
    for (int p = 0; p < CYCLE_PARTS; p++)
        if (b->drawn != ~0u && b->drawn >> p & 1u) {
            drawn += f->average[p];
            square += f->square[p];
        }
    a->ripple_in = b->drawn == ~0u ? sqrt(f->ac_square) : sqrt(fmax(square - drawn * drawn, 0.0));
    if (b->phases > 1) sum_phases(b, a);
    return a;
}

/* Whether the cycle came out in numbers: absurd parts (a drive of megavolts, a time constant of attoseconds)
 * can overflow the closed forms. */
static inline hl_stage_status cycle_sound(const switched_stage *b, const switched_waves *a,
                                          hl_stage_output *out)
{
    const cycle_figures *f = &b->figures;
    const double each[] = {f->mean,      f->ac_square,  f->peak,           f->valley,       f->fed_ac_square,
                           a->ripple_in, a->ripple_out, a->ripple_voltage, b->cycle.period, b->on_time};
    bool sound = true;
    for (size_t k = 0; k < sizeof each / sizeof *each; k++) sound = sound && isfinite(each[k]);
    for (int p = 0; p < CYCLE_PARTS; p++) sound = sound && isfinite(f->average[p]) && isfinite(f->square[p]);
    if (sound) return HL_STAGE_SOLVED;
    return refuse(out,
                  "the parts of the %s stage are beyond what can be computed (%.3g V in, %.3g V out); check "
                  "the units of their values",
                  b->kind, b->input, b->output);
}

/* Mean current one phase draws from the input. */
static inline double drawn_by_phase(const switched_stage *b)
{
    if (b->drawn == ~0u) return b->figures.mean;
    double sum = 0.0;
    for (int p = 0; p < CYCLE_PARTS; p++)
        if (b->drawn >> p & 1u) sum += b->figures.average[p];
    return sum;
}

static inline void say_cycle(const switched_stage *b, const switched_waves *a, hl_stage_output *out)
{
    const cycle_figures *f = &b->figures;
    say(out, "switching_frequency", "Hz", 1.0 / b->cycle.period);
    say(out, "duty_ratio", "1", b->on_time / b->cycle.period);
    say(out, "on_time", "s", b->on_time);
    say(out, "inductor_current_average", "A", f->mean);
    say(out, "inductor_current_rms", "A", sqrt(f->ac_square + f->mean * f->mean));
    say(out, "inductor_current_peak", "A", f->peak);
    say(out, "inductor_current_valley", "A", f->valley);
    say(out, "inductor_current_ripple", "A", f->peak - f->valley);
    say(out, "inductor_current_ac_rms", "A", sqrt(f->ac_square));
    say(out, "input_current_average", "A", b->phases * drawn_by_phase(b));
    say(out, "input_capacitor_current_rms", "A", a->ripple_in);
    say(out, "output_capacitor_current_rms", "A", a->ripple_out);
    say(out, "output_voltage_ripple", "V", a->ripple_voltage);
}

/* Losses in series with the inductance, and in the output capacitor where the waveform holds it; says them
 * with the efficiency. `parts`: what the switches and diodes of one phase lose. Sets circuit_loss. */
static inline void say_series_losses(const switched_stage *b, double parts, hl_stage_output *out)
{
    const cycle_figures *f = &b->figures;
    double square = f->ac_square + f->mean * f->mean, m = b->phases, power = m * b->output * b->load;
    double winding = b->winding * square, sense = b->sense * square,
           esr = b->cycle.output.esr * f->fed_ac_square;
    out->circuit_loss = m * (parts + winding + sense + esr);
    if (HL_REACHES(out, bus_circuit_loss)) out->bus_circuit_loss = m * esr;
    say(out, "inductor_winding_loss", "W", m * winding);
    say(out, "sense_resistor_loss", "W", m * sense);
    say(out, "output_capacitor_loss", "W", m * esr);
    say(out, "conduction_efficiency", "1", power > 0.0 ? power / (power + out->circuit_loss) : 0.0);
}

static inline void fill_switched_sides(const hl_stage_input *in, const switched_stage *b,
                                       const switched_waves *a, hl_stage_output *out)
{
    hl_side *input = &out->input, *output = &out->output;
    input->voltage = input->voltage_peak = b->input;
    input->power = b->phases * drawn_by_phase(b) * b->input + in->extra_loss;
    input->current = input->power / b->input;
    input->current_peak = a->peak_in;
    output->voltage = b->output;
    output->current = b->load * b->phases;
    output->power = output->current * b->output;
    output->current_peak = a->peak_out;
    output->voltage_peak = b->output + 0.5 * a->ripple_voltage;
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

/* Conduction loss of a part: resistance and drop, with body path; drops oppose the current whichever way it
 * goes. */
static inline double part_loss(const cycle_figures *f, const hl_terminal *t, int part)
{
    return t->resistance * f->square[part] + t->voltage * f->average[part];
}

static inline double body_loss(const cycle_figures *f, const hl_terminal *t, int body)
{
    return t->reverse_resistance * f->square[body] + t->reverse_voltage * fabs(f->average[body]);
}

#endif
