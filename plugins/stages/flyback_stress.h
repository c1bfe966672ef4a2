/* flyback_stress.h - what the solved cycles ask of each part, and the waves they leave on the buses. */
#ifndef FLYBACK_STRESS_H
#define FLYBACK_STRESS_H

#include "flyback_waves.h"
#include "slot_terminal.h"
#include "stress_stretch.h"

enum { SWITCH, TRANSFORMER, RECTIFIER, CLAMP_RESISTOR, CLAMP_CAPACITOR, CLAMP_DIODE, SENSE, SLOTS };
enum {
    FLYBACK_ENTRIES = FLYBACK_NODES_MAX + 1,
    FLYBACK_LINES = 16
}; /* cycles along the ripple, and a pause */
/* Scratch of the stretches that rectifier and clamp diode block in, told apart. */
#define FLYBACK_STRETCH_SCRATCH (2 * STRETCH_SCRATCH(FLYBACK_ENTRIES, 2))

typedef struct flyback_parts { /* how many in parallel; 0: slot empty */
    double count[SLOTS];
    bool synchronous;
    double dead_time;              /* s, of a synchronous rectifier */
    const hl_slot_view *rectifier; /* its slot */
} flyback_parts;

/* Highest input voltage of those looked at. */
static inline double flyback_crest(const flyback_plan *p)
{
    double most = 0.0;
    for (size_t n = 0; n < p->n; n++) most = fmax(most, p->node[n].circuit.input);
    return most;
}

/* Highest drain voltage: any pulse may fall on the highest input. */
static inline double flyback_drain_peak(const flyback_plan *p)
{
    double above = 0.0;
    for (size_t n = 0; n < p->n; n++)
        above = fmax(above, p->node[n].figures.drain_peak - p->node[n].circuit.input);
    return flyback_crest(p) + above;
}

static inline double flyback_clamp_peak(const flyback_plan *p)
{
    double most = 0.0;
    for (size_t n = 0; n < p->n; n++) most = fmax(most, p->node[n].clamp_peak);
    return most;
}

/* One array per figure of a stress. */
typedef struct flyback_store {
    double average[FLYBACK_ENTRIES], rms[FLYBACK_ENTRIES], peak[FLYBACK_ENTRIES], on[FLYBACK_ENTRIES],
        off[FLYBACK_ENTRIES], voltage_on[FLYBACK_ENTRIES], voltage_off[FLYBACK_ENTRIES],
        reverse[FLYBACK_ENTRIES], reverse_rms[FLYBACK_ENTRIES], slope[FLYBACK_ENTRIES],
        swing[FLYBACK_ENTRIES], duty[FLYBACK_ENTRIES];
} flyback_store;

typedef struct flyback_answer { /* lives in scratch */
    size_t n;
    double weight[FLYBACK_ENTRIES], frequency[FLYBACK_ENTRIES];
    hl_wave wave[FLYBACK_WAVES][FLYBACK_ENTRIES]; /* of the whole stage */
    hl_wave part[2][FLYBACK_ENTRIES];             /* windings of one transformer */
    flyback_store sw, re, diode;
    double line_frequency[FLYBACK_NODES_MAX * FLYBACK_LINES], line_square[FLYBACK_NODES_MAX * FLYBACK_LINES];
    hl_segment segment[FLYBACK_NODES_MAX][FLYBACK_WAVES + 2][FLYBACK_SEGMENTS];
} flyback_answer;

/* Cycles with their weights; what bursts leave over is a pause without waves. */
static inline void flyback_begin(const flyback_plan *p, double transformers, flyback_answer *a)
{
    double paused = 0.0;
    a->n = p->n;
    for (size_t n = 0; n < p->n; n++) {
        const flyback_node *node = &p->node[n];
        a->weight[n] = node->weight * node->share;
        a->frequency[n] = 1.0 / node->cycle.period;
        paused += node->weight * (1.0 - node->share);
        flyback_pen pen = {.n = 0};
        for (int w = 0; w < FLYBACK_WAVES; w++) pen.segment[w] = a->segment[n][w];
        flyback_write(node, &pen);
        for (int w = 0; w < FLYBACK_WAVES; w++) a->wave[w][n] = (hl_wave){pen.n, a->segment[n][w]};
        for (int w = 0; w < 2; w++) {
            a->part[w][n] = a->wave[w][n];
            if (!(transformers > 1.0)) continue;
            hl_segment *own = a->segment[n][FLYBACK_WAVES + w];
            for (size_t k = 0; k < pen.n; k++) own[k] = flyback_scaled(pen.segment[w][k], 1.0 / transformers);
            a->part[w][n].segment = own;
        }
    }
    if (paused > 0.0) a->weight[a->n++] = paused;
}

