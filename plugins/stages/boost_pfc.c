/* boost_pfc.c - boost power-factor stage: rectified mains in, regulated bus out.
 *
 * The line is followed by `cycles` switching cycles placed over the quarter line (line_quadrature.h,
 * boost_line.h), each solved in closed form (boost_cycle.h). What remains is one number - the amplitude of
 * the current in continuous mode, the on-time in boundary mode - found so that the bus receives what it gives
 * away plus what the parts lose beyond the waveform. docs/theory/boost_pfc.md */
#include <math.h>
#include <stdio.h>

#include "boost_stress.h"
#include "heatledger/plugin.h"
#include "slot_terminal.h"

enum {
    MODE,
    OUTPUT_VOLTAGE,
    FREQUENCY,
    INDUCTANCE,
    PHASES,
    MAXIMUM_FREQUENCY,
    MAXIMUM_ON_TIME,
    PEAK_LIMIT,
    BROWN_OUT,
    TURN_ON,
    DEAD_TIME,
    COMMUTATION_SLOPE,
    MINIMUM_BUS,
    CYCLES,
    REPORT_PHASE,
    PARAMETERS
};

enum { VALLEY, IMMEDIATE };

static const char *const modes[] = {"continuous", "boundary", NULL};
static const char *const turn_ons[] = {"valley", "immediate", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"mode", "1", HL_CHOICE, HL_REQUIRED, 0, 0, 0, NULL, modes,
     "continuous: average-current control at fixed frequency; boundary: constant on-time from zero current",
     "controller's data sheet"},
    {"output_voltage", "V", HL_NUMBER, 0, 0, 50, 1000, NULL, NULL, "bus voltage it regulates to", "feedback divider, or measured"},
    {"switching_frequency", "Hz", HL_NUMBER, 0, 0, 10e3, 5e6, NULL, NULL, "fixed frequency of continuous mode", "timing part, or measured"},
    {"inductance", "H", HL_NUMBER, 0, 0, 1e-6, 50e-3, NULL, NULL, "overrides the inductance of the inductor part", "measured"},
    {"phases", "1", HL_NUMBER, HL_DEFAULT, 1, 1, BOOST_PHASES_MAX, NULL, NULL, "interleaved equal phases", "board"},
    {"maximum_frequency", "Hz", HL_NUMBER, 0, 0, 20e3, 20e6, NULL, NULL, "clamp of the frequency in boundary mode; beyond it the current rests at zero", "controller's data sheet"},
    {"maximum_on_time", "s", HL_NUMBER, 0, 0, 0.5e-6, 1e-3, NULL, NULL, "longest on-time of boundary mode; limits the power", "controller's data sheet"},
    {"peak_current_limit", "A", HL_NUMBER, 0, 0, 0.1, 500, NULL, NULL, "switch current at which the controller cuts, of one phase", "sense resistor and threshold"},
    {"brown_out_voltage", "V", HL_NUMBER, 0, 0, 20, 300, NULL, NULL, "rms input below which it does not run", "controller's data sheet"},
    {"turn_on", "1", HL_CHOICE, HL_DEFAULT, VALLEY, 0, 0, NULL, turn_ons, "boundary mode: wait for the valley of the drain voltage, or turn on at once", "controller's data sheet"},
    {"dead_time", "s", HL_NUMBER, HL_DEFAULT, 50e-9, 0, 2e-6, NULL, NULL, "each dead time of a synchronous rectifier", "measured"},
    {"commutation_slope", "A/s", HL_NUMBER, HL_DEFAULT, 3e8, 1e6, 1e10, NULL, NULL, "di/dt at which the switch takes over from the rectifier", "measured; 300 A/us is common practice"},
    {"minimum_bus_voltage", "V", HL_NUMBER, 0, 0, 10, 1000, NULL, NULL, "lowest bus voltage the next stage works at, for the hold-up time", "next stage"},
    {"cycles", "1", HL_NUMBER, HL_DEFAULT, 16, 16, LINE_NODES_MAX, NULL, NULL, "switching cycles looked at over the quarter line, rounded up to eights", "accuracy wanted"},
    {"report_phase", "1", HL_NUMBER, HL_DEFAULT, 1, 0.001, 1, NULL, NULL, "where single-cycle figures are reported: 1 = crest of the line, 0 = its zero", "free choice"},
};

