/* boost.c - dc boost stage: an inductor from the input, a switch to ground, a diode or synchronous switch to
 * the output.
 *
 * The cycle is switch on | dead time | rectifier on | dead time. In a dead time the current flows through the
 * rectifier's diode when positive, through the switch's diode when negative, and rests once it comes to zero.
 * The on-time is solved so that the mean output voltage is the one wanted. docs/theory/buck.md source: R. W.
 * Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 3 and 5 (modes and
 * averages); the exact currents by inductor_cycle.h */
#include "heatledger/plugin.h"
#include "switched_stage.h"

enum { SWITCH, RECTIFIER, INDUCTOR, SENSE, SLOTS };
enum {
    IN_SWITCH = 1,
    IN_RECTIFIER = 2,
    IN_RECTIFIER_BODY = 4,
    IN_SWITCH_BODY = 8
};                                                                       /* bits of inductor_path.who */
enum { FIG_SWITCH, FIG_RECTIFIER, FIG_RECTIFIER_BODY, FIG_SWITCH_BODY }; /* their numbers */

enum {
    FREQUENCY,
    OUTPUT_VOLTAGE,
    LIGHT_LOAD,
    DEAD_TIME,
    SKIP_ON_TIME,
    SKIP_PEAK,
    MAXIMUM_DUTY,
    PHASES,
    INDUCTANCE,
    COMMUTATION_SLOPE,
    PARAMETERS
};
static const char *const light_loads[] = {"forced_continuous", "diode_emulation", "pulse_skipping", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"switching_frequency", "Hz", HL_NUMBER, HL_REQUIRED, 0, 10e3, 20e6, NULL, NULL, "frequency at which the switch turns on", "timing part, or measured"},
    {"output_voltage", "V", HL_NUMBER, 0, 0, 0.5, 1000, NULL, NULL, "voltage it regulates to; absent: what the port asks", "feedback divider, or measured"},
    {"light_load", "1", HL_CHOICE, HL_DEFAULT, DIODE_EMULATION, 0, 0, NULL, light_loads, "forced_continuous: a synchronous rectifier lets the current reverse; diode_emulation: it opens at zero current; pulse_skipping: that, and pulses are left out", "controller's data sheet"},
    {"dead_time", "s", HL_NUMBER, HL_DEFAULT, 20e-9, 0, 2e-6, NULL, NULL, "each dead time of a synchronous rectifier", "measured; 20 ns is common practice"},
    {"skip_on_time", "s", HL_NUMBER, 0, 0, 5e-9, 100e-6, NULL, NULL, "pulse_skipping: shortest pulse; with less load pulses are left out", "controller's data sheet, or measured"},
    {"skip_peak_current", "A", HL_NUMBER, 0, 0, 1e-3, 200, NULL, NULL, "pulse_skipping: a pulse lasts at least up to this current, of one phase", "controller's data sheet, or measured"},
    {"maximum_duty", "1", HL_NUMBER, HL_DEFAULT, 0.95, 0.05, 0.995, NULL, NULL, "largest on-time over period", "controller's data sheet"},
    {"phases", "1", HL_NUMBER, HL_DEFAULT, 1, 1, WAVE_PHASES_MAX, NULL, NULL, "equal phases, interleaved", "board"},
    {"inductance", "H", HL_NUMBER, 0, 0, 10e-9, 10e-3, NULL, NULL, "overrides the inductance of the inductor part", "measured"},
    {"commutation_slope", "A/s", HL_NUMBER, HL_DEFAULT, 3e8, 1e6, 1e11, NULL, NULL, "di/dt at which the switch takes over from the rectifier", "measured; 300 A/us is common practice"},
};

static const hl_slot slots[SLOTS] = {
    {"switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "from the switch node to ground, of each phase", NULL},
    {"rectifier", HL_FITS(HL_FAMILY_DIODE) | HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "diode, or synchronous switch, from the switch node to the output, of each phase", NULL},
    {"inductor", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "inductor of each phase", NULL},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "in series with the inductor of each phase", HL_KINDS("resistor", "trace", "wire")},
};
/* clang-format on */

