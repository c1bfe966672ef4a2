/* four_switch_buck_boost.c - a buck leg and a boost leg around one inductor: output below, at or above the
 * input.
 *
 * Well below the input only the input leg switches, well above only the output leg. In between both do, in
 * one cycle: charge (input to ground) | pass (input to output) | discharge (ground to output), the discharge
 * held at a fixed share of the period. The simultaneous mode switches both legs together without the pass.
 * docs/theory/buck.md source: R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001,
 * ch. 2, 5 and 6 (the cascade of buck and boost); where the modes meet: common practice, no source; the exact
 * currents by inductor_cycle.h */
#include "four_switch_legs.h"
#include "heatledger/plugin.h"

enum { INDUCTOR = LEG_PARTS, SENSE, SLOTS };
enum { BUCK, TRANSITION, BOOST, SIMULTANEOUS };
enum { AUTOMATIC, ALWAYS_SIMULTANEOUS };
enum {
    FREQUENCY,
    OUTPUT_VOLTAGE,
    LIGHT_LOAD,
    MODULATION,
    TRANSITION_DUTY,
    DEAD_TIME,
    SKIP_ON_TIME,
    SKIP_PEAK,
    MAXIMUM_DUTY,
    INDUCTANCE,
    COMMUTATION_SLOPE,
    PARAMETERS
};
static const char *const light_loads[] = {"forced_continuous", "diode_emulation", "pulse_skipping", NULL};
static const char *const modulations[] = {"automatic", "simultaneous", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"switching_frequency", "Hz", HL_NUMBER, HL_REQUIRED, 0, 10e3, 20e6, NULL, NULL, "frequency of the cycle", "timing part, or measured"},
    {"output_voltage", "V", HL_NUMBER, 0, 0, 0.3, 400, NULL, NULL, "voltage it regulates to; absent: what the port asks", "feedback divider, or measured"},
    {"light_load", "1", HL_CHOICE, HL_DEFAULT, FORCED_CONTINUOUS, 0, 0, NULL, light_loads, "forced_continuous: the current may reverse; diode_emulation: it rests at zero; pulse_skipping: that, and pulses are left out", "controller's data sheet"},
    {"modulation", "1", HL_CHOICE, HL_DEFAULT, AUTOMATIC, 0, 0, NULL, modulations, "automatic: buck, transition or boost by the voltages; simultaneous: both legs together", "controller's data sheet"},
    {"transition_duty", "1", HL_NUMBER, HL_DEFAULT, 0.1, 0.02, 0.4, NULL, NULL, "share of the period the discharge takes in transition; half of it is the margin at which the modes change", "controller's data sheet; 10 % is common practice"},
    {"dead_time", "s", HL_NUMBER, HL_DEFAULT, 20e-9, 0, 2e-6, NULL, NULL, "each dead time of either leg", "measured; 20 ns is common practice"},
    {"skip_on_time", "s", HL_NUMBER, 0, 0, 5e-9, 100e-6, NULL, NULL, "pulse_skipping: shortest pulse; with less load pulses are left out", "controller's data sheet, or measured"},
    {"skip_peak_current", "A", HL_NUMBER, 0, 0, 1e-3, 200, NULL, NULL, "pulse_skipping: a pulse lasts at least up to this current", "controller's data sheet, or measured"},
    {"maximum_duty", "1", HL_NUMBER, HL_DEFAULT, 0.95, 0.05, 1, NULL, NULL, "largest share of the period the inductor is charged", "controller's data sheet"},
    {"inductance", "H", HL_NUMBER, 0, 0, 10e-9, 10e-3, NULL, NULL, "overrides the inductance of the inductor part", "measured"},
    {"commutation_slope", "A/s", HL_NUMBER, HL_DEFAULT, 3e8, 1e6, 1e11, NULL, NULL, "di/dt at which a switch takes over from the diode of its leg", "measured; 300 A/us is common practice"},
};

