/* synchronous_buck.c - buck stage: a high switch, a low switch or diode, one inductor per phase.
 *
 * The cycle is high side on | dead time | low side on | dead time. In a dead time the current flows in a body
 * path, low side when positive, high side (back into the input) when negative, and rests once it comes to
 * zero. The on-time is solved so that the mean output voltage is the one wanted. docs/theory/buck.md source:
 * R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 3 and 5 (modes and
 * averages); the exact currents by inductor_cycle.h */
#include "heatledger/plugin.h"
#include "switched_stage.h"

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
    {"high_switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "from the input to the switch node, of each phase", NULL},
    {"low_switch", HL_FITS(HL_FAMILY_SWITCH) | HL_FITS(HL_FAMILY_DIODE), HL_REQUIRED, 1, "synchronous switch, or diode, from the switch node to ground, of each phase", NULL},
    {"inductor", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "inductor of each phase", NULL},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "in series with the inductor of each phase", HL_KINDS("resistor", "trace", "wire")},
};
/* clang-format on */

typedef struct buck {
    switched_stage is;
    hl_terminal high, low;
    double dead_fall, dead_rise;
    bool diode, forced;
    node_ring ring; /* of the solved cycle */
} buck;

static unsigned positions(const hl_value *values, size_t slot)
{
    (void)slot;
    return phases_stated(&values[PHASES]);
}

/* --------------------------------------------------------------- circuit -- */

static inductor_path path_of(const buck *b, double source, double resistance, unsigned who)
{
    return (inductor_path){source, resistance + b->is.winding + b->is.sense, true, who};
}

/* The gate states of one cycle. The control is the on-time, or with `skipping` the time from pulse to pulse.
 */
static void set_states(buck *b, bool skipping)
{
    double input = b->is.input, on_time = b->is.on_time;
    inductor_path on = path_of(b, input - b->high.voltage, b->high.resistance, IN_HIGH);
    inductor_path low_body = path_of(b, -b->low.reverse_voltage, b->low.reverse_resistance, IN_LOW_BODY);
    inductor_path high_body =
        path_of(b, input + b->high.reverse_voltage, b->high.reverse_resistance, IN_HIGH_BODY);
    inductor_path low_on = path_of(b, -b->low.voltage, b->low.resistance, IN_LOW);
    inductor_cycle *c = &b->is.cycle;
    double rate = skipping ? 0.0 : 1.0, base = skipping ? on_time : 0.0;
    double rest = (skipping ? -on_time : b->is.period) - b->dead_fall - b->dead_rise;
    size_t n = 0;
    c->state[n++] = (gate_state){on, on, true, base, rate};
    if (!b->diode) c->state[n++] = (gate_state){low_body, high_body, false, b->dead_fall, 0.0};
    c->state[n++] = (gate_state){low_on, high_body, b->forced && !b->diode, rest, skipping ? 1.0 : -1.0};
    if (!b->diode) c->state[n++] = (gate_state){low_body, high_body, false, b->dead_rise, 0.0};
    c->states = n;
    c->control_floor = skipping ? on_time + b->dead_fall + b->dead_rise : 0.0;
    c->control_limit = b->is.on_limit;
}

