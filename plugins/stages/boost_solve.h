/* boost_solve.h - one operating point of a boost power-factor stage, with a bridge before it or without.
 *
 * The line is followed by `cycles` switching cycles placed over the quarter line (line_quadrature.h,
 * boost_line.h), each solved in closed form (boost_cycle.h). What remains is one number - the amplitude of
 * the current in continuous mode, the on-time in boundary mode - found so that the bus receives what it gives
 * away plus what the parts lose beyond the waveform. docs/theory/boost_pfc.md */
#ifndef BOOST_SOLVE_H
#define BOOST_SOLVE_H

#include <stdio.h>

#include "boost_figures.h"
#include "boost_totem_pole.h"
#include "dead_ring.h"
#include "past_points.h"
#include "refusal.h"
#include "slot_terminal.h"

/* Bytes of scratch one solve takes at most: cycles, arrays, waves with their segments, line waves. */
enum {
    BOOST_SCRATCH = 65536 + STRETCH_SCRATCH(BOOST_ENTRIES, 2) + sizeof(arrays) + sizeof(line_cycles) +
                    BOOST_ENTRIES * (60 * sizeof(double) +
                                     (4 * BOOST_SEGMENTS + 2 * BOOST_MERGED + 8) * sizeof(hl_segment))
};

/* --------------------------------------------------------------- checks -- */

static inline hl_stage_status check_input(const hl_stage_input *in, double vo, double crest,
                                          hl_stage_output *out)
{
    double brown_out = stated(&in->values[BROWN_OUT]);
    if (!(vo > 0.0) || !isfinite(vo))
        return refuse(out, "no output voltage is set; state output_voltage of the boost stage");
    if (!(crest > 0.0) || !isfinite(crest))
        return refuse(out, "no input voltage is there (%.4g V rms); raise the mains", in->input_voltage);
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
            in->input_frequency);
    return HL_STAGE_SOLVED;
}