static const hl_slot slots[SLOTS] = {
    {"switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "boost switch of each phase"},
    {"rectifier", HL_FITS(HL_FAMILY_DIODE) | HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "boost diode, or synchronous switch, of each phase"},
    {"boost_inductor", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "inductor of each phase"},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "in the return, carries the input current of all phases"},
};
/* clang-format on */

static unsigned phases_of(const hl_value *values)
{
    double n = values[PHASES].given ? values[PHASES].number : 1.0;
    return !(n >= 1.5) ? 1u : n >= BOOST_PHASES_MAX ? BOOST_PHASES_MAX : (unsigned)lround(n);
}

static unsigned positions(const hl_value *values, size_t slot)
{
    return slot == SENSE ? 1u : phases_of(values);
}

static double stated(const hl_value *value)
{
    return value->given && isfinite(value->number) ? value->number : 0.0;
}

static hl_stage_status refuse(hl_stage_output *out, const char *sentence, double a, double b)
{
    snprintf(out->reason.text, sizeof out->reason.text, sentence, a, b);
    return HL_STAGE_INFEASIBLE;
}

/* ----------------------------------------------------------- quantities -- */

static void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

static void say_one_cycle(const plan *p, double where, hl_stage_output *out)
{
    boost_cycle c;
    if (!cycle_at(p, sin(LINE_QUARTER * where), &c)) return;
    say(out, "duty_ratio", "1", c.on / c.period);
    say(out, "inductor_ripple_current", "A", c.peak - (c.full ? c.valley : 0.0));
    say(out, "inductor_current_peak_of_cycle", "A", c.peak);
    say(out, "switching_frequency_of_cycle", "Hz", 1.0 / c.period);
    if (p->mode == CONTINUOUS) return;
    say(out, "on_time", "s", p->unknown);
    cycle_at(p, 1.0, &c);
    double crest = 1.0 / c.period;
    cycle_at(p, 1e-9, &c);
    say(out, "switching_frequency_minimum", "Hz", crest);
    say(out, "switching_frequency_maximum", "Hz", 1.0 / c.period);
}

static void say_currents(const plan *p, const totals *t, double phases, double ripple_in, double ripple_out,
                         double peak, hl_stage_output *out)
{
    double line = phases * phases * t->line_square;
    double slow = phases * phases * fmax(t->delivered_square - t->second[0] * t->second[0], 0.0);
    say(out, "switch_current_rms", "A", sqrt(t->switch_square));
    say(out, "switch_current_average", "A", t->switch_average);
    say(out, "rectifier_current_average", "A", t->rectifier_average);
    say(out, "rectifier_current_rms", "A", sqrt(t->rectifier_square));
    say(out, "inductor_current_rms", "A", sqrt(t->switch_square + t->rectifier_square));
    say(out, "inductor_current_line_rms", "A", sqrt(t->line_square));
    say(out, "inductor_current_ripple_rms", "A", sqrt(t->ripple_square));
    say(out, "inductor_current_peak", "A", peak);
    say(out, "bridge_current_average", "A", 0.5 * phases * t->line_average);
    say(out, "bridge_current_rms", "A", sqrt(0.5 * line));
    say(out, "bridge_current_rms_with_ripple", "A", sqrt(0.5 * (line + ripple_in)));
    say(out, "input_current_rms", "A", sqrt(line));
    say(out, "input_ripple_current_rms", "A", sqrt(ripple_in));
    say(out, "output_capacitor_line_current_rms", "A", sqrt(slow));
    say(out, "output_capacitor_ripple_current_rms", "A", sqrt(ripple_out));
    say(out, "output_capacitor_current_rms", "A", sqrt(slow + ripple_out));
    say(out, "turn_on_current_average", "A", t->turn_on);
    say(out, "turn_off_current_average", "A", t->turn_off);
    say(out, "turn_on_overlap_power_per_time", "W/s", t->turn_on_power);
    say(out, "turn_off_overlap_power_per_time", "W/s", t->turn_off_power);
    say(out, "turn_on_voltage_square_rate", "V^2/s", t->residual_power);
    say(out, "switching_frequency", "Hz", t->frequency);
    if (p->period > 0.0) say(out, "boundary_angle", "rad", p->border);
}