static hl_stage_status look(const hl_stage_input *in, buck *b, hl_stage_output *out)
{
    const hl_value *v = in->values;
    b->is.kind = "buck";
    b->is.phases = phases_stated(&v[PHASES]);
    b->is.drawn = IN_HIGH | IN_HIGH_BODY;
    b->is.fed = ~0u;
    hl_stage_status status = look_at_demand(in, &v[OUTPUT_VOLTAGE], &v[FREQUENCY], &b->is, out);
    if (status == HL_STAGE_SOLVED)
        status = look_at_inductor(in, INDUCTOR, SENSE, &v[INDUCTANCE], &b->is, out);
    if (status != HL_STAGE_SOLVED) return status;
    b->high = slot_terminal(&in->slot[HIGH], b->is.input);
    b->low = slot_terminal(&in->slot[LOW], b->is.input);
    b->diode = slot_filled(&in->slot[LOW]) && in->slot[LOW].device->family == HL_FAMILY_DIODE;
    if (!part_sound(&b->high) || !part_sound(&b->low))
        return refuse(out,
                      "a part of the %s stage shows a resistance or drop that is negative or no number; "
                      "check the parts in its slots",
                      b->is.kind);
    b->dead_fall = b->diode ? 0.0 : fmax(stated(&v[DEAD_FALL]), 0.0);
    b->dead_rise = b->diode ? 0.0 : fmax(stated(&v[DEAD_RISE]), 0.0);
    b->forced = !b->diode && (int)stated(&v[LIGHT_LOAD]) == FORCED_CONTINUOUS;
    return limit_on_time(&v[MAXIMUM_DUTY], b->dead_fall + b->dead_rise, &b->is, out);
}

/* ----------------------------------------------------------------- solve -- */

/* Volt-seconds with the mean current in every resistance; exact but for the ripple.
 * source: Erickson and Maksimovic (2001), sect. 3.2 to 3.5 */
static double reachable_voltage(const buck *b, double on)
{
    double i = b->is.load, dead = b->dead_fall + b->dead_rise, off = b->is.period - on - dead;
    double area = on * (b->is.input - b->high.voltage - b->high.resistance * i) -
                  off * (b->low.voltage + b->low.resistance * i) -
                  dead * (b->low.reverse_voltage + b->low.reverse_resistance * i);
    return area / b->is.period - (b->is.winding + b->is.sense) * i;
}

static hl_stage_status out_of_reach(const buck *b, hl_stage_output *out)
{
    snprintf(
        out->reason.text, sizeof out->reason.text,
        "asks for %.4g V, but from %.4g V at %.4g A the largest duty ratio of %.1f %% reaches at most %.4g V "
        "after the drops; lower the output voltage or the load, or raise the input or maximum_duty",
        b->is.output, b->is.input, b->is.load * b->is.phases, 100.0 * b->is.on_limit / b->is.period,
        reachable_voltage(b, b->is.on_limit));
    return HL_STAGE_INFEASIBLE;
}

/* Where Newton starts: volt-seconds of the two modes.
 * source: Erickson and Maksimovic (2001), sect. 2.2 (continuous), 5.2 (discontinuous) */
static void first_guess(const buck *b, double *on, double *current)
{
    double l = b->is.cycle.output.inductance, full = b->is.period, least = reachable_voltage(b, 0.0);
    double t = (b->is.output - least) / (reachable_voltage(b, full) - least) * full;
    double fall = (b->is.output + b->low.voltage) / l, rise = (b->is.input - b->is.output) / l;
    *current = b->is.load - 0.5 * fall * (full - t);
    if (!b->forced && *current < 0.0 && rise > 0.0) {
        *current = 0.0;
        t = sqrt(2.0 * b->is.load * full * fall / (rise * (rise + fall)));
    } else if (*current < 0.0) { /* the current reverses: the second dead time lifts the node to the input */
        t -= b->dead_rise * (b->is.input + b->high.reverse_voltage + b->low.reverse_voltage) / b->is.input;
        *current += b->dead_rise * rise;
    }
    *on = fmin(fmax(t, 1e-3 * b->is.on_limit), b->is.on_limit);
}

static hl_stage_status skip(const hl_stage_input *in, buck *b, bool *solved, hl_stage_output *out)
{
    double resistance = b->high.resistance + b->is.winding + b->is.sense,
           drive = b->is.input - b->high.voltage - b->is.output;
    double l = b->is.cycle.output.inductance;
    double on = skip_on_time(&b->is, &in->values[SKIP_ON_TIME], &in->values[SKIP_PEAK], drive, resistance);
    if (!(drive > 0.0) || !(on > 0.0) || (*solved && (b->is.on_time >= on || b->is.cycle.current > 0.0)))
        return HL_STAGE_SOLVED;
    b->is.on_time = on;
    set_states(b, true);
    double fall = b->is.output + b->low.voltage, charge = 0.5 * on * on * drive / l * (drive + fall) / fall;
    return settle_skipping(&b->is, charge, solved, out);
}