typedef struct boost {
    switched_stage is;
    hl_terminal low, high; /* switch and rectifier */
    double dead;
    bool diode, forced;
    node_ring ring; /* of the solved cycle */
} boost;

static unsigned positions(const hl_value *values, size_t slot)
{
    (void)slot;
    return phases_stated(&values[PHASES]);
}

/* --------------------------------------------------------------- circuit -- */

static inductor_path path_of(const boost *b, double source, double resistance, bool feeds, unsigned who)
{
    return (inductor_path){source, resistance + b->is.winding + b->is.sense, feeds, who};
}

/* The gate states of one cycle. The control is the on-time, or with `skipping` the time from pulse to pulse.
 */
static void set_states(boost *b, bool skipping)
{
    double input = b->is.input, on_time = b->is.on_time;
    inductor_path on = path_of(b, input - b->low.voltage, b->low.resistance, false, IN_SWITCH);
    inductor_path body =
        path_of(b, input - b->high.reverse_voltage, b->high.reverse_resistance, true, IN_RECTIFIER_BODY);
    inductor_path back =
        path_of(b, input + b->low.reverse_voltage, b->low.reverse_resistance, false, IN_SWITCH_BODY);
    inductor_path off = path_of(b, input - b->high.voltage, b->high.resistance, true, IN_RECTIFIER);
    inductor_cycle *c = &b->is.cycle;
    double rate = skipping ? 0.0 : 1.0, base = skipping ? on_time : 0.0;
    double rest = (skipping ? -on_time : b->is.period) - 2.0 * b->dead;
    size_t n = 0;
    c->state[n++] = (gate_state){on, on, true, base, rate};
    if (!b->diode) c->state[n++] = (gate_state){body, back, false, b->dead, 0.0};
    c->state[n++] = (gate_state){off, back, b->forced && !b->diode, rest, skipping ? 1.0 : -1.0};
    if (!b->diode) c->state[n++] = (gate_state){body, back, false, b->dead, 0.0};
    c->states = n;
    c->control_floor = skipping ? on_time + 2.0 * b->dead : 0.0;
    c->control_limit = b->is.on_limit;
}

static hl_stage_status look(const hl_stage_input *in, boost *b, hl_stage_output *out)
{
    const hl_value *v = in->values;
    b->is.kind = "boost";
    b->is.phases = phases_stated(&v[PHASES]);
    b->is.drawn = ~0u;
    b->is.fed = IN_RECTIFIER | IN_RECTIFIER_BODY;
    hl_stage_status status = look_at_demand(in, &v[OUTPUT_VOLTAGE], &v[FREQUENCY], &b->is, out);
    if (status == HL_STAGE_SOLVED)
        status = look_at_inductor(in, INDUCTOR, SENSE, &v[INDUCTANCE], &b->is, out);
    if (status != HL_STAGE_SOLVED) return status;
    b->low = slot_terminal(&in->slot[SWITCH], b->is.output);
    b->high = slot_terminal(&in->slot[RECTIFIER], b->is.output);
    b->diode = slot_filled(&in->slot[RECTIFIER]) && in->slot[RECTIFIER].device->family == HL_FAMILY_DIODE;
    if (!part_sound(&b->low) || !part_sound(&b->high))
        return refuse(out,
                      "a part of the %s stage shows a resistance or drop that is negative or no number; "
                      "check the parts in its slots",
                      b->is.kind);
    b->dead = b->diode ? 0.0 : fmax(stated(&v[DEAD_TIME]), 0.0);
    b->forced = !b->diode && (int)stated(&v[LIGHT_LOAD]) == FORCED_CONTINUOUS;
    return limit_on_time(&v[MAXIMUM_DUTY], 2.0 * b->dead, &b->is, out);
}

/* ----------------------------------------------------------------- solve -- */

/* Mean output voltage at on-time `on` with the mean current I T / (T - on) in every resistance; exact but for
 * ripple. source: Erickson and Maksimovic (2001), sect. 3.2 to 3.5 */