/* Hold-up: C (V^2 - Vmin^2) / 2 = P t. source: common practice of every PFC design guide; the energy in the
 * bulk. */
static void say_bus(const hl_stage_input *in, double vo, double power, double ripple, hl_stage_output *out)
{
    double least = stated(&in->values[MINIMUM_BUS]), c = in->output_capacitance;
    say(out, "output_current", "A", power / vo);
    say(out, "output_voltage_ripple", "V", ripple);
    say(out, "output_voltage_minimum", "V", vo - 0.5 * ripple);
    if (!(least > 0.0) || !(c > 0.0) || !(power > 0.0)) return;
    double worst = vo - 0.5 * ripple;
    say(out, "hold_up_time", "s", fmax(0.0, 0.5 * c * (vo * vo - least * least) / power));
    say(out, "hold_up_time_from_valley", "s", fmax(0.0, 0.5 * c * (worst * worst - least * least) / power));
}

/* ---------------------------------------------------------------- solve -- */

static hl_stage_status check_input(const hl_stage_input *in, double vo, double crest, hl_stage_output *out)
{
    double brown_out = stated(&in->values[BROWN_OUT]);
    if (!(vo > 0.0) || !isfinite(vo))
        return refuse(out, "no output voltage is set; state output_voltage of the boost stage", 0, 0);
    if (!(crest > 0.0) || !isfinite(crest))
        return refuse(out, "no input voltage is there (%.4g V rms)", in->input_voltage, 0);
    if (!(in->input_voltage >= brown_out))
        return refuse(out,
                      "the input of %.1f V rms is below the brown-out threshold of %.1f V; raise the mains",
                      in->input_voltage, brown_out);
    if (!(crest <= 0.9999 * vo))
        return refuse(
            out,
            "the crest of %.1f V is not below the bus of %.1f V; raise the output voltage or lower the mains",
            crest, vo);
    if (!(in->input_frequency > 0.0))
        return refuse(
            out,
            "the boost power-factor stage needs mains of some frequency, not %.3g Hz; use a dc boost stage",
            in->input_frequency, 0);
    return HL_STAGE_SOLVED;
}

static hl_stage_status check_limits(const hl_stage_input *in, const plan *p, double peak, double power,
                                    hl_stage_output *out)
{
    double longest = stated(&in->values[MAXIMUM_ON_TIME]), limit = stated(&in->values[PEAK_LIMIT]);
    if (p->mode == BOUNDARY && longest > 0.0 && p->unknown > longest) {
        snprintf(out->reason.text, sizeof out->reason.text,
                 "needs an on-time of %.3g us for %.4g W at %.1f V rms but %.3g us is the longest; lower the "
                 "load or raise the mains",
                 1e6 * p->unknown, power, in->input_voltage, 1e6 * longest);
        return HL_STAGE_INFEASIBLE;
    }
    if (limit > 0.0 && peak > limit)
        return refuse(out,
                      "needs a peak current of %.3g A but the controller cuts at %.3g A; lower the load or "
                      "raise the mains",
                      peak, limit);
    if (limit > 0.0) {
        out->headroom_name = "peak current";
        out->headroom_unit = "A";
        out->headroom_value = peak;
        out->headroom_limit = limit;
    }
    return HL_STAGE_SOLVED;
}