static hl_stage_status run(const hl_stage_input *in, buck *b, hl_stage_output *out)
{
    double guess, current, least = stated(&in->values[MINIMUM_ON_TIME]);
    if (!(reachable_voltage(b, b->is.on_limit) > 0.98 * b->is.output) && b->is.load > 0.0)
        return out_of_reach(b, out);
    set_states(b, false);
    first_guess(b, &guess, &current);
    bool solved = settle_from(in->memory, &b->is, guess, current);
    b->is.on_time = b->is.cycle.control;
    if (!b->forced && (int)stated(&in->values[LIGHT_LOAD]) == PULSE_SKIPPING) {
        hl_stage_status status = skip(in, b, &solved, out);
        if (status != HL_STAGE_SOLVED) return status;
    }
    if (!solved && !(reachable_voltage(b, b->is.on_limit) > 1.0001 * b->is.output))
        return out_of_reach(b, out);
    if (!solved)
        return refuse(out,
                      "no steady cycle of the %s stage was found that gives %.4g V at %.4g A; check its "
                      "inductance and frequency, or lower the load",
                      b->is.kind, b->is.output, b->is.load * b->is.phases);
    if (b->is.on_time < least * (1.0 - 1e-9))
        return refuse(out,
                      "the %s stage needs an on-time of %.3g ns but the controller makes at least %.3g ns; "
                      "lower the frequency or let it skip pulses",
                      b->is.kind, 1e9 * b->is.on_time, 1e9 * least);
    return HL_STAGE_SOLVED;
}

/* --------------------------------------------------------------- figures -- */

enum { FIG_HIGH, FIG_LOW, FIG_LOW_BODY, FIG_HIGH_BODY }; /* bit numbers of IN_... */

static void report(const buck *b, const switched_waves *a, hl_stage_output *out)
{
    const cycle_figures *f = &b->is.figures;
    double m = b->is.phases, high = part_loss(f, &b->high, FIG_HIGH), low = part_loss(f, &b->low, FIG_LOW);
    double body = body_loss(f, &b->low, FIG_LOW_BODY) + body_loss(f, &b->high, FIG_HIGH_BODY);
    say_cycle(&b->is, a, out);
    say(out, "high_switch_current_rms", "A", sqrt(f->square[FIG_HIGH]));
    say(out, "high_switch_current_average", "A", f->average[FIG_HIGH]);
    say(out, "low_switch_current_rms", "A", sqrt(f->square[FIG_LOW]));
    say(out, "low_switch_current_average", "A", f->average[FIG_LOW]);
    say(out, "low_body_current_average", "A", f->average[FIG_LOW_BODY]);
    say(out, "low_body_current_rms", "A", sqrt(f->square[FIG_LOW_BODY]));
    say(out, "high_body_current_average", "A", -f->average[FIG_HIGH_BODY]);
    say(out, "high_body_current_rms", "A", sqrt(f->square[FIG_HIGH_BODY]));
    say(out, "turn_on_current", "A", b->is.cycle.current);
    say(out, "turn_off_current", "A", state_exit(&b->is.cycle, 0));
    say(out, "high_switch_conduction_loss", "W", m * high);
    say(out, "low_switch_conduction_loss", "W", m * low);
    say(out, "body_conduction_loss", "W", m * body);
    say_series_losses(&b->is, high + low + body, out);
}

/* ---------------------------------------------------------------- stress -- */

static double node_charge(const buck *b)
{
    return b->high.output_charge + b->low.output_charge;
}

/* From rest, about the output. */
static node_ring node_rings(const buck *b)
{
    return ring_of(&b->is, b->is.input, b->is.output, node_charge(b));
}