static double reachable_voltage(const boost *b, double on)
{
    double off = b->is.period - on, i = b->is.load * b->is.period / off, dead = fmin(2.0 * b->dead, off);
    double area = b->is.period * (b->is.input - (b->is.winding + b->is.sense) * i) -
                  on * (b->low.voltage + b->low.resistance * i) -
                  (off - dead) * (b->high.voltage + b->high.resistance * i) -
                  dead * (b->high.reverse_voltage + b->high.reverse_resistance * i);
    return area / off;
}

/* On-time in (0, limit] of the highest reachable voltage: golden section on a function with one maximum. */
static double best_on_time(const boost *b)
{
    double low = 0.0, high = b->is.on_limit, ratio = 0.6180339887498949;
    for (int k = 0; k < 60; k++) {
        double left = high - ratio * (high - low), right = low + ratio * (high - low);
        if (reachable_voltage(b, left) < reachable_voltage(b, right))
            low = left;
        else
            high = right;
    }
    return 0.5 * (low + high);
}

/* Why it cannot be: the input passes through, or the resistances limit the gain. */
static hl_stage_status out_of_reach(const boost *b, hl_stage_output *out)
{
    double through = reachable_voltage(b, 0.0), best = best_on_time(b);
    if (b->is.output <= through)
        snprintf(out->reason.text, sizeof out->reason.text,
                 "asks for %.4g V, but %.4g V in passes through at %.4g A as %.4g V; a boost stage gives no "
                 "less: raise the "
                 "output voltage, lower the input, or use a buck or four-switch stage",
                 b->is.output, b->is.input, b->is.load * b->is.phases, through);
    else
        snprintf(out->reason.text, sizeof out->reason.text,
                 "asks for %.4g V, but from %.4g V at %.4g A it reaches at most %.4g V, at a duty ratio of "
                 "%.1f %%; lower the "
                 "output voltage, the load or the resistances, or raise maximum_duty",
                 b->is.output, b->is.input, b->is.load * b->is.phases, reachable_voltage(b, best),
                 100.0 * best / b->is.period);
    return HL_STAGE_INFEASIBLE;
}

/* Where Newton starts. Continuous: V D'^2 - Vin D' + I R = 0, its larger root; discontinuous: I T = Vin^2
 * ton^2 / 2 L (V - Vin). source: Erickson and Maksimovic (2001), sect. 3.2 and 5.3, rearranged */
static void first_guess(const boost *b, double *on, double *current)
{
    double l = b->is.cycle.output.inductance, v = b->is.output + b->high.voltage, vin = b->is.input;
    double r = b->is.winding + b->is.sense + fmax(b->low.resistance, b->high.resistance);
    double root = sqrt(fmax(vin * vin - 4.0 * v * b->is.load * r, 0.0)), off = 0.5 * (vin + root) / v;
    double t = fmin(fmax(b->is.period * (1.0 - off) - b->dead, 1e-3 * b->is.on_limit), b->is.on_limit);
    *current = b->is.load / off - 0.5 * vin * t / l;
    if (!b->forced && *current < 0.0) {
        *current = 0.0;
        t = sqrt(2.0 * l * b->is.load * b->is.period * (v - vin)) / vin;
    }
    *on = fmin(fmax(t, 1e-3 * b->is.on_limit), b->is.on_limit);
}

static hl_stage_status skip(const hl_stage_input *in, boost *b, bool *solved, hl_stage_output *out)
{
    double resistance = b->low.resistance + b->is.winding + b->is.sense, drive = b->is.input - b->low.voltage;
    double l = b->is.cycle.output.inductance;
    double on = skip_on_time(&b->is, &in->values[SKIP_ON_TIME], &in->values[SKIP_PEAK], drive, resistance);
    if (!(on > 0.0) || (*solved && (b->is.on_time >= on || b->is.cycle.current > 0.0)))
        return HL_STAGE_SOLVED;
    b->is.on_time = on;
    set_states(b, true);
    double charge = 0.5 * on * on * drive * drive / l / (b->is.output + b->high.voltage - b->is.input);
    return settle_skipping(&b->is, charge, solved, out);
}