static inline void flyback_attach(const flyback_answer *a, flyback_store *s, hl_stress *stress)
{
    stress->struct_size = sizeof *stress;
    stress->n = a->n;
    stress->weight = a->weight;
    stress->frequency = a->frequency;
    if (!s) return;
    stress->current_average = s->average;
    stress->current_rms = s->rms;
    stress->current_peak = s->peak;
    stress->current_on = s->on;
    stress->current_off = s->off;
    stress->voltage_on = s->voltage_on;
    stress->voltage_off = s->voltage_off;
    stress->reverse_average = s->reverse;
    stress->reverse_rms = s->reverse_rms;
    stress->slope_off = s->slope;
    stress->charge_on = s->swing;
    stress->duty = s->duty;
}

/* Totals from the cycles: means by weight, the largest peak. */
static inline void flyback_total(const flyback_answer *a, const flyback_store *s, hl_stress *stress)
{
    double square = 0.0;
    for (size_t n = 0; n < a->n; n++) {
        stress->total_average += a->weight[n] * (s->average[n] + s->reverse[n]);
        square += a->weight[n] * (s->rms[n] * s->rms[n] + s->reverse_rms[n] * s->reverse_rms[n]);
        stress->total_peak = fmax(stress->total_peak, s->peak[n]);
        stress->voltage_peak = fmax(stress->voltage_peak, s->voltage_off[n]);
    }
    stress->total_rms = sqrt(square);
}

/* The switch: it carries the channel current, and its body path what a ring held at zero volts leaves it. Its
 * own capacitance is charged before turn-on, so its opposite swings nothing through it. */
static inline void flyback_switch_stress(const flyback_plan *p, double count, flyback_answer *a,
                                         hl_stress *stress)
{
    flyback_store *s = &a->sw;
    for (size_t n = 0; n < p->n; n++) {
        const flyback_figures *f = &p->node[n].figures;
        const flyback_cycle *k = &p->node[n].cycle;
        const flyback_ring *r = &p->node[n].ring;
        double rate = 1.0 / k->period;
        s->average[n] = f->on_charge * rate / count;
        s->rms[n] = sqrt(f->on_square * rate) / count;
        s->peak[n] = fmax(k->peak, fabs(k->start)) / count;
        s->on[n] = f->turn_on_current / count;
        s->off[n] = k->peak / count;
        s->voltage_on[n] = f->turn_on_voltage;
        s->voltage_off[n] = f->drain_peak;
        s->duty[n] = (k->commutation + k->rise) * rate;
        if (!p->node[n].rings) continue;
        s->reverse[n] = -r->body_charge * rate / count;
        s->reverse_rms[n] = sqrt(r->body_square * rate) / count;
    }
    s->voltage_off[p->n] = p->node[0].circuit.input; /* in a pause the drain rests there */
    flyback_attach(a, s, stress);
    flyback_total(a, s, stress);
    stress->voltage_dc = p->node[0].circuit.input;
    stress->voltage_peak = fmax(stress->voltage_peak, flyback_drain_peak(p));
}

/* Charge and square of the first `dead` seconds of the secondary current, taken as rising straight while the
 * leakage resets, and of the last: what the body path of a synchronous rectifier carries. */
static inline void flyback_dead_share(const flyback_node *node, double dead, double *charge, double *square)
{
    const flyback_cycle *k = &node->cycle;
    double first = node->circuit.ratio * k->at_reset.core, reset = fmax(k->reset, 0.0);
    double t = fmin(dead, 0.5 * (k->reset + k->fall)), ramp = fmin(t, reset);
    double reached = reset > 0.0 ? first * ramp / reset : first, flat = t - ramp;
    *charge = 0.5 * reached * ramp + first * flat;
    *square = reached * reached * ramp / 3.0 + first * first * flat;
    double slope = node->circuit.ratio * node->circuit.reflected / node->circuit.magnetizing;
    double end = k->continuous ? node->figures.end_current : 0.0, before = end + slope * t;
    *charge += 0.5 * (end + before) * t;
    *square += (end * end + end * before + before * before) * t / 3.0;
}

