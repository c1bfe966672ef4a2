/* boost_totem_pole.h - what the two legs of a bridgeless totem-pole stage bear.
 *
 * The fast switches change places every half wave: each is the boost switch in one and the synchronous
 * rectifier in the other, so its stress is the cycles of both, each with half the weight. The slow devices
 * carry the line current of all phases for one half wave each and block the bus for the other. */
#ifndef BOOST_TOTEM_POLE_H
#define BOOST_TOTEM_POLE_H

#include "boost_stress.h"

/* Two arrays as one; NULL reads as zeros. */
static inline double *joined(const double *first, const double *second, size_t n, hl_scratch *scratch)
{
    double *both = hl_scratch_take(scratch, 2 * n * sizeof *both);
    for (size_t k = 0; both && k < n; k++) {
        both[k] = hl_stress_at(first, k);
        both[k + n] = hl_stress_at(second, k);
    }
    return both;
}

static inline bool fast_leg_stress(const totals *t, double switches, hl_scratch *scratch, hl_stress stress[])
{
    hl_stress *sw = &stress[SWITCH], re = stress[RECTIFIER], both = *sw;
    const struct {
        const double **to, *first, *second;
    } rows[] = {
        {&both.weight, sw->weight, re.weight},
        {&both.frequency, sw->frequency, re.frequency},
        {&both.current_average, sw->current_average, re.current_average},
        {&both.current_rms, sw->current_rms, re.current_rms},
        {&both.current_peak, sw->current_peak, re.current_peak},
        {&both.current_on, sw->current_on, re.current_on},
        {&both.current_off, sw->current_off, re.current_off},
        {&both.voltage_on, sw->voltage_on, re.voltage_on},
        {&both.voltage_off, sw->voltage_off, re.voltage_off},
        {&both.reverse_average, sw->reverse_average, re.reverse_average},
        {&both.reverse_rms, sw->reverse_rms, re.reverse_rms},
        {&both.slope_off, sw->slope_off, re.slope_off},
        {&both.charge_on, sw->charge_on, re.charge_on},
        {&both.duty, sw->duty, re.duty},
    };
    double *weight = NULL;
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        double *array = joined(rows[k].first, rows[k].second, sw->n, scratch);
        if (!array) return false;
        if (!weight) weight = array;
        *rows[k].to = array;
    }
    both.n = 2 * sw->n;
    for (size_t k = 0; k < both.n; k++) weight[k] *= 0.5;
    both.total_rms = sqrt(0.5 * (t->switch_square + t->rectifier_square)) / switches;
    both.total_average = 0.5 * (t->switch_average + t->rectifier_average) / switches;
    *sw = both;
    return true;
}

/* One entry per array: the slow leg works at line frequency and turns over with no current. */
typedef struct slow_figures {
    double one, frequency, average, rms, peak, blocked, half, zero;
} slow_figures;

static inline bool slow_leg_stress(const plan *p, const totals *t, const parts *n, double peak, double ripple,
                                   double frequency, hl_scratch *scratch, hl_stress *stress)
{
    double m = p->phases, all = sqrt(0.5 * (m * m * t->line_square + ripple)) / n->slow;
    slow_figures *f = hl_scratch_take(scratch, sizeof *f);
    if (!f) return false;
    *f = (slow_figures){.one = 1.0,
                        .frequency = frequency,
                        .average = 0.5 * m * t->line_average / n->slow,
                        .rms = all,
                        .peak = m * peak / n->slow,
                        .blocked = p->circuit.output,
                        .half = 0.5};
    *stress = (hl_stress){.struct_size = sizeof *stress,
                          .n = 1,
                          .weight = &f->one,
                          .frequency = &f->frequency,
                          .current_average = &f->average,
                          .current_rms = &f->rms,
                          .current_peak = &f->peak,
                          .current_on = &f->zero,
                          .current_off = &f->zero,
                          .voltage_on = &f->zero,
                          .voltage_off = &f->blocked,
                          .duty = &f->half,
                          .voltage_peak = f->blocked,
                          .total_average = f->average,
                          .total_rms = f->rms,
                          .total_peak = f->peak};
    return true;
}

/* The ac side sees the half line and then its mirror. */
static inline bool unfold_line(hl_wave *line, hl_scratch *scratch)
{
    size_t n = line->n;
    hl_segment *s = hl_scratch_take(scratch, 2 * n * sizeof *s);
    if (!s) return false;
    for (size_t k = 0; k < 2 * n; k++) {
        s[k] = line->segment[k % n];
        if (k < n) continue;
        s[k].offset = -s[k].offset;
        s[k].slope = -s[k].slope;
        s[k].cosine = -s[k].cosine;
        s[k].sine = -s[k].sine;
    }
    *line = written(s, 2 * n);
    return true;
}

/* From the stress of a bridged stage, whose switch and rectifier are the fast leg's two duties. */
static inline bool totem_pole_stress(const plan *p, const totals *t, const parts *n, double peak,
                                     double ripple, double frequency, hl_scratch *scratch,
                                     hl_stage_output *out)
{
    return fast_leg_stress(t, n->switches, scratch, out->stress) &&
           slow_leg_stress(p, t, n, peak, ripple, frequency, scratch, &out->stress[RECTIFIER]) &&
           unfold_line(&out->input.line, scratch);
}

#endif