static hl_stage_status run(const hl_stage_input *in, boost *b, hl_stage_output *out)
{
    double guess, current;
    if (!(b->is.output + b->high.voltage > b->is.input)) return out_of_reach(b, out);
    set_states(b, false);
    first_guess(b, &guess, &current);
    bool solved = settle_from(in->memory, &b->is, guess, current);
    b->is.on_time = b->is.cycle.control;
    if (!b->forced && (int)stated(&in->values[LIGHT_LOAD]) == PULSE_SKIPPING) {
        hl_stage_status status = skip(in, b, &solved, out);
        if (status != HL_STAGE_SOLVED) return status;
    }
    if (solved) return HL_STAGE_SOLVED;
    if (!(reachable_voltage(b, 0.0) < 0.9999 * b->is.output) ||
        !(reachable_voltage(b, best_on_time(b)) > 1.0001 * b->is.output))
        return out_of_reach(b, out);
    return refuse(out,
                  "no steady cycle of the %s stage was found that gives %.4g V at %.4g A; check its "
                  "inductance and frequency, or lower the load",
                  b->is.kind, b->is.output, b->is.load * b->is.phases);
}

/* --------------------------------------------------------------- figures -- */

static void report(const boost *b, const switched_waves *a, hl_stage_output *out)
{
    const cycle_figures *f = &b->is.figures;
    double m = b->is.phases, low = part_loss(f, &b->low, FIG_SWITCH),
           high = part_loss(f, &b->high, FIG_RECTIFIER);
    double body = body_loss(f, &b->high, FIG_RECTIFIER_BODY) + body_loss(f, &b->low, FIG_SWITCH_BODY);
    say_cycle(&b->is, a, out);
    say(out, "switch_current_rms", "A", sqrt(f->square[FIG_SWITCH]));
    say(out, "switch_current_average", "A", f->average[FIG_SWITCH]);
    say(out, "rectifier_current_rms", "A", sqrt(f->square[FIG_RECTIFIER]));
    say(out, "rectifier_current_average", "A", f->average[FIG_RECTIFIER]);
    say(out, "rectifier_body_current_average", "A", f->average[FIG_RECTIFIER_BODY]);
    say(out, "rectifier_body_current_rms", "A", sqrt(f->square[FIG_RECTIFIER_BODY]));
    say(out, "switch_body_current_average", "A", -f->average[FIG_SWITCH_BODY]);
    say(out, "switch_body_current_rms", "A", sqrt(f->square[FIG_SWITCH_BODY]));
    say(out, "turn_on_current", "A", b->is.cycle.current);
    say(out, "turn_off_current", "A", state_exit(&b->is.cycle, 0));
    say(out, "switch_conduction_loss", "W", m * low);
    say(out, "rectifier_conduction_loss", "W", m * high);
    say(out, "body_conduction_loss", "W", m * body);
    say_series_losses(&b->is, low + high + body, out);
}

/* ---------------------------------------------------------------- stress -- */

static double node_charge(const boost *b)
{
    return b->low.output_charge + b->high.output_charge;
}

/* V from the output down to where the node rests. */
static double rest_swing(const boost *b)
{
    return fmax(b->is.output - b->is.input, 0.0);
}

static node_ring node_rings(const boost *b)
{
    return ring_of(&b->is, b->is.output, rest_swing(b), node_charge(b));
}

/* What the switch still blocks at turn-on: the output while the rectifier conducts, from rest what the node's
 * ring leaves (node_ring.h), less the charge a negative current has taken off the node within the dead time.
 * source: charge balance at the switch node; constant current over the dead time */
static double residual_voltage(const boost *b)
{
    double i = b->is.cycle.current, charge = node_charge(b);
    if (i > 0.0) return b->is.output;
    if (!(i < 0.0)) return b->ring.left;
    double swing = charge > 0.0 ? -i * b->dead / charge : 1.0;
    return swing < 1.0 ? b->is.output * (1.0 - swing) : 0.0;
}

