/* boost_stress.h - what a solved boost stage asks of its parts, and the waves it leaves on its buses. */
#ifndef BOOST_STRESS_H
#define BOOST_STRESS_H

#include <string.h>

#include "boost_line.h"
#include "boost_waves.h"
#include "partner_charge.h"
#include "stress_stretch.h"

enum { SWITCH, RECTIFIER, INDUCTOR, SENSE, SLOTS }; /* totem pole: fast leg, slow leg */
enum { BOOST_ENTRIES = LINE_NODES_MAX + 1 };        /* cycles over the line, and what is left without any */

typedef struct arrays {
    size_t n; /* entries used */
    double *weight, *frequency, *sw_average, *sw_rms, *sw_peak, *sw_on, *duty, *residual, *block, *swing;
    double *re_average, *re_rms, *re_peak, *re_off, *re_reverse, *re_reverse_rms, *slope, *zero, *re_duty;
    double *re_block, *re_swing, *re_frequency;
    hl_wave *inductor, *flux, *input, *output;
} arrays;

/* Room for `filled` entries, which the caller writes, and one of nothing after them. */
static inline bool take_arrays(size_t filled, hl_scratch *scratch, arrays *a)
{
    const size_t n = filled + 1;
    double **each[] = {&a->weight,         &a->frequency,   &a->sw_average, &a->sw_rms,  &a->sw_peak,
                       &a->sw_on,          &a->duty,        &a->residual,   &a->block,   &a->swing,
                       &a->re_average,     &a->re_rms,      &a->re_peak,    &a->re_off,  &a->re_reverse,
                       &a->re_reverse_rms, &a->slope,       &a->zero,       &a->re_duty, &a->re_block,
                       &a->re_swing,       &a->re_frequency};
    for (size_t k = 0; k < sizeof each / sizeof *each; k++) {
        if (!(*each[k] = hl_scratch_take(scratch, n * sizeof(double)))) return false;
        (*each[k])[filled] = 0.0;
    }
    memset(a->zero, 0, n * sizeof(double));
    a->inductor = hl_scratch_take(scratch, 4 * n * sizeof(hl_wave));
    if (!a->inductor) return false;
    a->flux = a->inductor + n;
    a->input = a->inductor + 2 * n;
    a->output = a->inductor + 3 * n;
    a->inductor[filled] = a->flux[filled] = a->input[filled] = a->output[filled] = (hl_wave){0, NULL};
    return true;
}

typedef struct parts { /* how many in parallel */
    double switches, rectifiers, inductors, sense, slow;
    bool synchronous, bridgeless;
    double dead_time, slope;
    hl_terminal starter; /* the switch */
} parts;

/* A diode that carries nothing when the switch turns on is charged by as much as the drain swings; one that
 * still conducts is charged from nothing to all it blocks, which the diode's model knows by its current.
 * Nothing of it is given to the switch: a diode books its own charge. */
static inline double diode_swing(const parts *n, const boost_cycle *c, double residual)
{
    return n->synchronous || (c->full && c->valley > 0.0) ? 0.0 : residual;
}

/* Mean current through a synchronous rectifier's body path in the dead times at either end of its phase, and
 * its mean square; the fall is taken as straight. */
static inline double body_path(const boost_cycle *c, double dead_time, double *square)
{
    double f = 1.0 / c->period, end = c->full ? c->valley : 0.0;
    double dead = fmax(0.0, fmin(dead_time, 0.5 * c->off));
    double fall = c->off > 0.0 ? (c->peak - end) * dead / c->off : 0.0, top = c->peak - fall,
           low = end + fall;
    double both = c->peak * c->peak + c->peak * top + top * top + low * low + low * end + end * end;
    *square = fmin(dead * f * both / 3.0, c->square_off * f);
    return fmin(dead * f * (c->peak + end), c->charge_off * f);
}