/* Mean and root mean square deviation of what a ring adds to the drain above the input, V. Two places in each
 * half of a ring, evenly spread, are exact for 1, y and y^2 of a cosine (Gauss-Chebyshev: M. Abramowitz, I.
 * A. Stegun, Handbook of Mathematical Functions, 1964, 25.4.38); what the winding resistance damps within a
 * half ring, and a ring cut short at no drain voltage, are taken at these places too. The halves beyond the
 * 16th are left to the mean of those before. The body path holds the drain at nothing. */
static inline double flyback_ring_spread(const flyback_node *node, double *mean)
{
    const flyback_ring *r = &node->ring;
    double sum = -node->circuit.input * r->body,
           squares = node->circuit.input * node->circuit.input * r->body;
    for (int n = 0; n < r->parts; n++) {
        const flyback_ringing *part = &r->part[n];
        double halves = fmin(fmax(round(part->duration * r->omega / FLYBACK_PI), 1.0), 16.0);
        int places = 2 * (int)halves;
        for (int i = 0; i < places; i++) {
            double y = flyback_ring_voltage(r, part->start, part->duration * (i + 0.5) / places);
            sum += y * part->duration / places;
            squares += y * y * part->duration / places;
        }
    }
    *mean = r->duration > 0.0 ? sum / r->duration : 0.0;
    return r->duration > 0.0 ? sqrt(fmax(squares / r->duration - *mean * *mean, 0.0)) : 0.0;
}

/* Share and V of two stretches of a rest, in which the diode of a winding blocks `still` V while that has no
 * voltage and as much less as it has, seen through `ratio`. A ring is told by its mean and its deviation,
 * half the rest above and half below: exact for leakage ~ v^p with p = 0 and 1, 0.5 % of it off at p = 1/2
 * and a ring without damping from no voltage up. Without one the rest is `still`: a ring that has died out.
 */
static inline void flyback_rest_stretches(const flyback_node *node, double still, double ratio, size_t n,
                                          double share[2][FLYBACK_ENTRIES],
                                          double voltage[2][FLYBACK_ENTRIES])
{
    const flyback_cycle *k = &node->cycle;
    double mean = 0.0, spread = node->rings ? flyback_ring_spread(node, &mean) : 0.0;
    double part = spread > 0.0 ? 0.5 : 1.0;
    if (k->continuous || !(k->rest > 0.0)) return;
    for (int j = 0; j < 2; j++) {
        share[j][n] = (j ? 1.0 - part : part) * k->rest / k->period;
        voltage[j][n] = fmax(still - (mean + (j ? -spread : spread)) / ratio, 0.0);
    }
}

/* V that a capacitance already blocks, out of the `rest` V it was rung to, if the switch that then charges it
 * to `blocked` is to lose what the dying ring lost as well: x of
 *
 *   int_x^rest (blocked - u) C du = int_0^rest (rest - u) C du
 *   blocked Q(x) - E(x) = (blocked - rest) Q(rest)
 *
 * source: both are losses of charging from a stiff voltage (charge_law.h), by parts. 0 to rest, for the left
 * side grows with x and is the larger one at `rest`; `rest` where the part shows no charge. */
static inline double flyback_charged_already(const hl_slot_view *slot, double rest, double blocked)
{
    hl_terminal t = slot_terminal(slot, rest);
    double wanted = (blocked - rest) * t.output_charge, low = 0.0, high = rest;
    double below = -wanted, above = blocked * t.output_charge - t.output_energy - wanted;
    if (!(above > 0.0) || !isfinite(above)) return rest;
    for (int n = 0; n < 100; n++) { /* Regula falsi, every third time half way */
        double x = n % 3 < 2 ? (low * above - high * below) / (above - below) : 0.5 * (low + high);
        if (!(x > low && x < high)) break;
        t = slot_terminal(slot, x);
        double off = blocked * t.output_charge - t.output_energy - wanted;
        if (fabs(off) <= 1e-14 * wanted) return x;
        if (off > 0.0)
            high = x, above = off;
        else
            low = x, below = off;
    }
    return fabs(below) < above ? low : high;
}