/* Nothing to deliver and nothing lost: the stage rests and no part bears current. */
static void rest(const hl_stage_input *in, double vo, hl_stage_output *out)
{
    for (size_t s = 0; s < SLOTS; s++)
        out->stress[s] = (hl_stress){.struct_size = sizeof(hl_stress), .voltage_dc = vo, .voltage_peak = vo};
    out->output.voltage = out->output.voltage_peak = vo;
    out->input.voltage = in->input_voltage;
    out->input.line_frequency = out->output.line_frequency = in->input_frequency;
    say(out, "switching_frequency", "Hz", 0.0);
    say(out, "output_current", "A", 0.0);
    say(out, "input_current_rms", "A", 0.0);
}

/* The circuit of one phase from its parts; how many parts share each current. */
static void look_at_parts(const hl_stage_input *in, double vo, unsigned phases, plan *p, parts *n)
{
    const hl_slot_view *slot = in->slot;
    hl_terminal sw = slot_terminal(&slot[SWITCH], vo), re = slot_terminal(&slot[RECTIFIER], vo);
    hl_terminal choke = slot_terminal(&slot[INDUCTOR], 0.0), sense = slot_terminal(&slot[SENSE], 0.0);
    n->switches = fmax(1.0, slot[SWITCH].count);
    n->rectifiers = fmax(1.0, slot[RECTIFIER].count);
    n->inductors = fmax(1.0, slot[INDUCTOR].count);
    n->sense = slot_filled(&slot[SENSE]) ? slot[SENSE].count : 0.0;
    n->synchronous = slot_filled(&slot[RECTIFIER]) && slot[RECTIFIER].device->family == HL_FAMILY_SWITCH;
    n->dead_time = n->synchronous ? stated(&in->values[DEAD_TIME]) : 0.0;
    n->slope = stated(&in->values[COMMUTATION_SLOPE]);
    double common = choke.winding_resistance[0] + phases * sense.resistance;
    double inductance = stated(&in->values[INDUCTANCE]);
    p->circuit = (boost_circuit){.inductance = inductance > 0.0 ? inductance : choke.inductance,
                                 .rise_resistance = common + sw.resistance,
                                 .fall_resistance = common + re.resistance,
                                 .output = vo,
                                 .drop = n->synchronous ? 0.0 : re.voltage};
    /* The node's capacitance swings by charge: C = Q(Vo) / Vo; half a ring from Vo about v takes pi sqrt(L
     * C). */
    double charge = sw.output_charge + (n->synchronous ? re.output_charge : 0.0);
    p->delay = p->mode == BOUNDARY && p->settled
                   ? 2.0 * LINE_QUARTER * sqrt(p->circuit.inductance * fmax(charge, 0.0) / vo)
                   : 0.0;
}

static hl_stage_status set_plan(const hl_stage_input *in, double vo, unsigned phases, plan *p, parts *n,
                                hl_stage_output *out)
{
    const hl_value *v = in->values;
    p->mode = (int)stated(&v[MODE]) == BOUNDARY ? BOUNDARY : CONTINUOUS;
    p->settled = (int)stated(&v[TURN_ON]) == VALLEY;
    p->crest = sqrt(2.0) * in->input_voltage;
    look_at_parts(in, vo, phases, p, n);
    const boost_circuit *c = &p->circuit;
    if (!(c->inductance > 0.0) || !isfinite(c->inductance))
        return refuse(
            out, "the boost inductor has no inductance; state it at the part or as inductance of the stage",
            0, 0);
    if (!(c->rise_resistance >= 0.0 && c->fall_resistance >= 0.0 && c->drop >= 0.0 && isfinite(p->delay)) ||
        !isfinite(c->rise_resistance + c->fall_resistance + c->drop))
        return refuse(out, "a part of the boost stage shows a resistance or drop that is no number", 0, 0);
    double f = stated(&v[p->mode == CONTINUOUS ? FREQUENCY : MAXIMUM_FREQUENCY]);
    if (p->mode == CONTINUOUS && !(f > 0.0))
        return refuse(out, "continuous mode needs a switching_frequency", 0, 0);
    p->period = f > 0.0 ? 1.0 / f : 0.0;
    return HL_STAGE_SOLVED;
}