static inline hl_stage_status check_limits(const hl_stage_input *in, const plan *p, double peak, double power,
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
static inline void rest(const hl_stage_input *in, double vo, hl_stage_output *out)
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

/* ----------------------------------------------------------------- plan -- */

/* The circuit of one phase from its parts; how many parts share each current.
 * bridgeless: two fast switches take turns as switch and rectifier, two slow ones as the bridge. */
static inline void look_at_parts(const hl_stage_input *in, double vo, bool bridgeless, plan *p, parts *n)
{
    const hl_slot_view *slot = in->slot;
    hl_terminal sw = slot_terminal(&slot[SWITCH], vo), re = slot_terminal(&slot[RECTIFIER], vo), slow = {0};
    hl_terminal choke = slot_terminal(&slot[INDUCTOR], 0.0), sense = slot_terminal(&slot[SENSE], 0.0);
    bool active = slot_filled(&slot[RECTIFIER]) && slot[RECTIFIER].device->family == HL_FAMILY_SWITCH;
    if (bridgeless) slow = re, re = sw;
    n->bridgeless = bridgeless;
    n->starter = sw;
    n->partner = re;
    n->synchronous = bridgeless || active;
    n->switches = fmax(1.0, slot[SWITCH].count);
    n->slow = fmax(1.0, slot[RECTIFIER].count);
    n->rectifiers = bridgeless ? n->switches : n->slow;
    n->inductors = fmax(1.0, slot[INDUCTOR].count);
    n->sense = slot_filled(&slot[SENSE]) ? slot[SENSE].count : 0.0;
    n->dead_time = n->synchronous ? stated(&in->values[DEAD_TIME]) : 0.0;
    n->slope = stated(&in->values[COMMUTATION_SLOPE]);
    p->common = sense.resistance + slow.resistance;
    p->slow_drop = active ? 0.0 : slow.voltage;
    double inductance = stated(&in->values[INDUCTANCE]), winding = choke.winding_resistance[0];
    p->circuit = (boost_circuit){.inductance = inductance > 0.0 ? inductance : choke.inductance,
                                 .rise_resistance = winding + sw.resistance,
                                 .fall_resistance = winding + re.resistance,
                                 .output = vo,
                                 .drop = n->synchronous ? 0.0 : re.voltage};
    /* The node's capacitance, of switch and rectifier, swings by charge: C = Q(Vo) / Vo; half a ring from Vo
     * about v takes pi sqrt(L C). */
    double charge = sw.output_charge + re.output_charge;
    p->delay = p->mode == BOUNDARY && p->settled
                   ? 2.0 * LINE_QUARTER * sqrt(p->circuit.inductance * fmax(charge, 0.0) / vo)
                   : 0.0;
}

static inline hl_stage_status check_parts(const plan *p, hl_stage_output *out)
{
    const boost_circuit *c = &p->circuit;
    if (!(c->inductance > 0.0) || !isfinite(c->inductance))
        return refuse(
            out, "the boost inductor has no inductance; state it at the part or as inductance of the stage");
    if (!(c->rise_resistance >= 0.0 && c->fall_resistance >= 0.0 && c->drop >= 0.0 && p->common >= 0.0 &&
          p->slow_drop >= 0.0 && isfinite(p->delay)) ||
        !isfinite(c->rise_resistance + c->fall_resistance + c->drop + p->common + p->slow_drop))
        return refuse(out, "a part of the boost stage shows a resistance or drop that is no number; check "
                           "the parts in its slots");
    return HL_STAGE_SOLVED;
}

static inline hl_stage_status set_plan(const hl_stage_input *in, double vo, bool bridgeless, plan *p,
                                       parts *n, hl_stage_output *out)
{
    const hl_value *v = in->values;
    double crest = sqrt(2.0) * in->input_voltage;
    p->mode = (int)stated(&v[MODE]) == BOUNDARY ? BOUNDARY : CONTINUOUS;
    p->settled = (int)stated(&v[TURN_ON]) == VALLEY;
    p->phases = phases_of(v);
    p->share = p->shared_mean = 1.0;
    for (size_t k = 0; k < LINE_NODES_MAX; k++) p->shared[k] = 1.0;
    look_at_parts(in, vo, bridgeless, p, n);
    hl_stage_status status = check_parts(p, out);
    if (status != HL_STAGE_SOLVED) return status;
    if (!(p->slow_drop < 0.5 * crest))
        return refuse(out,
                      "the slow leg drops %.3g V of a crest of %.4g V; raise the mains, or check its parts",
                      p->slow_drop, crest);
    p->start = p->slow_drop / crest;
    p->crest = crest - p->slow_drop;
    double f = stated(&v[p->mode == CONTINUOUS ? FREQUENCY : MAXIMUM_FREQUENCY]);
    if (p->mode == CONTINUOUS && !(f > 0.0))
        return refuse(out, "continuous mode needs a switching_frequency; state it");
    p->period = f > 0.0 ? 1.0 / f : 0.0;
    return HL_STAGE_SOLVED;
}

/* Start: Ipk = 2 P / Vpk; ton = 4 L P / Vpk^2 (boundary), or, all at the clamp, the on-time of a
 * fixed-frequency pulse train; P with a first guess of the path's loss.  source: Erickson and Maksimovic
 * (2001), sect. 18.2 and 18.3 */
static inline double first_guess(const plan *p, double wanted)
{
    boost_circuit c = circuit_of(p, 1.0);
    double l = p->circuit.inductance, vp2 = p->crest * p->crest, square = 2.0 * wanted * wanted / vp2;
    double duty = 1.0 - 0.85 * p->crest / p->circuit.output; /* of the mean square, near enough */
    double resistance = duty * c.rise_resistance + (1.0 - duty) * c.fall_resistance;
    double loss = p->circuit.drop / p->circuit.output * wanted +
                  (p->mode == BOUNDARY ? 4.0 / 3.0 : 1.1) * resistance * square;
    double power = wanted + fmin(loss, 0.3 * wanted);
    if (p->mode == CONTINUOUS) return 2.0 * power / p->crest;
    double boundary = 4.0 * l * power / vp2;
    return fmax(boundary, sqrt(boundary * p->period) * sqrt(fmax(0.0, 1.0 - p->crest / p->circuit.output)));
}

/* What is kept from solutions nearby: a better start, never needed. Of each the unknown over what it goes
 * with, the border and the elasticity. */
typedef struct kept {
    past_points past;
    double elasticity;
    int mode;
} kept;

/* What the unknown is in proportion to without losses. */
static inline double unknown_scale(const plan *p, double wanted)
{
    return p->mode == BOUNDARY ? wanted / (p->crest * p->crest) : wanted / p->crest;
}

static inline void start_from(const kept *last, double wanted, plan *p)
{
    p->unknown = first_guess(p, wanted);
    past_point now = {.asked = {wanted, p->crest, p->circuit.output}};
    if (!last || last->mode != p->mode || !past_lead(&last->past, now.asked, now.given)) return;
    double guess = now.given[0] * unknown_scale(p, wanted);
    if (guess > 0.5 * p->unknown && guess < 2.0 * p->unknown) p->unknown = guess;
    p->border = now.given[1];
    p->elasticity = now.given[2] > 0.3 && now.given[2] < 3.0 ? now.given[2] : 0.0;
}

static inline void keep_for_next(kept *last, double wanted, const plan *p)
{
    if (!last) return;
    const past_point now = {{wanted, p->crest, p->circuit.output},
                            {p->unknown / unknown_scale(p, wanted), p->border, p->elasticity}};
    if (last->mode != p->mode) *last = (kept){.mode = p->mode};
    past_keep(&last->past, &now);
}

/* How much of the phases' ripple is left in the common path at each node. */
static inline double share_common_path(plan *p)
{
    double moved = 0.0, sum = 0.0, m = p->phases;
    for (size_t k = 0; k < p->nodes.n; k++) {
        hl_segment one[3][BOOST_SEGMENTS], all[BOOST_MERGED];
        boost_cycle cycle = cycle_at_node(p->cycles, k);
        boost_circuit c = circuit_of(p, p->shared[k]);
        size_t n = boost_write(&c, &cycle, one[0], one[1], one[2]);
        hl_wave wave = {boost_interleave(one[0], n, cycle.period, p->phases, all), all};
        double merged = hl_wave_average(&wave),
               mean = p->cycles->switch_mean[k] + p->cycles->rectifier_mean[k];
        double square = p->cycles->switch_square[k] + p->cycles->rectifier_square[k];
        double ripple = fmax(hl_wave_mean_square(&wave) - merged * merged, 0.0);
        double shared = square > 0.0 ? fmin((m * m * mean * mean + ripple) / (m * m * square), 1.0) : 1.0;
        moved = fmax(moved, fabs(shared - p->shared[k]));
        p->shared[k] = shared;
        sum += shared;
    }
    p->shared_mean = sum / (double)p->nodes.n;
    return moved;
}

/* What cancels depends on the waves and they hardly on it: a few turns. */
static inline bool deliver_all(plan *p, size_t panels, double wanted)
{
    if (!deliver(p, panels, wanted)) return false;
    if (p->phases < 2 || !(p->common > 0.0)) return true;
    for (int pass = 0; pass < 20; pass++) {
        if (!(share_common_path(p) > 1e-12)) return true;
        if (!deliver(p, panels, wanted)) return false;
    }
    return true;
}

/* --------------------------------------------------------------- answer -- */

static inline void report(const hl_stage_input *in, const plan *p, const totals *t, const arrays *a,
                          bool bridgeless, double peak, double ripple_in, double power, hl_stage_output *out)
{
    double m = p->phases, vo = p->circuit.output;
    double ripple_out = m > 1.0 ? merged_ripple(p, a->output) : t->rectifier_square - t->delivered_square;
    double slow[5] = {0};
    for (int k = 1; k < 5; k++) slow[k] = m * t->second[k];
    double ripple = bus_ripple(slow, 4.0 * LINE_QUARTER * in->input_frequency, in->output_capacitance);
    double where = in->values[REPORT_PHASE].given ? in->values[REPORT_PHASE].number : 1.0;
    say_currents(p, t, bridgeless, ripple_in, fmax(ripple_out, 0.0), peak, out);
    say_bus(in, vo, power, ripple, out);
    say_one_cycle(p, where >= 0.0 && where <= 1.0 ? where : 1.0, out);
    out->input.voltage = in->input_voltage;
    out->input.current = m * sqrt(p->share * t->line_square);
    out->input.power = m * t->input_power;
    out->input.current_peak = m * peak; /* upper bound: interleaved ripple partly cancels */
    out->input.voltage_peak = sqrt(2.0) * in->input_voltage;
    out->output.voltage = vo;
    out->output.power = power;
    out->output.current = power / vo;
    out->output.current_peak = m * peak;
    out->output.voltage_peak = vo + 0.5 * ripple;
    out->circuit_loss = m * t->loss;
    hl_side *side[2] = {&out->input, &out->output};
    for (int k = 0; k < 2; k++) {
        side[k]->line_frequency = in->input_frequency;
        side[k]->cycles = a->n;
        side[k]->weight = a->weight;
        side[k]->frequency = a->frequency;
        side[k]->wave = k ? a->output : a->input;
    }
    double apparent = in->input_voltage * out->input.current;
    say(out, "power_factor", "1", apparent > 0.0 ? out->input.power / apparent : 0.0);
}

/* W that the rings of the node lose in the inductors where the current rests until they have died out, all
 * phases: from the bus about the line voltage v, which a capacitor behind the bridge holds. Of the switch
 * dead_ring.h; a synchronous rectifier blocks Vo less what the switch does, so it rings from nothing up about
 * Vo - v, and from Vo down where the switch's body path holds the node. A diode is told itself
 * (rectifier_rests). A valley is half a ring, which gives back what it took. */
static inline double dead_rings(const hl_stage_input *in, const plan *p, const parts *n)
{
    const line_cycles *c = p->cycles;
    const hl_slot_view *rectifier = &in->slot[n->bridgeless ? SWITCH : RECTIFIER];
    double vo = p->circuit.output, sum = 0.0;
    for (size_t k = 0; k < p->nodes.n; k++) {
        double v = fmin(c->voltage[k], vo);
        if (c->full[k]) continue;
        dead_ring sw = dead_ring_of(&in->slot[SWITCH], &n->starter, 0.0, vo, v), re = {0.0, 0.0};
        if (n->synchronous) re = dead_ring_of(rectifier, &n->partner, 0.0, vo, vo - v);
        double lost = dead_ring_least(sw.above + re.below, sw.below + re.above);
        sum += p->nodes.weight[k] * c->frequency[k] * lost;
    }
    return isfinite(sum) ? p->phases * p->share * sum : 0.0;
}

/* Solved cycles into stress, waves and figures. */
static inline hl_stage_status answer(const hl_stage_input *in, const plan *p, const parts *n, double power,
                                     hl_stage_output *out)
{
    line_rows rows;
    totals t;
    double peak = largest_peak(p);
    hl_stage_status status = check_limits(in, p, peak, power, out);
    if (status != HL_STAGE_SOLVED) return status;
    arrays *a = hl_scratch_take(in->scratch, sizeof *a);
    if (!a) return HL_STAGE_NO_MEMORY;
    fill_rows(p, &rows);
    total_up(p, &rows, &t);
    fill_arrays(p, n, &rows, a);
    if (!write_waves(p, n->inductors, in->scratch, a)) return HL_STAGE_NO_MEMORY;
    if (!write_line(p, &t, &rows, in->input_frequency, in->scratch, out)) return HL_STAGE_NO_MEMORY;
    double ripple = p->phases > 1 ? merged_ripple(p, a->input) : t.ripple_square;
    stress_of_parts(p, &t, n, a, peak, ripple, out->stress);
    report(in, p, &t, a, n->bridgeless, peak, ripple, power, out);
    if (!n->bridgeless) partner_heats(out, RECTIFIER, SWITCH, !n->synchronous);
    if (HL_REACHES(out, node_loss)) out->node_loss[INDUCTOR] = dead_rings(in, p, n);
    if (!n->bridgeless && !rectifier_rests(p, !n->synchronous, in->scratch, &out->stress[RECTIFIER]))
        return HL_STAGE_NO_MEMORY;
    if (n->bridgeless && !totem_pole_stress(p, &t, n, peak, ripple, in->input_frequency, in->scratch, out))
        return HL_STAGE_NO_MEMORY;
    return HL_STAGE_SOLVED;
}

/* Panels of eight nodes over the quarter line. */
static inline size_t panels_of(const hl_value *values)
{
    double cycles = values[CYCLES].given ? values[CYCLES].number : 16.0;
    if (!(cycles > 16.0)) return 2u;
    return cycles >= 32.0 ? 4u : (size_t)ceil(cycles / LINE_PANEL_NODES);
}

static inline hl_stage_status boost_solve(const hl_stage_input *in, bool bridgeless, hl_stage_output *out)
{
    plan p = {0};
    parts n = {0};
    double vo = in->values[OUTPUT_VOLTAGE].given ? in->values[OUTPUT_VOLTAGE].number : in->output_voltage;
    hl_stage_status status = check_input(in, vo, sqrt(2.0) * in->input_voltage, out);
    if (status == HL_STAGE_SOLVED) status = set_plan(in, vo, bridgeless, &p, &n, out);
    if (status != HL_STAGE_SOLVED) return status;
    double power = in->load.power > 0.0 ? in->load.power : in->load.current * vo;
    double wanted = power + in->extra_loss, burst = stated(&in->values[BURST_POWER]);
    if (!(power >= 0.0) || !isfinite(wanted))
        return refuse(out, "the load of the boost stage is no number, or negative (%.4g W)", power);
    if (!(wanted > 1e-9)) {
        rest(in, vo, out);
        return HL_STAGE_SOLVED;
    }
    p.cycles = hl_scratch_take(in->scratch, sizeof *p.cycles);
    if (!p.cycles) return HL_STAGE_NO_MEMORY;
    /* In bursts the packets deliver burst_power, for as much of the time as the load needs. */
    double packet = fmax(wanted, burst);
    p.share = wanted / packet;
    kept *last = in->memory;
    start_from(last, packet / p.phases, &p);
    if (!deliver_all(&p, panels_of(in->values), packet / p.phases))
        return refuse(out,
                      "%.4g W cannot reach the bus: the path of %.3g ohm takes it all; lower the load or the "
                      "resistances",
                      packet, p.circuit.rise_resistance + p.phases * p.common);
    keep_for_next(last, packet / p.phases, &p);
    return answer(in, &p, &n, power, out);
}

#endif
