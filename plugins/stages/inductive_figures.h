/* inductive_figures.h - currents, harmonics and waves of a charging pulse behind an inductance. */
#ifndef INDUCTIVE_FIGURES_H
#define INDUCTIVE_FIGURES_H

#include "charging_currents.h"
#include "heatledger/plugin.h"
#include "inductive_pulse.h"

/* Capacitor current: i - i_load while conducting, -i_load idle; mean square. Idle at constant power as
 * behind a resistance alone: integral of P^2 / v^2 = C P / 2 ln(v2^2 / v1^2). */
static inline double inductive_capacitor_square(const inductive_pulse *q)
{
    const charging_pulse *p = &q->whole;
    double c = p->capacitance, sum = 0.0, from, to;
    for (size_t n = 0; n < q->n; n++) {
        const ring_charge *k = &q->charge[n];
        ring_form rise = ring_rise(&k->modes, &k->voltage);
        double idle = inductive_rest(q, n, &from, &to);
        sum += c * c * ring_product(&rise, &rise, &k->moments);
        if (p->power > 0.0)
            sum += -0.5 * c * p->power * log1p(-2.0 * p->power * idle / (c * from * from));
        else
            sum += p->current * p->current * idle;
    }
    return sum / p->half;
}

/* c_n = (2 / T_half) integral of i e^(-j n w t) over half a line, which the other mirrors. */
static inline void inductive_harmonics(const inductive_pulse *q, currents *c)
{
    double complex sum[HARMONICS] = {0};
    for (size_t n = 0; n < q->n; n++) {
        const ring_charge *k = &q->charge[n];
        double x = q->whole.omega * k->start;
        double complex begin = cos(x) + I * sin(x), two = turned(begin, begin);
        double complex step = k->finish.c + I * k->finish.s, on = turned(step, step), end = step;
        for (int h = 0; h < HARMONICS; h++) {
            double complex own =
                ring_fourier(&k->modes, &k->line, 2 * h + 1, k->length, &k->finish, end, step);
            sum[h] += turned(own, begin);
            begin = turned(begin, two);
            end = turned(end, on);
        }
    }
    for (int h = 0; h < HARMONICS; h++) put_harmonic(c, h, q->whole.half, sum[h]);
}

/* `outside`: ohm of the resistance whose loss is booked elsewhere. */
static inline void inductive_totals(const inductive_pulse *q, double outside, currents *c)
{
    const charging_pulse *p = &q->whole;
    double charge = 0.0, square = 0.0;
    for (size_t n = 0; n < q->n; n++) {
        const ring_charge *k = &q->charge[n];
        charge += ring_total(&k->line, &k->moments);
        square += ring_product(&k->line, &k->line, &k->moments);
        c->peak = fmax(c->peak, inductive_top(k, &k->line));
        c->top = fmax(c->top, inductive_top(k, &k->voltage));
        c->conduction += k->length;
    }
    c->mean = charge / p->half;
    c->rms = sqrt(fmax(square / p->half, 0.0));
    c->mean_voltage = inductive_mean_voltage(q);
    c->loss = (p->resistance - outside) * c->rms * c->rms + p->drop * c->mean;
    c->capacitor_rms = sqrt(fmax(inductive_capacitor_square(q), 0.0));
    inductive_harmonics(q, c);
    c->input_power = p->crest / sqrt(2.0) * c->active - outside * c->rms * c->rms;
}

/* ----------------------------------------------------------------- waves -- */

enum { RING_PIECES = 54, RING_WAVE = CHARGES_MAX * (RING_PIECES + 1) + RING_PIECES + 1 };

/* Integral of the modes' part of the current. */
static inline double ring_swept(const ring_charge *k, const ring_instant *now)
{
    double p = k->line.first, q = k->line.second, a = k->modes.a, b = k->modes.b;
    if (k->modes.kind == RING_FADES) return -p / a * now->first - q / b * now->second;
    double turn = k->modes.kind == RING_RINGS ? b : -b;
    return (-(a * p + b * q) * now->first + (turn * p - a * q) * now->second) / (a * a + turn * b);
}

/* Mean of 1 - cos wx over a piece about its middle less its value at the ends, y = w h / 2:
 *   1 - sin y / y - (1 - cos y) = -y^2/3 + y^4/30 - y^6/840 + ...,   y < 1/8 here */
static inline double ring_hollow(double y)
{
    double z = y * y;
    return -z / 3.0 * (1.0 - z / 10.0 * (1.0 - z / 28.0 * (1.0 - z / 54.0 * (1.0 - z / 88.0))));
}

/* How much of its arcs a piece of z = h times the quicker rate gets: all where it is short, none where the
 * slopes at its ends tell nothing of it, as with the quick mode of next to no inductance. */
static inline double ring_share(const ring_modes *m, double h)
{
    double quick = m->kind == RING_RINGS   ? hypot(m->a, m->b)
                   : m->kind == RING_ALIKE ? m->a + m->b
                                           : fabs(m->b);
    double z = 0.25 * h * h * quick * quick, square = z * z;
    return 1.0 / (1.0 + square * square);
}