/* Start: Ipk = 2 P / Vpk; ton = 4 L P / Vpk^2 (boundary), or, all at the clamp, the on-time of a
 * fixed-frequency pulse train; P with a first guess of the path's loss.  source: Erickson and Maksimovic
 * (2001), sect. 18.2 and 18.3 */
static double first_guess(const plan *p, double wanted)
{
    double l = p->circuit.inductance, vp2 = p->crest * p->crest, square = 2.0 * wanted * wanted / vp2;
    double duty = 1.0 - 0.85 * p->crest / p->circuit.output; /* of the mean square, near enough */
    double resistance = duty * p->circuit.rise_resistance + (1.0 - duty) * p->circuit.fall_resistance;
    double loss = p->circuit.drop / p->circuit.output * wanted +
                  (p->mode == BOUNDARY ? 4.0 / 3.0 : 1.1) * resistance * square;
    double power = wanted + fmin(loss, 0.3 * wanted);
    if (p->mode == CONTINUOUS) return 2.0 * power / p->crest;
    double boundary = 4.0 * l * power / vp2;
    return fmax(boundary, sqrt(boundary * p->period) * sqrt(fmax(0.0, 1.0 - p->crest / p->circuit.output)));
}

/* What is kept from the last solution nearby: a better start, never needed. */
typedef struct kept {
    double unknown, border, wanted, crest;
    int mode;
} kept;

static void start_from(const kept *last, double wanted, plan *p)
{
    p->unknown = first_guess(p, wanted);
    if (!last || !(last->unknown > 0.0) || last->mode != p->mode || !(last->wanted > 0.0)) return;
    double crest = last->crest / p->crest, guess = last->unknown * wanted / last->wanted * crest;
    if (p->mode == BOUNDARY) guess *= crest;
    if (guess > 0.5 * p->unknown && guess < 2.0 * p->unknown) p->unknown = guess;
    p->border = last->border;
}

/* Ripple of all phases together, rms^2: incoherent sums do not hold between phases, so from the merged waves.
 */
static double merged_ripple(const plan *p, const hl_wave wave[])
{
    double sum = 0.0;
    for (size_t k = 0; k < p->nodes.n; k++) {
        double rms = hl_wave_rms(&wave[k]), mean = hl_wave_average(&wave[k]);
        sum += p->nodes.weight[k] * fmax(rms * rms - mean * mean, 0.0);
    }
    return sum;
}