/* What charges a rectifier that blocks u V, of V = Vin/n + Vout while the switch is on. A channel that takes
 * the drain from v to nothing meets the drain at n (V - u), and dq/n of each charge dq of the rectifier:
 *
 *   W = int n (V - u) dq / n = int (V - u) C du  from V - v/n to V
 *
 * source: Kirchhoff's laws and the ideal transformer; the same as of any capacitance charged out of a stiff V
 * (charge_law.h), so that the leakage between changes where it is lost but not how much. So its swing is v/n,
 * v at turn-on: little in a valley, where half a ring has given back what it took; all of V where it
 * conducted. Of the drain's capacitance that a user states the rectifier's share is not booked again
 * (flyback_plan.others). Where nothing rings the ring has died out (stress_stretch.h): a diode is
 * charged in its stretch, `charged` Hz; a synchronous rectifier's frequency is that of its gate too, and its
 * swing begins lower instead. A diode knows by its current that it conducted. */
static inline void flyback_charges(const flyback_node *node, const flyback_parts *parts, double blocked,
                                   double *swing, double *charged)
{
    const flyback_cycle *k = &node->cycle;
    bool rests = !k->continuous && (k->rest > 0.0 || node->rings);
    if (k->continuous && !parts->synchronous) return;
    *swing = rests ? fmin(node->figures.turn_on_voltage / node->circuit.ratio, blocked) : blocked;
    if (!rests || node->rings) return;
    if (parts->synchronous)
        *swing = blocked - flyback_charged_already(parts->rectifier, blocked - *swing, blocked);
    else
        *charged = 1.0 / k->period;
}

static inline bool flyback_rectifier_stress(const flyback_plan *p, const flyback_parts *parts, double output,
                                            hl_scratch *scratch, flyback_answer *a, hl_stress *stress)
{
    flyback_store *s = &a->re;
    double count = parts->count[RECTIFIER], share[2][FLYBACK_ENTRIES] = {0},
           voltage[2][FLYBACK_ENTRIES] = {0}, charged[FLYBACK_ENTRIES] = {0};
    for (size_t n = 0; n < p->n; n++) {
        const flyback_figures *f = &p->node[n].figures;
        const flyback_cycle *k = &p->node[n].cycle;
        double rate = 1.0 / k->period, charge = 0.0, square = 0.0;
        if (parts->synchronous && parts->dead_time > 0.0)
            flyback_dead_share(&p->node[n], parts->dead_time, &charge, &square);
        charge = fmin(charge, f->secondary_charge);
        square = fmin(square, f->secondary_square);
        s->average[n] = (f->secondary_charge - charge) * rate / count;
        s->rms[n] = sqrt((f->secondary_square - square) * rate) / count;
        s->reverse[n] = charge * rate / count;
        s->reverse_rms[n] = sqrt(square * rate) / count;
        s->peak[n] = f->secondary_peak / count;
        s->off[n] = f->end_current / count;
        s->slope[n] = f->end_slope / count;
        s->voltage_off[n] = p->node[n].circuit.input / p->node[n].circuit.ratio + output;
        s->duty[n] = (k->commutation + k->reset + k->fall) * rate;
        flyback_rest_stretches(&p->node[n], output, p->node[n].circuit.ratio, n, share, voltage);
        flyback_charges(&p->node[n], parts, s->voltage_off[n], &s->swing[n], &charged[n]);
    }
    s->voltage_off[p->n] = output; /* in a pause the winding has no voltage */
    flyback_attach(a, s, stress);
    flyback_total(a, s, stress);
    stress->voltage_dc = output;
    const stress_stretch rest[2] = {{share[0], voltage[0]}, {share[1], voltage[1]}};
    return stress_tell_charged(stress, 2, rest, charged, scratch);
}

/* V s midway between the extremes of the core's linkage: half the largest swing above it is its peak, Lm I at
 * turn-off. Not the mean over the time, which the rest of a discontinuous cycle and the pauses of bursts pull
 * down: the peak would then look as little as half of what it is.
 * source: definition of inductance, N B A = Lm im */
static inline double flyback_flux_middle(const flyback_plan *p, const flyback_answer *a)
{
    double highest = 0.0, half = 0.0;
    for (size_t n = 0; n < p->n; n++) {
        highest = fmax(highest, p->node[n].circuit.magnetizing * p->node[n].cycle.peak);
        half = fmax(half, 0.5 * hl_wave_integral_swing(&a->wave[FLYBACK_FLUX][n]));
    }
    return highest - half;
}

