/* boost_stress.h - what a solved boost stage asks of its parts, and the waves it leaves on its buses. */
#ifndef BOOST_STRESS_H
#define BOOST_STRESS_H

#include "boost_line.h"
#include "boost_waves.h"

enum { SWITCH, RECTIFIER, INDUCTOR, SENSE, SLOTS };

typedef struct arrays {
    double *weight, *frequency, *sw_average, *sw_rms, *sw_peak, *sw_on, *duty, *residual, *block, *swing;
    double *re_average, *re_rms, *re_peak, *re_off, *re_reverse, *re_reverse_rms, *slope, *zero, *re_duty;
    hl_wave *inductor, *flux, *input, *output;
} arrays;

static inline bool take_arrays(hl_scratch *scratch, size_t n, arrays *a)
{
    double **each[] = {&a->weight,         &a->frequency, &a->sw_average, &a->sw_rms, &a->sw_peak,
                       &a->sw_on,          &a->duty,      &a->residual,   &a->block,  &a->swing,
                       &a->re_average,     &a->re_rms,    &a->re_peak,    &a->re_off, &a->re_reverse,
                       &a->re_reverse_rms, &a->slope,     &a->zero,       &a->re_duty};
    for (size_t k = 0; k < sizeof each / sizeof *each; k++)
        if (!(*each[k] = hl_scratch_take(scratch, n * sizeof(double)))) return false;
    a->inductor = hl_scratch_take(scratch, 4 * n * sizeof(hl_wave));
    if (!a->inductor) return false;
    a->flux = a->inductor + n;
    a->input = a->inductor + 2 * n;
    a->output = a->inductor + 3 * n;
    return true;
}

typedef struct parts { /* how many in parallel */
    double switches, rectifiers, inductors, sense;
    bool synchronous;
    double dead_time, slope;
} parts;

static inline void fill_arrays(const plan *p, const parts *n, arrays *a)
{
    for (size_t k = 0; k < p->nodes.n; k++) {
        const boost_cycle *c = &p->cycle[k];
        double f = 1.0 / c->period, end = c->full ? c->valley : 0.0;
        a->weight[k] = p->nodes.weight[k];
        a->frequency[k] = f;
        a->sw_average[k] = c->charge_on * f / n->switches;
        a->sw_rms[k] = sqrt(c->square_on * f) / n->switches;
        a->sw_peak[k] = c->peak / n->switches;
        a->sw_on[k] = c->valley / n->switches;
        a->duty[k] = c->on * f;
        a->residual[k] = residual(p, c);
        a->swing[k] = n->synchronous ? a->residual[k] : 0.0;
        a->block[k] = p->circuit.output + p->circuit.drop;
        double dead = fmin(n->dead_time, 0.5 * c->off), reverse = dead * f * (c->peak + end);
        double reverse_square = dead * f * (c->peak * c->peak + end * end), all = c->square_off * f;
        if (!n->synchronous) reverse = reverse_square = 0.0;
        a->re_average[k] = fmax(c->charge_off * f - reverse, 0.0) / n->rectifiers;
        a->re_rms[k] = sqrt(fmax(all - reverse_square, 0.0)) / n->rectifiers;
        a->re_reverse[k] = reverse / n->rectifiers;
        a->re_reverse_rms[k] = sqrt(reverse_square) / n->rectifiers;
        a->re_peak[k] = c->peak / n->rectifiers;
        a->re_off[k] = end / n->rectifiers;
        a->re_duty[k] = c->off * f;
        a->slope[k] = n->slope / n->rectifiers;
        a->zero[k] = 0.0;
    }
}

static inline void stress_of_parts(const plan *p, const totals *t, const parts *n, const arrays *a,
                                   double peak, unsigned phases, hl_stress stress[])
{
    double scale = 1.0 / n->rectifiers;
    hl_stress both = {.struct_size = sizeof both,
                      .n = p->nodes.n,
                      .weight = a->weight,
                      .frequency = a->frequency,
                      .voltage_dc = p->circuit.output,
                      .voltage_peak = p->circuit.output + p->circuit.drop};
    hl_stress *sw = &stress[SWITCH], *re = &stress[RECTIFIER], *in = &stress[INDUCTOR], *se = &stress[SENSE];
    *sw = *re = *in = *se = both;
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
    re->current_average = a->re_average;
    re->current_rms = a->re_rms;
    re->current_peak = a->re_peak;
    re->voltage_off = a->block;
    re->slope_off = a->slope;
    re->current_off = a->re_off; /* commutated current: the valley */
    re->duty = a->re_duty;
    if (n->synchronous) {
        re->reverse_average = a->re_reverse;
        re->reverse_rms = a->re_reverse_rms;
        re->voltage_on = re->current_on = a->zero; /* its body path conducts before the gate comes */
    }
    re->total_rms = sqrt(t->rectifier_square) * scale;
    re->total_average = t->rectifier_average * scale;
    re->total_peak = peak * scale;
    in->flux_voltage = a->flux;
    in->windings = 1;
    in->winding_current[0] = a->inductor;
    in->flux_bias = p->circuit.inductance * t->line_average;
    in->total_rms = sqrt(t->switch_square + t->rectifier_square) / n->inductors;
    in->total_average = t->line_average / n->inductors;
    in->total_peak = peak / n->inductors;
    in->voltage_peak = p->circuit.output;
    if (n->sense > 0.0) {
        double all = phases;
        se->total_rms = sqrt(all * all * t->line_square + all * t->ripple_square) / n->sense;
        se->total_average = all * t->line_average / n->sense;
        se->total_peak = all * peak / n->sense;
    }
}