static const hl_slot slots[SLOTS] = {
    {"input_high_switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "from the input to the inductor", NULL},
    {"input_low_switch", HL_FITS(HL_FAMILY_SWITCH) | HL_FITS(HL_FAMILY_DIODE), HL_REQUIRED, 1, "switch or diode from ground to the input end of the inductor", NULL},
    {"output_low_switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "from the output end of the inductor to ground", NULL},
    {"output_high_switch", HL_FITS(HL_FAMILY_SWITCH) | HL_FITS(HL_FAMILY_DIODE), HL_REQUIRED, 1, "switch or diode from the inductor to the output", NULL},
    {"inductor", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "between the legs", NULL},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "in series with the inductor", HL_KINDS("resistor", "trace", "wire")},
};
/* clang-format on */

typedef struct converter {
    four_legs legs;
    int mode;
    double discharge; /* s, in transition */
    bool reverses;    /* the current may become negative */
} converter;

/* --------------------------------------------------------------- circuit -- */

/* Gate states of the mode. The control is the charging time; with `skipping` it is the time from pulse to
 * pulse, the pulse staying `on`, and the pass staying `through`. */
static void set_states(converter *v, bool skipping, double through)
{
    four_legs *b = &v->legs;
    inductor_cycle *c = &b->is.cycle;
    double dead = b->dead, on = skipping ? b->is.on_time : 0.0, rate = skipping ? 0.0 : 1.0;
    double period = skipping ? 0.0 : b->is.period, last = skipping ? 1.0 : -1.0;
    size_t n = 0;
    leg_state input_rest = v->mode == BOOST ? LEG_HIGH : LEG_OFF,
              output_rest = v->mode == BUCK ? LEG_HIGH : LEG_OFF;
    c->state[n++] = legs_at(b, LEG_HIGH, v->mode == BUCK ? LEG_HIGH : LEG_LOW, on, rate);
    if (v->mode == TRANSITION) {
        c->state[n++] = legs_at(b, LEG_HIGH, LEG_OFF, dead, 0.0);
        c->state[n++] =
            legs_at(b, LEG_HIGH, LEG_HIGH, skipping ? through : period - v->discharge - 3.0 * dead, -rate);
        c->state[n++] = legs_at(b, LEG_OFF, LEG_HIGH, dead, 0.0);
        c->state[n++] = legs_at(b, LEG_LOW, LEG_HIGH, skipping ? -on - through - 3.0 * dead : v->discharge,
                                skipping ? 1.0 : 0.0);
    } else {
        c->state[n++] = legs_at(b, input_rest, output_rest, dead, 0.0);
        c->state[n++] =
            legs_at(b, v->mode == BOOST ? LEG_HIGH : LEG_LOW, LEG_HIGH, period - on - 2.0 * dead, last);
    }
    c->state[n++] = legs_at(b, input_rest, output_rest, dead, 0.0);
    c->states = n;
    c->control_floor = skipping ? on + (v->mode == TRANSITION ? through + 3.0 * dead : 2.0 * dead) : 0.0;
    c->control_limit =
        v->mode == TRANSITION ? fmin(b->is.on_limit, period - v->discharge - 3.0 * dead) : b->is.on_limit;
}

static hl_stage_status look(const hl_stage_input *in, converter *v, hl_stage_output *out)
{
    const hl_value *value = in->values;
    four_legs *b = &v->legs;
    b->is.kind = "four-switch";
    b->is.phases = 1;
    b->is.drawn = 1u << INPUT_HIGH | 1u << (BODY + INPUT_HIGH);
    b->is.fed = 1u << OUTPUT_HIGH | 1u << (BODY + OUTPUT_HIGH);
    hl_stage_status status = look_at_demand(in, &value[OUTPUT_VOLTAGE], &value[FREQUENCY], &b->is, out);
    if (status == HL_STAGE_SOLVED)
        status = look_at_inductor(in, INDUCTOR, SENSE, &value[INDUCTANCE], &b->is, out);
    if (status != HL_STAGE_SOLVED) return status;
    for (int s = 0; s < LEG_PARTS; s++) {
        b->part[s] = slot_terminal(&in->slot[s], s <= INPUT_LOW ? b->is.input : b->is.output);
        b->diode[s] = slot_filled(&in->slot[s]) && in->slot[s].device->family == HL_FAMILY_DIODE;
        if (!part_sound(&b->part[s]))
            return refuse(out,
                          "a part of the %s stage shows a resistance or drop that is negative or no number; "
                          "check the parts in its slots",
                          b->is.kind);
    }
    b->dead = fmax(stated(&value[DEAD_TIME]), 0.0);
    b->forced = (int)stated(&value[LIGHT_LOAD]) == FORCED_CONTINUOUS;
    double share = stated(&value[TRANSITION_DUTY]);
    v->discharge = b->is.period * (share > 0.0 && share < 1.0 ? share : 0.1);
    return limit_on_time(&value[MAXIMUM_DUTY], 3.0 * b->dead, &b->is, out);
}

/* ----------------------------------------------------------------- solve -- */

/* Voltages at the ends of the inductor with the mean current in the high switches. */
static void ends(const four_legs *b, double *in, double *to)
{
    double i = b->is.load;
    *to = b->is.output + b->part[OUTPUT_HIGH].voltage +
          i * (b->part[OUTPUT_HIGH].resistance + b->is.winding + b->is.sense);
    double drawn = i * fmax(*to / b->is.input, 1.0);
    *in = b->is.input - b->part[INPUT_HIGH].voltage - drawn * b->part[INPUT_HIGH].resistance;
}

static int choose_mode(const hl_stage_input *in, const converter *v)
{
    double from, to, margin = 1.0 - 0.5 * v->discharge / v->legs.is.period;
    if ((int)stated(&in->values[MODULATION]) == ALWAYS_SIMULTANEOUS) return SIMULTANEOUS;
    ends(&v->legs, &from, &to);
    return to <= margin * from ? BUCK : from <= margin * to ? BOOST : TRANSITION;
}

/* Where Newton starts: volt-seconds in continuous mode, else the charge of a triangle.
 * source: Erickson and Maksimovic (2001), sect. 2.2, 2.3, 5.2 and 5.3 */
static void first_guess(const converter *v, double *on, double *current)
{
    const four_legs *b = &v->legs;
    double from, to, l = b->is.cycle.output.inductance, period = b->is.period, t, mean = b->is.load, slope;
    double vin = b->is.input, vo = b->is.output, needed;
    ends(b, &from, &to);
    slope = from / l;
    if (v->mode == BUCK) {
        t = period * to / from;
        slope = (from - to) / l;
        needed = 2.0 * l * mean * period * vo / fmax(vin * (vin - vo), 1e-9 * vin * vin);
    } else if (v->mode == BOOST) {
        t = period * fmax(1.0 - from / to, 0.0);
        needed = 2.0 * l * mean * period * fmax(vo - vin, 0.0) / (vin * vin);
    } else if (v->mode == SIMULTANEOUS) {
        t = period * to / (from + to);
        needed = 2.0 * l * mean * period * vo / (vin * vin);
    } else {
        t = period - from * (period - v->discharge) / to;
        needed = t * t * 0.25;
    }
    if (v->mode != BUCK) mean *= period / fmax(period - t, 0.05 * period);
    *current = mean - 0.5 * slope * t;
    if (!v->reverses && *current < 0.0) {
        *current = 0.0;
        t = sqrt(needed);
    }
    *on = fmin(fmax(t, 1e-3 * b->is.on_limit), b->is.cycle.control_limit);
}

/* Charge one pulse of the inductor carries to the output, lossless. */
static double pulse_charge(const converter *v, double on, double through)
{
    const four_legs *b = &v->legs;
    double l = b->is.cycle.output.inductance, vin = b->is.input, vo = b->is.output;
    if (v->mode == BUCK) return 0.5 * on * on * (vin - vo) / l * vin / vo;
    if (v->mode == BOOST) return 0.5 * on * on * vin * vin / (l * (vo - vin));
    double peak = vin * on / l, end = fmax(peak + (vin - vo) * through / l, 0.0);
    return 0.5 * (peak + end) * through + 0.5 * end * end * l / vo;
}

static hl_stage_status skip(const hl_stage_input *in, converter *v, bool *solved, hl_stage_output *out)
{
    four_legs *b = &v->legs;
    int low = v->mode == BUCK ? OUTPUT_HIGH : OUTPUT_LOW;
    double resistance =
        b->part[INPUT_HIGH].resistance + b->part[low].resistance + b->is.winding + b->is.sense;
    double drive = b->is.input - b->part[INPUT_HIGH].voltage - b->part[low].voltage -
                   (v->mode == BUCK ? b->is.output : 0.0);
    double on = skip_on_time(&b->is, &in->values[SKIP_ON_TIME], &in->values[SKIP_PEAK], drive, resistance);
    if (!(drive > 0.0) || !(on > 0.0) || (*solved && (b->is.on_time >= on || b->is.cycle.current > 0.0)))
        return HL_STAGE_SOLVED;
    double through =
        v->mode == TRANSITION ? fmax(b->is.period - v->discharge - 3.0 * b->dead - on, 0.0) : 0.0;
    double charge = pulse_charge(v, on, through);
    if (!(charge > 0.0) || !isfinite(charge)) return HL_STAGE_SOLVED;
    b->is.on_time = on;
    set_states(v, true, through);
    return settle_skipping(&b->is, charge, solved, out);
}

static bool settle(converter *v, int mode)
{
    double guess, current;
    v->mode = mode;
    set_states(v, false, 0.0);
    if (!(v->legs.is.cycle.control_limit > 0.0)) return false;
    first_guess(v, &guess, &current);
    bool solved = cycle_settle(&v->legs.is.cycle, guess, current, v->legs.is.output);
    v->legs.is.on_time = v->legs.is.cycle.control;
    return solved;
}

/* Highest mean output voltage of the boosting modes with the mean current in every resistance; exact but for
 * ripple. */
static double highest_voltage(const converter *v, double *duty)
{
    const four_legs *b = &v->legs;
    double best = 0.0, limit = b->is.on_limit / b->is.period;
    enum { LOOKS = 200 };
    for (int k = 1; k <= LOOKS; k++) {
        double d = limit * k / LOOKS, off = 1.0 - d, i = b->is.load / off,
               series = b->is.winding + b->is.sense;
        double charge =
            b->is.input - i * (b->part[INPUT_HIGH].resistance + b->part[OUTPUT_LOW].resistance + series);
        double give = (v->mode == SIMULTANEOUS ? 0.0 : b->is.input) -
                      i * (b->part[OUTPUT_HIGH].resistance + series) - b->part[OUTPUT_HIGH].voltage;
        give -= v->mode == SIMULTANEOUS ? i * b->part[INPUT_LOW].resistance + b->part[INPUT_LOW].voltage
                                        : i * b->part[INPUT_HIGH].resistance;
        double reached = (charge * d + give * off) / off;
        if (reached > best) {
            best = reached;
            *duty = d;
        }
    }
    return best;
}

static hl_stage_status run(const hl_stage_input *in, converter *v, hl_stage_output *out)
{
    four_legs *b = &v->legs;
    int mode = v->mode;
    bool solved = settle(v, mode);
    if (!solved && mode != SIMULTANEOUS && mode != TRANSITION) solved = settle(v, TRANSITION);
    if (!solved && mode == TRANSITION) solved = settle(v, BUCK) || settle(v, BOOST);
    if (!solved) v->mode = mode;
    if (!b->forced && (int)stated(&in->values[LIGHT_LOAD]) == PULSE_SKIPPING) {
        hl_stage_status status = skip(in, v, &solved, out);
        if (status != HL_STAGE_SOLVED) return status;
    }
    if (solved) return HL_STAGE_SOLVED;
    double duty = 0.0, most = highest_voltage(v, &duty);
    if (mode != BUCK && !(most > 1.001 * b->is.output)) {
        snprintf(out->reason.text, sizeof out->reason.text,
                 "asks for %.4g V, but from %.4g V at %.4g A the four-switch stage reaches at most %.4g V, "
                 "at a duty ratio of "
                 "%.1f %%; lower the output voltage, the load or the resistances, or raise maximum_duty",
                 b->is.output, b->is.input, b->is.load, most, 100.0 * duty);
        return HL_STAGE_INFEASIBLE;
    }
    return refuse(out,
                  "no steady cycle of the %s stage was found that gives %.4g V at %.4g A; check its "
                  "inductance and frequency, or lower the load",
                  b->is.kind, b->is.output, b->is.load);
}

/* --------------------------------------------------------------- figures -- */

static double say_part(const four_legs *b, int part, const char *const name[5], hl_stage_output *out)
{
    const cycle_figures *f = &b->is.figures;
    double loss = part_loss(f, &b->part[part], part) + body_loss(f, &b->part[part], BODY + part);
    say(out, name[0], "A", sqrt(f->square[part]));
    say(out, name[1], "A", f->average[part]);
    say(out, name[2], "A", fabs(f->average[BODY + part]));
    say(out, name[3], "A", sqrt(f->square[BODY + part]));
    say(out, name[4], "W", loss);
    return loss;
}

#define PART_NAMES(x)                                                                                        \
    {                                                                                                        \
        x "_current_rms", x "_current_average", x "_body_current_average", x "_body_current_rms",            \
            x "_conduction_loss"                                                                             \
    }

static void report(const converter *v, const switched_waves *a, hl_stage_output *out)
{
    static const char *const name[LEG_PARTS][5] = {
        PART_NAMES("input_high_switch"), PART_NAMES("input_low_switch"), PART_NAMES("output_low_switch"),
        PART_NAMES("output_high_switch")};
    double loss = 0.0;
    say_cycle(&v->legs.is, a, out);
    say(out, "conversion_mode", "1", v->mode); /* 0 buck, 1 transition, 2 boost, 3 simultaneous */
    say(out, "turn_on_current", "A", v->legs.is.cycle.current);
    say(out, "turn_off_current", "A", state_exit(&v->legs.is.cycle, 0));
    for (int p = 0; p < LEG_PARTS; p++) loss += say_part(&v->legs, p, name[p], out);
    say_series_losses(&v->legs.is, loss, out);
}

/* ---------------------------------------------------------------- stress -- */

/* What one leg does in a cycle, seen from the switch that starts it (input high, output low) and its partner.
 */
typedef struct leg_events {
    int starter, partner;
    double voltage; /* V the leg switches */
    double rest;    /* V the starter blocks before it turns on from zero current */
    double on, off; /* A, inductor current as the starter turns on and off */
    double partner_on, partner_off;
    bool switches;
} leg_events;

static double leg_charge(const four_legs *b, const leg_events *e)
{
    return b->part[e->starter].output_charge + b->part[e->partner].output_charge;
}

/* The leg's node has swung by i t / C within the dead time when the current is negative, as in a buck stage.
 */
static double residual_voltage(const four_legs *b, const leg_events *e, const node_ring *ring)
{
    double charge = leg_charge(b, e);
    if (e->on > 0.0) return e->voltage;
    if (!(e->on < 0.0)) return ring->left;
    double swing = charge > 0.0 ? -e->on * b->dead / charge : 1.0;
    return swing < 1.0 ? e->voltage * (1.0 - swing) : 0.0;
}

/* false: the scratch is full. */
static bool stress_leg(const hl_stage_input *in, const four_legs *b, const leg_events *e, double slope,
                       figure_store store[], hl_stage_output *out)
{
    hl_stress *stress = out->stress;
    double n = 1.0 / fmax(filled(&in->slot[e->starter]), 1.0),
           m = 1.0 / fmax(filled(&in->slot[e->partner]), 1.0);
    figure_store *s = &store[e->starter], *p = &store[e->partner];
    stress_currents(&b->is, 1.0 / n, e->starter, BODY + e->starter, s, &stress[e->starter]);
    stress_currents(&b->is, 1.0 / m, e->partner, BODY + e->partner, p, &stress[e->partner]);
    stress[e->starter].voltage_peak = stress[e->partner].voltage_peak = e->voltage;
    if (!e->switches) { /* neither gate moves */
        s->frequency = p->frequency = 0.0;
        if (!(s->duty > 0.0))
            s->voltage_off = e->voltage; /* the one that never conducts blocks all the time */
        if (!(p->duty > 0.0)) p->voltage_off = e->voltage;
        return true;
    }
    node_ring ring = ring_of(&b->is, e->voltage, e->voltage - e->rest, leg_charge(b, e));
    s->on = n * fmax(e->on, 0.0);
    s->off = n * fmax(e->off, 0.0);
    s->voltage_on = residual_voltage(b, e, &ring);
    s->swing = b->diode[e->partner] ? 0.0 : s->voltage_on;
    s->voltage_off = p->voltage_off = e->voltage;
    p->slope = e->on > 0.0 ? m * slope : 0.0;
    p->off = m * (e->on > 0.0 ? e->on : fmax(-e->partner_off, 0.0));
    p->on = m * fmax(-e->partner_on, 0.0);
    if (!b->diode[e->partner] && e->partner_on <= 0.0)
        p->voltage_on = p->swing = e->partner_on < 0.0 ? e->voltage : e->voltage - e->rest;
    if (b->diode[e->partner] && !(e->on > 0.0)) p->swing = s->voltage_on; /* from rest, with its node */
    leave_partner(&b->part[e->starter], s->on, b->diode[e->partner], p);
    double own = b->diode[e->partner] ? b->part[e->starter].output_charge : leg_charge(b, e);
    if (HL_REACHES(out, node_loss))
        out->node_loss[INDUCTOR] += ring_power(&b->is, &ring, e->voltage, e->voltage - e->rest, own);
    return stress_rests(&b->is, e->voltage - e->rest, b->diode[e->partner], &ring, in->scratch,
                        &stress[e->partner]);
}

/* From rest the node of a switching leg stands where the other end of the inductor does; where both legs
 * rest, at half the output (their capacitances taken as equal). */
static bool stress_legs(const hl_stage_input *in, const converter *v, double slope, figure_store store[],
                        hl_stage_output *out)
{
    const four_legs *b = &v->legs;
    const inductor_cycle *c = &b->is.cycle;
    bool split = v->mode == TRANSITION;
    size_t last = split ? 4 : 2, second = 2;
    double vin = b->is.input, vo = b->is.output, rest = v->mode == BUCK ? vo : 0.5 * vo;
    leg_events input = {INPUT_HIGH,
                        INPUT_LOW,
                        vin,
                        fmax(vin - rest, 0.0),
                        c->current,
                        state_exit(c, split ? second : 0),
                        state_entry(c, last),
                        state_exit(c, last),
                        v->mode != BOOST};
    leg_events output = {OUTPUT_LOW,
                         OUTPUT_HIGH,
                         vo,
                         v->mode == BOOST ? fmin(vin, vo) : 0.5 * vo,
                         c->current,
                         state_exit(c, 0),
                         state_entry(c, second),
                         state_exit(c, last),
                         v->mode != BUCK};
    return stress_leg(in, b, &input, slope, store, out) && stress_leg(in, b, &output, slope, store, out);
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    converter v;
    memset(&v, 0, sizeof v);
    hl_stage_status status = look(in, &v, out);
    if (status != HL_STAGE_SOLVED) return status;
    four_legs *b = &v.legs;
    v.mode = choose_mode(in, &v);
    v.reverses = b->forced && !b->diode[OUTPUT_HIGH] && (v.mode == BOOST || !b->diode[INPUT_LOW]);
    if (!v.reverses && !(b->is.load > 0.0)) {
        rest_switched(in, &b->is, SLOTS, out);
        return HL_STAGE_SOLVED;
    }
    status = run(in, &v, out);
    if (status != HL_STAGE_SOLVED) return status;
    figure_store *store = hl_scratch_take(in->scratch, LEG_PARTS * sizeof *store);
    switched_waves *waves = store ? write_switched(&b->is, in->scratch) : NULL;
    if (!waves) return HL_STAGE_NO_MEMORY;
    status = cycle_sound(&b->is, waves, out);
    if (status != HL_STAGE_SOLVED) return status;
    report(&v, waves, out);
    if (!stress_legs(in, &v, stated(&in->values[COMMUTATION_SLOPE]), store, out)) return HL_STAGE_NO_MEMORY;
    partner_heats(out, INPUT_LOW, INPUT_HIGH, b->diode[INPUT_LOW]);
    partner_heats(out, OUTPUT_HIGH, OUTPUT_LOW, b->diode[OUTPUT_HIGH]);
    stress_inductor(&b->is, &waves->choke, &waves->part, &waves->flux, &out->stress[INDUCTOR],
                    &out->stress[SENSE]);
    fill_switched_sides(in, &b->is, waves, out);
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
    .scratch_size =
        sizeof(switched_waves) + LEG_PARTS * sizeof(figure_store) + 2 * STRETCH_SCRATCH(1, 1) + 64,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "four_switch_buck_boost",
    .title = "four-switch buck-boost stage",
    .source = "R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 5, 6",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("four_switch_buck_boost", "0.1.0", "heatledger", "MIT", &model);