/* What the modes carry over one piece from `from` to `to`: a straight line of the same mean and rise, and on
 * it a share of arcs of the mains' own cosine and sine. About the middle, x = t - h/2 and y = w h / 2,
 *   mean + slope x + k (1 - cos wx - [..]) + l (wx - sin wx - [..] x)
 * k makes the ends theirs too and l the slopes there; of either the divisor is that of ring_hollow. */
static inline hl_segment ring_piece(const ring_charge *k, double from, double to, const ring_instant *a,
                                    const ring_instant *b)
{
    const ring_form *f = &k->line;
    const ring_modes *m = &k->modes;
    double h = to - from, first = f->first * a->first + f->second * a->second;
    double last = f->first * b->first + f->second * b->second, rise = (last - first) / h;
    double mean = (ring_swept(k, b) - ring_swept(k, a)) / h, y = 0.5 * m->omega * h, c = cos(y), s = sin(y);
    double steep = 0.5 * (k->rise.first * (a->first + b->first) + k->rise.second * (a->second + b->second));
    double whole = ring_share(m, h) / ring_hollow(y), even = whole * (mean - 0.5 * (first + last));
    double odd = whole * (rise - steep) / m->omega, slope = rise + odd * m->omega * s / y;
    return (hl_segment){.duration = h,
                        .offset = f->constant + mean - 0.5 * h * slope + even * s / y,
                        .slope = slope,
                        .omega = m->omega,
                        .cosine = f->cosine * a->c + f->sine * a->s - even * c + odd * s,
                        .sine = f->sine * a->c - f->cosine * a->s - even * s - odd * c};
}

/* A conduction from `from` to `to`: pieces half a time constant or radian wide while the modes live, 40 at
 * most of them where they ring, and twelfths of it after that. */
static inline size_t ring_pieces(const ring_charge *k, double from, double to, hl_segment s[])
{
    const ring_modes *m = &k->modes;
    double slow = m->kind == RING_ALIKE ? m->a - m->b : m->a, coarse = k->length / 12.0, t = from;
    double fine = m->kind == RING_RINGS ? 0.5 / hypot(m->a, m->b) : 0.5 / fabs(slow);
    size_t n = 0;
    if (m->kind == RING_RINGS) fine = fmin(fmax(fine, fmin(k->length, 5.75 / fabs(slow)) / 40.0), coarse);
    ring_instant last = ring_instant_at(m, t);
    while (t < to - k->length * 1e-12 && n < RING_PIECES) {
        double length = fine < coarse && slow * t < 5.75 ? fine : coarse;
        double next = t + length < to ? t + length : to;
        ring_instant now = ring_instant_at(m, next);
        s[n++] = ring_piece(k, t, next, &last, &now);
        last = now;
        t = next;
    }
    return n;
}

/* Half a line of the bus's current into s; *tail: of its pieces those that belong to the half line before. */
static inline size_t inductive_half(const inductive_pulse *q, hl_segment s[], size_t *tail)
{
    const charging_pulse *p = &q->whole;
    const ring_charge *end = &q->charge[q->n - 1];
    double over = end->start + end->length - p->half, at = 0.0;
    size_t n = *tail = over > 0.0 ? ring_pieces(end, end->length - over, end->length, s) : 0;
    if (n) at = over;
    for (size_t c = 0; c < q->n; c++) {
        const ring_charge *k = &q->charge[c];
        double stop = fmin(k->length, p->half - k->start);
        s[n++] = (hl_segment){.duration = fmax(0.0, k->start - at)};
        n += ring_pieces(k, 0.0, stop, s + n);
        at = k->start + stop;
    }
    s[n++] = (hl_segment){.duration = fmax(0.0, p->half - at)};
    return n;
}

static inline void segment_turned(hl_segment *to, const hl_segment *from)
{
    *to = *from;
    to->offset = -from->offset;
    to->slope = -from->slope;
    to->cosine = -from->cosine;
    to->sine = -from->sine;
}

/* The bus takes what the line carries in either half; a tail flows on in the direction of the half before. */
static inline bool inductive_waves(const inductive_pulse *q, hl_scratch *scratch, hl_wave *line, hl_wave *bus)
{
    hl_segment *s = hl_scratch_take(scratch, RING_WAVE * sizeof *s);
    size_t tail, n = s ? inductive_half(q, s, &tail) : 0;
    hl_segment *first = hl_scratch_take(scratch, 2 * n * sizeof *s), *second = first + n;
    if (!s || !first) return false;
    for (size_t k = 0; k < n; k++) {
        if (k < tail)
            segment_turned(&first[k], &s[k]);
        else
            first[k] = s[k];
        segment_turned(&second[k], &first[k]);
    }
    *bus = (hl_wave){n, s};
    *line = (hl_wave){2 * n, first};
    return true;
}

#endif