static inline void fill_arrays(const plan *p, const parts *n, arrays *a)
{
    double left = 1.0;
    for (size_t k = 0; k < p->nodes.n; k++) {
        const boost_cycle *c = &p->cycle[k];
        double f = 1.0 / c->period, end = c->full ? c->valley : 0.0;
        a->weight[k] = p->share * p->nodes.weight[k];
        double own = partner_share(&n->starter, c->valley / n->switches);
        left -= a->weight[k];
        a->frequency[k] = f;
        a->re_frequency[k] = n->synchronous ? f : f * own;
        a->sw_average[k] = c->charge_on * f / n->switches;
        a->sw_rms[k] = sqrt(c->square_on * f) / n->switches;
        a->sw_peak[k] = c->peak / n->switches;
        a->sw_on[k] = c->valley / n->switches;
        a->duty[k] = c->on * f;
        a->residual[k] = residual(p, c);
        a->swing[k] = n->synchronous ? a->residual[k] : 0.0;
        a->re_swing[k] = diode_swing(n, c, a->residual[k]);
        a->block[k] = a->re_block[k] = p->circuit.output + p->circuit.drop;
        double all = c->square_off * f, reverse_square, reverse = body_path(c, n->dead_time, &reverse_square);
        if (!n->synchronous) reverse = reverse_square = 0.0;
        a->re_average[k] = fmax(c->charge_off * f - reverse, 0.0) / n->rectifiers;
        a->re_rms[k] = sqrt(fmax(all - reverse_square, 0.0)) / n->rectifiers;
        a->re_reverse[k] = reverse / n->rectifiers;
        a->re_reverse_rms[k] = sqrt(reverse_square) / n->rectifiers;
        a->re_peak[k] = c->peak / n->rectifiers;
        a->re_off[k] = end / n->rectifiers * (n->synchronous ? own : 1.0);
        a->re_duty[k] = c->off * f;
        a->slope[k] = n->slope / n->rectifiers;
    }
    a->n = p->nodes.n;
    if (!(p->share < 1.0 || p->start > 0.0)) return;
    /* bursts' pauses, and the line's zero below the slow leg's drop: no current, the node rests at the mean
     * line voltage */
    double rest = fmin(p->crest / LINE_QUARTER, p->circuit.output);
    a->weight[a->n] = fmax(left, 0.0);
    a->block[a->n] = rest;
    a->re_block[a->n++] = p->circuit.output - rest;
}

/* --------------------------------------------------------------- stress -- */

static inline hl_stress common_stress(const plan *p, const arrays *a)
{
    return (hl_stress){.struct_size = sizeof(hl_stress),
                       .n = a->n,
                       .weight = a->weight,
                       .frequency = a->frequency,
                       .voltage_dc = p->circuit.output,
                       .voltage_peak = p->circuit.output + p->circuit.drop};
}

static inline void switch_stress(const plan *p, const totals *t, const parts *n, const arrays *a, double peak,
                                 hl_stress *sw)
{
    *sw = common_stress(p, a);
    sw->current_average = a->sw_average;
    sw->current_rms = a->sw_rms;
    sw->current_peak = sw->current_off = a->sw_peak;
    sw->current_on = a->sw_on;
    sw->voltage_on = a->residual;
    sw->voltage_off = a->block;
    sw->charge_on = a->swing;
    sw->duty = a->duty;
    sw->total_rms = sqrt(t->switch_square) / n->switches;
    sw->total_average = t->switch_average / n->switches;
    sw->total_peak = peak / n->switches;
}

static inline void rectifier_stress(const plan *p, const totals *t, const parts *n, const arrays *a,
                                    double peak, hl_stress *re)
{
    *re = common_stress(p, a);
    re->frequency = a->re_frequency;
    re->current_average = a->re_average;
    re->current_rms = a->re_rms;
    re->current_peak = a->re_peak;
    re->voltage_off = a->re_block;
    re->slope_off = a->slope;
    re->current_off = a->re_off; /* commutated current: the valley */
    re->charge_on = a->re_swing;
    re->duty = a->re_duty;
    if (n->synchronous) {
        re->reverse_average = a->re_reverse;
        re->reverse_rms = a->re_reverse_rms;
        re->voltage_on = re->current_on = a->zero; /* its body path conducts before the gate comes */
    }
    re->total_rms = sqrt(t->rectifier_square) / n->rectifiers;
    re->total_average = t->rectifier_average / n->rectifiers;
    re->total_peak = peak / n->rectifiers;
}

/* Tells the rectifier's rests apart. At rest the node stands at the line voltage v, its ringing taken as died
 * out, and Vo - v is blocked; in boundary mode the rest is the half ring from Vo about v, told by its mean
 * and the root mean square deviation of a cosine on either side (flyback_stress.h), no more than Vo. A ring
 * that has died out has charged a diode to what it blocks; half of one gives back what it took. false: the
 * scratch is full. */