static void report(const hl_stage_input *in, const plan *p, const totals *t, const arrays *a, unsigned phases,
                   double peak, double power, hl_stage_output *out)
{
    double m = phases, vo = p->circuit.output;
    double ripple_in = phases > 1 ? merged_ripple(p, a->input) : t->ripple_square;
    double ripple_out = phases > 1 ? merged_ripple(p, a->output) : t->rectifier_square - t->delivered_square;
    double slow[5] = {0};
    for (int k = 1; k < 5; k++) slow[k] = m * t->second[k];
    double ripple = bus_ripple(slow, 4.0 * LINE_QUARTER * in->input_frequency, in->output_capacitance);
    double where = in->values[REPORT_PHASE].given ? in->values[REPORT_PHASE].number : 1.0;
    say_currents(p, t, m, ripple_in, fmax(ripple_out, 0.0), peak, out);
    say_bus(in, vo, power, ripple, out);
    say_one_cycle(p, where >= 0.0 && where <= 1.0 ? where : 1.0, out);
    out->input.voltage = in->input_voltage;
    out->input.current = m * sqrt(t->line_square);
    out->input.power = m * t->input_power;
    out->input.current_peak = m * peak; /* upper bound: interleaved ripple partly cancels */
    out->input.voltage_peak = p->crest;
    out->output.voltage = vo;
    out->output.power = power;
    out->output.current = power / vo;
    out->output.current_peak = m * peak;
    out->output.voltage_peak = vo + 0.5 * ripple;
    out->circuit_loss = m * t->loss;
    hl_side *side[2] = {&out->input, &out->output};
    for (int k = 0; k < 2; k++) {
        side[k]->line_frequency = in->input_frequency;
        side[k]->cycles = p->nodes.n;
        side[k]->weight = a->weight;
        side[k]->frequency = a->frequency;
        side[k]->wave = k ? a->output : a->input;
    }
    double apparent = in->input_voltage * out->input.current;
    say(out, "power_factor", "1", apparent > 0.0 ? out->input.power / apparent : 0.0);
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    plan p = {0};
    parts n = {0};
    arrays a;
    unsigned phases = phases_of(in->values);
    double vo = in->values[OUTPUT_VOLTAGE].given ? in->values[OUTPUT_VOLTAGE].number : in->output_voltage;
    hl_stage_status status = check_input(in, vo, sqrt(2.0) * in->input_voltage, out);
    if (status == HL_STAGE_SOLVED) status = set_plan(in, vo, phases, &p, &n, out);
    if (status != HL_STAGE_SOLVED) return status;
    double power = in->load.power > 0.0 ? in->load.power : in->load.current * vo;
    double wanted = power + in->extra_loss;
    if (!(power >= 0.0) || !isfinite(wanted))
        return refuse(out, "the load of the boost stage is no number, or negative (%.4g W)", power, 0);
    if (!(wanted > 1e-9)) {
        rest(in, vo, out);
        return HL_STAGE_SOLVED;
    }
    double cycles = in->values[CYCLES].given ? in->values[CYCLES].number : 16.0;
    size_t panels = !(cycles > 16.0)           ? 2u
                    : cycles >= LINE_NODES_MAX ? (size_t)LINE_PANELS_MAX
                                               : (size_t)ceil(cycles / LINE_PANEL_NODES);
    p.cycle = hl_scratch_take(in->scratch, LINE_NODES_MAX * sizeof *p.cycle);
    if (!p.cycle) return HL_STAGE_NO_MEMORY;
    kept *last = in->memory;
    start_from(last, wanted / phases, &p);
    if (!deliver(&p, panels, wanted / phases))
        return refuse(out,
                      "%.4g W cannot reach the bus: the path of %.3g ohm takes it all; lower the load or the "
                      "resistances",
                      wanted, p.circuit.rise_resistance);
    if (last) *last = (kept){p.unknown, p.border, wanted / phases, p.crest, p.mode};
    totals t = {0};
    for (size_t k = 0; k < p.nodes.n; k++) add_cycle(&p, k, &t);
    double peak = largest_peak(&p, t.peak);
    status = check_limits(in, &p, peak, power, out);
    if (status != HL_STAGE_SOLVED) return status;
    if (!take_arrays(in->scratch, p.nodes.n, &a)) return HL_STAGE_NO_MEMORY;
    fill_arrays(&p, &n, &a);
    if (!write_waves(&p, phases, n.inductors, in->scratch, &a)) return HL_STAGE_NO_MEMORY;
    if (!write_line(&p, &t, phases, in->input_frequency, in->scratch, out)) return HL_STAGE_NO_MEMORY;
    stress_of_parts(&p, &t, &n, &a, peak, phases, out->stress);
    report(in, &p, &t, &a, phases, peak, power, out);
    return HL_STAGE_SOLVED;
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_RECTIFIED,
    .output = HL_DC,
    .regulates = true,
    .memory_size = sizeof(kept),
    .scratch_size =
        32768 + LINE_NODES_MAX * (20 * sizeof(double) + 4 * sizeof(hl_wave) +
                                  (4 * BOOST_SEGMENTS + 2 * BOOST_MERGED + 4) * sizeof(hl_segment)),
    .positions = positions,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "boost_pfc",
    .title = "boost power-factor stage",
    .source =
        "R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 5, 18, 20",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

static const hl_model *const models[] = {&model};

HL_EXPORT const hl_plugin hl_plugin_table = {
    .struct_size = sizeof(hl_plugin),
    .abi = HL_PLUGIN_ABI,
    .name = "boost_pfc",
    .version = "0.1.0",
    .author = "heatledger",
    .licence = "MIT",
    .models = models,
    .n_models = 1,
};
