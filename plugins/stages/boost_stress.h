/* boost_stress.h - what a solved boost stage asks of its parts, and the waves it leaves on its buses. */
#ifndef BOOST_STRESS_H
#define BOOST_STRESS_H

#include "bend.h"
#include "boost_line.h"
#include "boost_waves.h"
#include "partner_charge.h"
#include "stress_stretch.h"

enum { SWITCH, RECTIFIER, INDUCTOR, SENSE, SLOTS }; /* totem pole: fast leg, slow leg */
enum { BOOST_ENTRIES = LINE_NODES_MAX + 1 };        /* cycles over the line, and what is left without any */

/* What the parts bear, one row for each array of a stress; entry k for node k, and one of nothing after them.
 */
typedef struct arrays {
    size_t n; /* entries used */
    double weight[BOOST_ENTRIES], frequency[BOOST_ENTRIES], residual[BOOST_ENTRIES], zero[BOOST_ENTRIES];
    double sw_average[BOOST_ENTRIES], sw_rms[BOOST_ENTRIES], sw_peak[BOOST_ENTRIES], sw_on[BOOST_ENTRIES];
    double duty[BOOST_ENTRIES], block[BOOST_ENTRIES], swing[BOOST_ENTRIES];
    double re_average[BOOST_ENTRIES], re_rms[BOOST_ENTRIES], re_peak[BOOST_ENTRIES], re_off[BOOST_ENTRIES];
    double re_reverse[BOOST_ENTRIES], re_reverse_rms[BOOST_ENTRIES], slope[BOOST_ENTRIES];
    double re_duty[BOOST_ENTRIES], re_block[BOOST_ENTRIES], re_swing[BOOST_ENTRIES],
        re_frequency[BOOST_ENTRIES];
    hl_wave inductor[BOOST_ENTRIES], flux[BOOST_ENTRIES], input[BOOST_ENTRIES], output[BOOST_ENTRIES];
} arrays;

typedef struct parts { /* how many in parallel */
    double switches, rectifiers, inductors, sense, slow;
    bool synchronous, bridgeless;
    double dead_time, slope;
    hl_terminal starter, partner; /* the switch, and what takes turns with it, as they block the bus */
} parts;

/* Mean current through a synchronous rectifier's body path in the dead times at either end of its phase, and
 * its mean square; the fall is taken as straight. end: A at its end */
static inline double body_path(const line_cycles *c, size_t k, double end, double dead_time, double *square)
{
    double f = c->frequency[k], peak = c->peak[k], off = c->off[k];
    double dead = fmax(0.0, fmin(dead_time, 0.5 * off));
    double fall = off > 0.0 ? (peak - end) * dead / off : 0.0, top = peak - fall, low = end + fall;
    double both = peak * peak + peak * top + top * top + low * low + low * end + end * end;
    *square = fmin(dead * f * both / 3.0, c->rectifier_square[k]);
    return fmin(dead * f * (peak + end), c->rectifier_mean[k]);
}

/* What switch and rectifier have in common, whatever kind they are. */
FOUR_LANES static void fill_plain(const plan *p, const parts *n, const line_rows *rows, arrays *restrict a)
{
    const line_cycles *c = p->cycles;
    double switches = n->switches, rectifiers = n->rectifiers, blocked = p->circuit.output + p->circuit.drop;
    for (size_t k = 0; k < p->nodes.n; k++) {
        a->weight[k] = p->share * p->nodes.weight[k];
        a->frequency[k] = c->frequency[k];
        a->residual[k] = rows->residual[k];
        a->sw_average[k] = c->switch_mean[k] / switches;
        a->sw_rms[k] = sqrt(c->switch_square[k]) / switches;
        a->sw_peak[k] = c->peak[k] / switches;
        a->sw_on[k] = c->valley[k] / switches;
        a->duty[k] = c->on[k] * c->frequency[k];
        a->block[k] = a->re_block[k] = blocked;
        a->re_peak[k] = c->peak[k] / rectifiers;
        a->re_duty[k] = c->off[k] * c->frequency[k];
        a->slope[k] = n->slope / rectifiers;
    }
}

/* A diode that carries nothing when the switch turns on is charged by as much as the drain swings; one that
 * still conducts is charged from nothing to all it blocks, which the diode's model knows by its current.
 * Nothing of it is given to the switch: a diode books its own charge. */