static inline bool rectifier_rests(const plan *p, bool diode, hl_scratch *scratch, hl_stress *re)
{
    double share[2][BOOST_ENTRIES] = {0}, voltage[2][BOOST_ENTRIES] = {0}, charged[BOOST_ENTRIES] = {0};
    for (size_t k = 0; k < p->nodes.n; k++) {
        const boost_cycle *c = &p->cycle[k];
        double vo = p->circuit.output, still = fmax(vo - c->voltage, 0.0);
        double rest = fmax(1.0 - (c->on + c->off) / c->period, 0.0);
        if (!(rest > 1e-9)) continue; /* rounding of a full cycle */
        bool half_ring = p->mode == BOUNDARY && c->full;
        charged[k] = half_ring ? 0.0 : 1.0 / c->period;
        for (int j = 0; j < 2; j++) {
            share[j][k] = half_ring ? 0.5 * rest : j ? 0.0 : rest;
            voltage[j][k] = half_ring ? fmin(still * (1.0 + (j ? -1.0 : 1.0) * sqrt(0.5)), vo) : still;
        }
    }
    const stress_stretch kind[2] = {{share[0], voltage[0]}, {share[1], voltage[1]}};
    return stress_tell_charged(re, 2, kind, diode ? charged : NULL, scratch);
}

static inline void inductor_stress(const plan *p, const totals *t, const parts *n, const arrays *a,
                                   double peak, hl_stress *in)
{
    *in = common_stress(p, a);
    in->flux_voltage = a->flux;
    in->windings = 1;
    in->winding_current[0] = a->inductor;
    in->flux_bias = p->circuit.inductance * t->line_average;
    in->total_rms = sqrt(t->switch_square + t->rectifier_square) / n->inductors;
    in->total_average = t->line_average / n->inductors;
    in->total_peak = peak / n->inductors;
    in->voltage_peak = p->circuit.output;
}

/* ripple: of the input current of all phases, rms^2, what cancels already gone. */
static inline void sense_stress(const plan *p, const totals *t, const parts *n, const arrays *a, double peak,
                                double ripple, hl_stress *sense)
{
    double all = p->phases;
    *sense = common_stress(p, a);
    if (!(n->sense > 0.0)) return;
    sense->total_rms = sqrt(all * all * t->line_square + ripple) / n->sense;
    sense->total_average = all * t->line_average / n->sense;
    sense->total_peak = all * peak / n->sense;
}

static inline void stress_of_parts(const plan *p, const totals *t, const parts *n, const arrays *a,
                                   double peak, double ripple, hl_stress stress[])
{
    switch_stress(p, t, n, a, peak, &stress[SWITCH]);
    rectifier_stress(p, t, n, a, peak, &stress[RECTIFIER]);
    inductor_stress(p, t, n, a, peak, &stress[INDUCTOR]);
    sense_stress(p, t, n, a, peak, ripple, &stress[SENSE]);
}

/* ---------------------------------------------------------------- waves -- */

static inline hl_wave written(const hl_segment segment[], size_t n)
{
    return (hl_wave){n, segment};
}

static inline bool write_waves(const plan *p, double inductors, hl_scratch *scratch, const arrays *a)
{
    unsigned phases = p->phases;
    size_t merged = phases > 1 ? 2 * BOOST_MERGED : 0;
    for (size_t k = 0; k < p->nodes.n; k++) {
        hl_segment *s = hl_scratch_take(scratch, (4 * BOOST_SEGMENTS + merged) * sizeof *s);
        if (!s) return false;
        hl_segment *flux = s + BOOST_SEGMENTS, *rectifier = s + 2 * BOOST_SEGMENTS,
                   *part = s + 3 * BOOST_SEGMENTS;
        boost_circuit circuit = circuit_of(p, p->shared[k]);
        size_t n = boost_write(&circuit, &p->cycle[k], s, flux, rectifier);
        a->input[k] = written(s, n);
        a->output[k] = written(rectifier, n);
        a->flux[k] = written(flux, n);
        if (phases > 1) {
            hl_segment *in = s + 4 * BOOST_SEGMENTS, *out = in + BOOST_MERGED;
            a->input[k] = written(in, boost_interleave(s, n, p->cycle[k].period, phases, in));
            a->output[k] = written(out, boost_interleave(rectifier, n, p->cycle[k].period, phases, out));
        }
        for (size_t j = 0; j < n; j++) {
            part[j] = s[j];
            part[j].offset /= inductors;
            part[j].slope /= inductors;
            part[j].cosine /= inductors;
        }
        a->inductor[k] = written(part, n);
    }
    return true;
}