static void stress_switch(const boost *b, double count, figure_store *s, hl_stress *stress)
{
    double n = 1.0 / fmax(count, 1.0);
    stress_currents(&b->is, count, FIG_SWITCH, FIG_SWITCH_BODY, s, stress);
    s->on = n * fmax(b->is.cycle.current, 0.0);
    s->off = n * fmax(state_exit(&b->is.cycle, 0), 0.0);
    s->voltage_on = residual_voltage(b);
    s->swing = b->diode ? 0.0 : s->voltage_on;
    s->voltage_off = b->is.output;
    stress->voltage_dc = b->is.input;
    stress->voltage_peak = b->is.output + (b->diode ? b->high.voltage : b->high.reverse_voltage);
}

/* As the low switch of a buck stage: slope_off > 0 tells that current_off is commutated out of its diode. */
static void stress_rectifier(const boost *b, double count, double slope, figure_store *s, hl_stress *stress)
{
    const inductor_cycle *c = &b->is.cycle;
    double n = 1.0 / fmax(count, 1.0), before = 0.0;
    size_t state = b->diode ? 1 : 2;
    double at_on = state_entry(c, state), at_off = state_exit(c, state);
    if (!b->diode && at_on <= 0.0) before = at_on < 0.0 ? b->is.output : rest_swing(b);
    bool commutated = c->current > 0.0;
    stress_currents(&b->is, count, FIG_RECTIFIER, FIG_RECTIFIER_BODY, s, stress);
    s->on = n * fmax(-at_on, 0.0);
    s->off = n * (commutated ? c->current : fmax(-at_off, 0.0));
    s->voltage_on = before;
    s->swing = b->diode && !commutated ? residual_voltage(b) : before; /* from rest, with its node */
    s->voltage_off = b->is.output;
    s->slope = commutated ? n * slope : 0.0;
    stress->voltage_dc = b->is.output - b->is.input;
    stress->voltage_peak = b->is.output + b->low.reverse_voltage;
}

typedef struct part_stress { /* taken from scratch */
    figure_store low, high;
} part_stress;

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    boost b;
    clear_switched(&b.is);
    hl_stage_status status = look(in, &b, out);
    if (status != HL_STAGE_SOLVED) return status;
    if (!b.forced && !(b.is.load > 0.0) && b.is.output > b.is.input) {
        rest_switched(in, &b.is, SLOTS, out);
        return HL_STAGE_SOLVED;
    }
    status = run(in, &b, out);
    if (status != HL_STAGE_SOLVED) return status;
    part_stress *parts = hl_scratch_take(in->scratch, sizeof *parts);
    switched_waves *waves = parts ? write_switched(&b.is, in->scratch) : NULL;
    if (!waves) return HL_STAGE_NO_MEMORY;
    status = cycle_sound(&b.is, waves, out);
    if (status != HL_STAGE_SOLVED) return status;
    report(&b, waves, out);
    b.ring = node_rings(&b);
    stress_switch(&b, filled(&in->slot[SWITCH]), &parts->low, &out->stress[SWITCH]);
    stress_rectifier(&b, filled(&in->slot[RECTIFIER]), stated(&in->values[COMMUTATION_SLOPE]), &parts->high,
                     &out->stress[RECTIFIER]);
    leave_partner(&b.low, parts->low.on, b.diode, &parts->high);
    partner_heats(out, RECTIFIER, SWITCH, b.diode);
    double own = b.diode ? b.low.output_charge : node_charge(&b); /* a diode is told itself */
    if (HL_REACHES(out, node_loss))
        out->node_loss[INDUCTOR] = ring_power(&b.is, &b.ring, b.is.output, rest_swing(&b), own);
    if (!stress_rests(&b.is, rest_swing(&b), b.diode, &b.ring, in->scratch, &out->stress[RECTIFIER]))
        return HL_STAGE_NO_MEMORY;
    stress_inductor(&b.is, &waves->choke, &waves->part, &waves->flux, &out->stress[INDUCTOR],
                    &out->stress[SENSE]);
    fill_switched_sides(in, &b.is, waves, out);
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
    .memory_size = sizeof(past_points),
    .scratch_size = sizeof(switched_waves) + sizeof(part_stress) + STRETCH_SCRATCH(1, 1) + 64,
    .positions = positions,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "boost",
    .title = "dc boost stage, with a diode or synchronous",
    .source = "R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 3, 5",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("boost", "0.1.0", "heatledger", "MIT", &model);