FOUR_LANES static void fill_diode(const plan *p, const parts *n, const line_rows *rows, arrays *restrict a)
{
    const line_cycles *c = p->cycles;
    double rectifiers = n->rectifiers;
    for (size_t k = 0; k < p->nodes.n; k++) {
        double end = c->valley[k];
        a->swing[k] = 0.0;
        a->re_swing[k] = end > 0.0 ? 0.0 : rows->residual[k];
        a->re_average[k] = c->rectifier_mean[k] / rectifiers;
        a->re_rms[k] = sqrt(c->rectifier_square[k]) / rectifiers;
        a->re_off[k] = end / rectifiers;
        a->re_frequency[k] = c->frequency[k];
    }
    if (!(n->starter.turn_on_table > 0.0)) return;
    for (size_t k = 0; k < p->nodes.n; k++)
        a->re_frequency[k] = c->frequency[k] * partner_share(&n->starter, c->valley[k] / n->switches);
}

static inline void fill_synchronous(const plan *p, const parts *n, const line_rows *rows, arrays *a)
{
    const line_cycles *c = p->cycles;
    for (size_t k = 0; k < p->nodes.n; k++) {
        double end = c->valley[k], reverse_square;
        double reverse = body_path(c, k, end, n->dead_time, &reverse_square);
        a->swing[k] = rows->residual[k];
        a->re_swing[k] = 0.0;
        a->re_average[k] = fmax(c->rectifier_mean[k] - reverse, 0.0) / n->rectifiers;
        a->re_rms[k] = sqrt(fmax(c->rectifier_square[k] - reverse_square, 0.0)) / n->rectifiers;
        a->re_reverse[k] = reverse / n->rectifiers;
        a->re_reverse_rms[k] = sqrt(reverse_square) / n->rectifiers;
        a->re_off[k] = end / n->rectifiers * partner_share(&n->starter, c->valley[k] / n->switches);
        a->re_frequency[k] = c->frequency[k];
        a->zero[k] = 0.0;
    }
}

/* Bursts' pauses, and the line's zero below the slow leg's drop: no current, the node rests at the mean line
 * voltage. */
static inline void fill_rest(const plan *p, arrays *a)
{
    double left = 1.0, rest = fmin(p->crest / LINE_QUARTER, p->circuit.output);
    size_t n = a->n++;
    for (size_t k = 0; k < n; k++) left -= a->weight[k];
    double *const rows[] = {a->frequency, a->residual, a->zero,     a->sw_average,  a->sw_rms,
                            a->sw_peak,   a->sw_on,    a->duty,     a->swing,       a->re_average,
                            a->re_rms,    a->re_peak,  a->re_off,   a->re_reverse,  a->re_reverse_rms,
                            a->slope,     a->re_duty,  a->re_swing, a->re_frequency};
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) rows[r][n] = 0.0;
    a->inductor[n] = a->flux[n] = a->input[n] = a->output[n] = (hl_wave){0, NULL};
    a->weight[n] = fmax(left, 0.0);
    a->block[n] = rest;
    a->re_block[n] = p->circuit.output - rest;
}

static inline void fill_arrays(const plan *p, const parts *n, const line_rows *rows, arrays *a)
{
    fill_plain(p, n, rows, a);
    if (n->synchronous)
        fill_synchronous(p, n, rows, a);
    else
        fill_diode(p, n, rows, a);
    a->n = p->nodes.n;
    if (p->share < 1.0 || p->start > 0.0) fill_rest(p, a);
}

/* --------------------------------------------------------------- stress -- */

/* What the stresses of all parts share; the host has cleared them. */
static inline void common_stress(const plan *p, const arrays *a, hl_stress *stress)
{
    stress->struct_size = sizeof *stress;
    stress->n = a->n;
    stress->weight = a->weight;
    stress->frequency = a->frequency;
    stress->voltage_dc = p->circuit.output;
    stress->voltage_peak = p->circuit.output + p->circuit.drop;
}