/* Ripple of all phases together, rms^2: sums do not hold between phases, so from the merged waves. */
static inline double merged_ripple(const plan *p, const hl_wave wave[])
{
    double sum = 0.0;
    for (size_t k = 0; k < p->nodes.n; k++) {
        double mean = hl_wave_average(&wave[k]);
        sum += p->nodes.weight[k] * fmax(hl_wave_mean_square(&wave[k]) - mean * mean, 0.0);
    }
    return p->share * sum;
}

/* cos and sin of the line's angle, or of twice it, at node k of the half line: the second quarter mirrors the
 * first. */
typedef struct slow_turn {
    double c, s;
} slow_turn;

static inline slow_turn slow_turn_at(const line_nodes *nodes, size_t k, bool twice)
{
    bool second = k >= nodes->n;
    size_t node = second ? 2 * nodes->n - 1 - k : k;
    double s = nodes->sine[node], c = second ? -nodes->cosine[node] : nodes->cosine[node];
    return twice ? (slow_turn){1.0 - 2.0 * s * s, 2.0 * s * c} : (slow_turn){c, s};
}

static inline double slow_value(const hl_segment *shape, slow_turn at)
{
    return shape->offset + shape->cosine * at.c + shape->sine * at.s;
}

/* A slow wave over the half line: offset + sine or cosine of its own, plus chords of what is left at the
 * nodes and at the line's zero, where the wave is nothing. value: at each node; twice: its sine is that of
 * twice the line's frequency. Left out (one segment) while what is left is small. */
static inline bool slow_wave(const line_nodes *nodes, const double value[], double omega, hl_segment shape,
                             bool twice, hl_scratch *scratch, hl_wave *wave)
{
    double rest = 0.0, all = 0.0, half = LINE_QUARTER * 2.0 / omega, later = 1.0 / omega;
    size_t n = nodes->n;
    shape.duration = half;
    shape.omega = twice ? 2.0 * omega : omega;
    for (size_t k = 0; k < n; k++) {
        double off = value[k] - slow_value(&shape, slow_turn_at(nodes, k, twice));
        rest += nodes->weight[k] * off * off;
        all += nodes->weight[k] * value[k] * value[k];
    }
    bool plain = !(rest > 2e-5 * all);
    hl_segment *s = hl_scratch_take(scratch, (plain ? 1 : 2 * n + 1) * sizeof *s);
    if (!s) return false;
    *wave = written(s, plain ? 1 : 2 * n + 1);
    s[0] = shape;
    if (plain) return true;
    slow_turn turn = {1.0, 0.0};
    double from = 0.0, off_from = -slow_value(&shape, turn);
    for (size_t k = 0; k <= 2 * n; k++) {
        bool end = k == 2 * n;
        size_t node = k < n ? k : 2 * n - 1 - k;
        slow_turn next = end ? (slow_turn){twice ? 1.0 : -1.0, 0.0} : slow_turn_at(nodes, k, twice);
        double to = half, off = -slow_value(&shape, next);
        if (!end) {
            to = (k < n ? nodes->angle[node] : 2.0 * LINE_QUARTER - nodes->angle[node]) * later;
            off += value[node];
        }
        s[k] = (hl_segment){.duration = to - from,
                            .offset = shape.offset + off_from,
                            .omega = shape.omega,
                            .slope = to > from ? (off - off_from) / (to - from) : 0.0,
                            .cosine = shape.cosine * turn.c + shape.sine * turn.s,
                            .sine = shape.sine * turn.c - shape.cosine * turn.s};
        from = to;
        off_from = off;
        turn = next;
    }
    return true;
}

static inline bool write_line(const plan *p, const totals *t, double frequency, hl_scratch *scratch,
                              hl_stage_output *out)
{
    double phases = p->phases, value[LINE_NODES_MAX], omega = 4.0 * LINE_QUARTER * frequency;
    for (size_t k = 0; k < p->nodes.n; k++)
        value[k] = p->share * phases * (p->cycle[k].charge_on + p->cycle[k].charge_off) / p->cycle[k].period;
    hl_segment input = {.sine = phases * t->fundamental};
    if (!slow_wave(&p->nodes, value, omega, input, false, scratch, &out->input.line)) return false;
    for (size_t k = 0; k < p->nodes.n; k++)
        value[k] = p->share * phases * p->cycle[k].charge_off / p->cycle[k].period;
    hl_segment output = {.offset = phases * t->second[0], .cosine = phases * t->second[1]};
    return slow_wave(&p->nodes, value, omega, output, true, scratch, &out->output.line);
}

#endif