/* ---------------------------------------------------------------- waves -- */

static inline hl_wave written(const hl_segment segment[], size_t n)
{
    return (hl_wave){n, segment};
}

static inline bool write_waves(const plan *p, unsigned phases, double inductors, hl_scratch *scratch,
                               const arrays *a)
{
    size_t merged = phases > 1 ? 2 * BOOST_MERGED : 0;
    for (size_t k = 0; k < p->nodes.n; k++) {
        hl_segment *s = hl_scratch_take(scratch, (4 * BOOST_SEGMENTS + merged) * sizeof *s);
        if (!s) return false;
        hl_segment *flux = s + BOOST_SEGMENTS, *rectifier = s + 2 * BOOST_SEGMENTS,
                   *part = s + 3 * BOOST_SEGMENTS;
        size_t n = boost_write(&p->circuit, &p->cycle[k], s, flux, rectifier);
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

/* A slow wave over the half line: offset + sine or cosine of its own, plus chords of what is left at the
 * nodes. mean_at: its value at each node. Left out (one segment) while what is left is small. */
static inline bool slow_wave(const line_nodes *nodes, const double value[], double omega, hl_segment shape,
                             double first, hl_scratch *scratch, hl_wave *wave)
{
    double rest = 0.0, all = 0.0, half = LINE_QUARTER * 2.0 / omega;
    size_t n = nodes->n;
    for (size_t k = 0; k < n; k++) {
        double off = value[k] - hl_segment_at(&shape, nodes->angle[k] / omega);
        rest += nodes->weight[k] * off * off;
        all += nodes->weight[k] * value[k] * value[k];
    }
    bool plain = !(rest > 2e-5 * all);
    hl_segment *s = hl_scratch_take(scratch, (plain ? 1 : 2 * n + 1) * sizeof *s);
    if (!s) return false;
    *wave = written(s, plain ? 1 : 2 * n + 1);
    shape.duration = half;
    s[0] = shape;
    if (plain) return true;
    double from = 0.0, off_from = first - hl_segment_at(&shape, 0.0), span = shape.omega;
    for (size_t k = 0; k <= 2 * n; k++) {
        size_t node = k < n ? k : 2 * n - 1 - k;
        double angle = k < n ? nodes->angle[node] : k < 2 * n ? 2.0 * LINE_QUARTER - nodes->angle[node] : 0.0;
        double to = k < 2 * n ? angle / omega : half;
        double at = k < 2 * n ? value[node] : first;
        double off = at - hl_segment_at(&shape, k < 2 * n ? angle / omega : half);
        double c = cos(span * from), d = sin(span * from);
        s[k] = (hl_segment){.duration = to - from,
                            .offset = shape.offset + off_from,
                            .omega = span,
                            .slope = to > from ? (off - off_from) / (to - from) : 0.0,
                            .cosine = shape.cosine * c + shape.sine * d,
                            .sine = shape.sine * c - shape.cosine * d};
        from = to;
        off_from = off;
    }
    return true;
}

static inline bool write_line(const plan *p, const totals *t, double phases, double frequency,
                              hl_scratch *scratch, hl_stage_output *out)
{
    double value[LINE_NODES_MAX], omega = 4.0 * LINE_QUARTER * frequency;
    for (size_t k = 0; k < p->nodes.n; k++)
        value[k] = phases * (p->cycle[k].charge_on + p->cycle[k].charge_off) / p->cycle[k].period;
    hl_segment input = {.omega = omega, .sine = phases * t->fundamental};
    if (!slow_wave(&p->nodes, value, omega, input, 0.0, scratch, &out->input.line)) return false;
    for (size_t k = 0; k < p->nodes.n; k++) value[k] = phases * p->cycle[k].charge_off / p->cycle[k].period;
    hl_segment output = {
        .offset = phases * t->second[0], .omega = 2.0 * omega, .cosine = phases * t->second[1]};
    return slow_wave(&p->nodes, value, omega, output, 0.0, scratch, &out->output.line);
}

#endif