static inline void flyback_transformer_stress(const flyback_plan *p, double count, flyback_answer *a,
                                              hl_stress *stress)
{
    flyback_attach(a, NULL, stress);
    stress->flux_voltage = a->wave[FLYBACK_FLUX];
    stress->windings = 2;
    stress->winding_current[0] = a->part[FLYBACK_PRIMARY];
    stress->winding_current[1] = a->part[FLYBACK_SECONDARY];
    double square = 0.0;
    for (size_t n = 0; n < p->n; n++) {
        const flyback_node *node = &p->node[n];
        const flyback_figures *f = &node->figures;
        double rate = flyback_rate_of(node);
        stress->total_average += (f->on_charge + f->clamp_charge) * rate / count;
        square += (f->on_square + f->clamp_square + f->ring_square) * rate;
        stress->total_peak = fmax(stress->total_peak, node->cycle.peak / count);
        stress->voltage_peak =
            fmax(stress->voltage_peak, fmax(node->circuit.input, f->drain_peak - node->circuit.input));
    }
    stress->total_rms = sqrt(square) / count;
    stress->flux_bias = flyback_flux_middle(p, a);
}

/* Ripple of the clamp capacitor: the clamp current's harmonics; the rest of its square at the last. */
static inline void flyback_capacitor_stress(const flyback_plan *p, double count, flyback_answer *a,
                                            hl_stress *stress)
{
    double cosine[FLYBACK_LINES], sine[FLYBACK_LINES], mean = flyback_clamp_current(p), square = 0.0;
    flyback_attach(a, NULL, stress);
    for (size_t n = 0; n < p->n; n++) {
        const flyback_node *node = &p->node[n];
        double rate = 1.0 / node->cycle.period, average = node->figures.clamp_charge * rate;
        double rest = fmax(node->figures.clamp_square * rate - average * average, 0.0);
        square += a->weight[n] * node->figures.clamp_square * rate;
        hl_wave_fourier(&a->wave[FLYBACK_CLAMP][n], FLYBACK_LINES, cosine, sine);
        for (size_t h = 0; h < FLYBACK_LINES; h++) {
            double line = 0.5 * (cosine[h] * cosine[h] + sine[h] * sine[h]);
            rest -= line;
            if (h == FLYBACK_LINES - 1 && rest > 0.0) line += rest;
            a->line_frequency[stress->lines] = (double)(h + 1) * rate;
            a->line_square[stress->lines++] = a->weight[n] * line / (count * count);
        }
        stress->total_peak = fmax(stress->total_peak, node->cycle.peak / count);
    }
    stress->line_frequency = a->line_frequency;
    stress->line_rms_squared = a->line_square;
    stress->voltage_dc = p->clamp_voltage;
    stress->voltage_peak = flyback_clamp_peak(p);
    stress->total_rms = sqrt(fmax(square - mean * mean, 0.0)) / count;
}

/* The diode of the clamp blocks the clamp's voltage above the input while the switch is on, and what the
 * clamp stands above the winding while the secondary conducts or all rests. */
static inline bool flyback_diode_stress(const flyback_plan *p, double count, hl_scratch *scratch,
                                        flyback_answer *a, hl_stress *stress)
{
    flyback_store *s = &a->diode;
    double share[2][FLYBACK_ENTRIES] = {0}, voltage[2][FLYBACK_ENTRIES] = {0};
    for (size_t n = 0; n < p->n; n++) {
        const flyback_node *node = &p->node[n];
        double rate = 1.0 / node->cycle.period;
        s->average[n] = node->figures.clamp_charge * rate / count;
        s->rms[n] = sqrt(node->figures.clamp_square * rate) / count;
        s->peak[n] = node->cycle.peak / count;
        s->slope[n] = node->circuit.leakage > 0.0
                          ? (node->circuit.clamp - node->circuit.reflected) / node->circuit.leakage / count
                          : 0.0;
        s->voltage_off[n] = node->circuit.input + node->clamp_voltage;
        s->duty[n] = (node->cycle.fill + node->cycle.reset) * rate;
        share[0][n] = node->cycle.fall * rate;
        voltage[0][n] = fmax(node->clamp_voltage - node->circuit.reflected, 0.0);
        share[1][n] = node->cycle.continuous ? 0.0 : node->cycle.rest * rate;
        voltage[1][n] = node->clamp_voltage;
    }
    s->voltage_off[p->n] = p->clamp_voltage;
    flyback_attach(a, s, stress);
    flyback_total(a, s, stress);
    stress->voltage_dc = p->node[0].circuit.input + p->clamp_voltage;
    stress->voltage_peak = flyback_crest(p) + flyback_clamp_peak(p);
    const stress_stretch apart[2] = {{share[0], voltage[0]}, {share[1], voltage[1]}};
    return stress_tell_apart(stress, 2, apart, scratch);
}

#endif