static inline void switch_stress(const plan *p, const totals *t, const parts *n, const arrays *a, double peak,
                                 hl_stress *sw)
{
    common_stress(p, a, sw);
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
    common_stress(p, a, re);
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

/* Two stretches of each cycle, and Hz at which the first of them charges a diode. */
typedef struct rest_rows {
    double share[2][LINE_NODES_MAX + 1], voltage[2][LINE_NODES_MAX + 1], charged[LINE_NODES_MAX + 1];
} rest_rows;

/* At rest the node stands at the line voltage v, its ringing taken as died out, and Vo - v is blocked; in
 * boundary mode the rest is the half ring from Vo about v, told by its mean and the root mean square
 * deviation of a cosine on either side (flyback_stress.h), no more than Vo. A ring that has died out has
 * charged a diode to what it blocks; half of one gives back what it took. */
FOUR_LANES static void fill_rests(const plan *p, rest_rows *restrict r)
{
    const line_cycles *c = p->cycles;
    double vo = p->circuit.output;
    for (size_t k = 0; k < p->nodes.n; k++) {
        double still = vo - c->voltage[k], rest = 1.0 - (c->on[k] + c->off[k]) * c->frequency[k];
        bool half_ring = p->mode == BOUNDARY && c->full[k];
        if (!(still > 0.0)) still = 0.0;
        if (!(rest > 1e-9)) rest = 0.0; /* rounding of a full cycle */
        double high = still * (1.0 + sqrt(0.5)), low = still * (1.0 - sqrt(0.5));
        r->share[0][k] = half_ring ? 0.5 * rest : rest;
        r->share[1][k] = half_ring ? 0.5 * rest : 0.0;
        r->voltage[0][k] = !half_ring ? still : high < vo ? high : vo;
        r->voltage[1][k] = !half_ring ? still : low < vo ? low : vo;
        r->charged[k] = half_ring || rest == 0.0 ? 0.0 : c->frequency[k];
    }
}

/* Tells the rectifier's rests apart. false: the scratch is full. */
static inline bool rectifier_rests(const plan *p, bool diode, hl_scratch *scratch, hl_stress *re)
{
    rest_rows r;
    size_t last = p->nodes.n; /* what is left without any cycle */
    fill_rests(p, &r);
    r.share[0][last] = r.share[1][last] = r.voltage[0][last] = r.voltage[1][last] = r.charged[last] = 0.0;
    const stress_stretch kind[2] = {{r.share[0], r.voltage[0]}, {r.share[1], r.voltage[1]}};
    return stress_tell_charged(re, 2, kind, diode ? r.charged : NULL, scratch);
}

static inline void inductor_stress(const plan *p, const totals *t, const parts *n, const arrays *a,
                                   double peak, hl_stress *in)
{
    common_stress(p, a, in);
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
    common_stress(p, a, sense);
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

static inline boost_cycle cycle_at_node(const line_cycles *c, size_t k)
{
    return (boost_cycle){.voltage = c->voltage[k],
                         .period = c->period[k],
                         .on = c->on[k],
                         .off = c->off[k],
                         .valley = c->valley[k],
                         .peak = c->peak[k],
                         .full = c->full[k]};
}

/* The wave of one of `inductors` that share it. */
static inline hl_wave part_of(hl_wave wave, double inductors, hl_segment part[])
{
    if (inductors == 1.0) return wave;
    for (size_t j = 0; j < wave.n; j++) {
        part[j] = wave.segment[j];
        part[j].offset /= inductors;
        part[j].slope /= inductors;
        part[j].cosine /= inductors;
    }
    return written(part, wave.n);
}

static inline bool write_waves(const plan *p, double inductors, hl_scratch *scratch, arrays *a)
{
    unsigned phases = p->phases;
    size_t each = 4 * BOOST_SEGMENTS + (phases > 1 ? 2 * BOOST_MERGED : 0);
    hl_segment *s = hl_scratch_take(scratch, p->nodes.n * each * sizeof *s);
    for (size_t k = 0; s && k < p->nodes.n; k++, s += each) {
        hl_segment *flux = s + BOOST_SEGMENTS, *rectifier = flux + BOOST_SEGMENTS,
                   *part = rectifier + BOOST_SEGMENTS, *in = part + BOOST_SEGMENTS, *out = in + BOOST_MERGED;
        boost_circuit circuit = circuit_of(p, p->shared[k]);
        boost_cycle cycle = cycle_at_node(p->cycles, k);
        size_t n = boost_write(&circuit, &cycle, s, flux, rectifier);
        bool one = phases < 2;
        a->input[k] = one ? written(s, n) : written(in, boost_interleave(s, n, cycle.period, phases, in));
        a->output[k] = one ? written(rectifier, n)
                           : written(out, boost_interleave(rectifier, n, cycle.period, phases, out));
        a->flux[k] = written(flux, n);
        a->inductor[k] = part_of(written(s, n), inductors, part);
    }
    return s;
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

/* The borders of the pieces of a slow wave over the half line: its start, the nodes, their mirror images in
 * the second quarter, its end. */
enum { LINE_BORDERS_MAX = 2 * LINE_NODES_MAX + 2 };
typedef struct line_borders {
    size_t n;
    double time[LINE_BORDERS_MAX];                           /* s */
    double cosine[LINE_BORDERS_MAX], sine[LINE_BORDERS_MAX]; /* of the wave's own angle */
    double off[LINE_BORDERS_MAX]; /* what the wave is there beyond its sine or cosine */
} line_borders;

/* The second quarter mirrors the first: the figure there is `sign` times that of the first, which borders 0
 * to n / 2 - 1 hold. */
static inline void mirror_borders(double row[], size_t n, double sign)
{
    for (size_t b = 0; b < n / 2; b++) row[n - 1 - b] = sign * row[b];
}

/* twice: the wave's own angle is twice that of the line. off: of the nodes */
FOUR_LANES static void place_borders(const line_nodes *nodes, const double off[], double off_start,
                                     double omega, bool twice, line_borders *restrict b)
{
    double later = 1.0 / omega, half = 2.0 * LINE_QUARTER * later;
    size_t n = b->n = 2 * nodes->n + 2;
    b->time[0] = b->sine[0] = 0.0;
    b->cosine[0] = 1.0;
    b->off[0] = off_start;
    for (size_t k = 0; k < nodes->n; k++) {
        double c = nodes->cosine[k], s = nodes->sine[k];
        b->time[k + 1] = nodes->angle[k] * later;
        b->cosine[k + 1] = twice ? 1.0 - 2.0 * s * s : c;
        b->sine[k + 1] = twice ? 2.0 * s * c : s;
        b->off[k + 1] = off[k];
    }
    mirror_borders(b->time, n, -1.0);
    mirror_borders(b->cosine, n, twice ? 1.0 : -1.0);
    mirror_borders(b->sine, n, twice ? -1.0 : 1.0);
    mirror_borders(b->off, n, 1.0);
    for (size_t k = n / 2; k < n; k++) b->time[k] += half;
}

static inline void write_pieces(const line_borders *b, const hl_segment *shape, hl_segment s[])
{
    for (size_t k = 0; k + 1 < b->n; k++) {
        double duration = b->time[k + 1] - b->time[k], c = b->cosine[k], d = b->sine[k];
        s[k] = (hl_segment){.duration = duration,
                            .offset = shape->offset + b->off[k],
                            .omega = shape->omega,
                            .slope = duration > 0.0 ? (b->off[k + 1] - b->off[k]) / duration : 0.0,
                            .cosine = shape->cosine * c + shape->sine * d,
                            .sine = shape->sine * c - shape->cosine * d};
    }
}

/* A slow wave over the half line, the same on either side of the crest: offset + sine, or cosine of twice the
 * line's frequency, plus chords of what is left at the nodes and at the line's zero, where the wave is
 * nothing. value: at each node. Left out (one segment) while what is left is small, and drawn by degrees from
 * there on (bend.h). */
static inline bool slow_wave(const line_nodes *nodes, const double value[], double omega, hl_segment shape,
                             bool twice, hl_scratch *scratch, hl_wave *wave)
{
    line_borders borders;
    double off[LINE_NODES_MAX];
    for (size_t k = 0; k < nodes->n; k++) {
        double sine = nodes->sine[k];
        off[k] =
            value[k] - shape.offset - (twice ? shape.cosine * (1.0 - 2.0 * sine * sine) : shape.sine * sine);
    }
    double drawn = bend_drawn(line_product(nodes, off, off) / line_product(nodes, value, value), 1e-5);
    bool plain = !(drawn > 0.0);
    for (size_t k = 0; drawn < 1.0 && k < nodes->n; k++) off[k] *= drawn;
    size_t n = plain ? 1 : 2 * nodes->n + 1;
    hl_segment *s = hl_scratch_take(scratch, n * sizeof *s);
    if (!s) return false;
    *wave = written(s, n);
    shape.duration = 2.0 * LINE_QUARTER / omega;
    shape.omega = twice ? 2.0 * omega : omega;
    s[0] = shape;
    if (plain) return true;
    place_borders(nodes, off, -drawn * (shape.offset + shape.cosine), omega, twice, &borders);
    write_pieces(&borders, &shape, s);
    return true;
}

static inline bool write_line(const plan *p, const totals *t, const line_rows *rows, double frequency,
                              hl_scratch *scratch, hl_stage_output *out)
{
    double phases = p->phases, all = p->share * phases, value[LINE_NODES_MAX],
           omega = 4.0 * LINE_QUARTER * frequency;
    for (size_t k = 0; k < p->nodes.n; k++) value[k] = all * rows->mean[k];
    hl_segment input = {.sine = phases * t->fundamental};
    if (!slow_wave(&p->nodes, value, omega, input, false, scratch, &out->input.line)) return false;
    for (size_t k = 0; k < p->nodes.n; k++) value[k] = all * p->cycles->rectifier_mean[k];
    hl_segment output = {.offset = phases * t->second[0], .cosine = phases * t->second[1]};
    return slow_wave(&p->nodes, value, omega, output, true, scratch, &out->output.line);
}

#endif