/* What the high switch still blocks when it turns on. Hard while the low side conducts; from rest the node
 * rings (node_ring.h); with negative current the node has risen by the charge i t / C, C = Q(V)/V of both
 * switches. source: charge balance at the switch node; constant current over the dead time */
static double residual_voltage(const buck *b)
{
    double i = b->is.cycle.current, charge = node_charge(b);
    if (i > 0.0) return b->is.input;
    if (!(i < 0.0)) return b->ring.left;
    double swing = charge > 0.0 ? -i * b->dead_rise / charge : 1.0;
    return swing < 1.0 ? b->is.input * (1.0 - swing) : 0.0;
}

static void stress_high(const buck *b, double count, figure_store *s, hl_stress *stress)
{
    double n = 1.0 / fmax(count, 1.0);
    stress_currents(&b->is, count, FIG_HIGH, FIG_HIGH_BODY, s, stress);
    s->on = n * fmax(b->is.cycle.current, 0.0);
    s->off = n * fmax(state_exit(&b->is.cycle, 0), 0.0);
    s->voltage_on = residual_voltage(b);
    s->swing = b->diode ? 0.0 : s->voltage_on; /* a diode books its own charge */
    s->voltage_off = b->is.input;
    stress->voltage_dc = b->is.input - b->is.output;
    stress->voltage_peak = b->is.input + b->low.reverse_voltage;
}

/* The low switch. slope_off > 0: current_off is what its diode carries as the high switch commutates it (the
 * channel itself opened into its own diode, at no voltage). slope_off = 0: the channel interrupts
 * current_off, reversed by then, and the node rises. */
static void stress_low(const buck *b, double count, double slope, figure_store *s, hl_stress *stress)
{
    const inductor_cycle *c = &b->is.cycle;
    double n = 1.0 / fmax(count, 1.0), before = 0.0;
    size_t low_state = b->diode ? 1 : 2;
    double at_on = state_entry(c, low_state), at_off = state_exit(c, low_state);
    if (!b->diode && at_on <= 0.0)
        before = at_on < 0.0 ? b->is.input : b->is.output; /* no diode brought the node down */
    bool commutated = c->current > 0.0;
    stress_currents(&b->is, count, FIG_LOW, FIG_LOW_BODY, s, stress);
    s->on = n * fmax(-at_on, 0.0);
    s->off = n * (commutated ? c->current : fmax(-at_off, 0.0));
    s->voltage_on = before;
    s->swing = b->diode && !commutated ? residual_voltage(b) : before; /* from rest, with its node */
    s->voltage_off = b->is.input;
    s->slope = commutated ? n * slope : 0.0;
    stress->voltage_dc = b->is.output;
    stress->voltage_peak = b->is.input + b->high.reverse_voltage;
}

typedef struct part_stress { /* taken from scratch */
    figure_store high, low;
} part_stress;

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    buck b;
    clear_switched(&b.is);
    hl_stage_status status = look(in, &b, out);
    if (status != HL_STAGE_SOLVED) return status;
    if (!b.forced && !(b.is.load > 0.0) && b.is.output < b.is.input) {
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
    stress_high(&b, filled(&in->slot[HIGH]), &parts->high, &out->stress[HIGH]);
    stress_low(&b, filled(&in->slot[LOW]), stated(&in->values[COMMUTATION_SLOPE]), &parts->low,
               &out->stress[LOW]);
    leave_partner(&b.high, parts->high.on, b.diode, &parts->low);
    partner_heats(out, LOW, HIGH, b.diode);
    double own = b.diode ? b.high.output_charge : node_charge(&b); /* a diode is told itself */
    if (HL_REACHES(out, node_loss))
        out->node_loss[INDUCTOR] = ring_power(&b.is, &b.ring, b.is.input, b.is.output, own);
    if (!stress_rests(&b.is, b.is.output, b.diode, &b.ring, in->scratch, &out->stress[LOW]))
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
    .name = "synchronous_buck",
    .title = "buck stage, synchronous or with a diode",
    .source = "R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 3, 5",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("synchronous_buck", "0.1.0", "heatledger", "MIT", &model);
