/* inductor_waves.h - a solved inductor cycle written out as waves for the parts and the buses.
 *
 * A span that rings, or whose output is stiff, is one segment exactly. Two real decay rates (an output
 * capacitor with much resistance) are not of the segment's shape: such a span is cut in up to eight pieces,
 * each with one rate exact and the other approximated. docs/theory/buck.md eq. 8 and the table there say what
 * is left.
 */
#ifndef INDUCTOR_WAVES_H
#define INDUCTOR_WAVES_H

#include "inductor_cycle.h"

enum { WAVE_PIECES = 8, WAVE_PHASES_MAX = 4, WAVE_SEGMENTS_MAX = WAVE_PIECES * CYCLE_SPANS_MAX };

/* Segment of this length through y0 and y1 whose second derivative is e^(-decay t) (p cos + q sin)(omega t).
 */
static inline hl_segment segment_curving(double y0, double y1, double p, double q, double decay, double omega,
                                         double t)
{
    double x = omega * t, co = cos(x), si = sin(x);
    /* divide the amplitude p - j q by lambda^2, lambda = -decay + j omega */
    double re = decay * decay - omega * omega, im = -2.0 * decay * omega, n = re * re + im * im;
    double cosine = (p * re - q * im) / n, sine = (q * re + p * im) / n;
    double first = cosine, last = (cosine * co + sine * si) / exp(decay * t);
    double slope = t > 0.0 ? (y1 - last - y0 + first) / t : 0.0;
    return (hl_segment){.duration = t,
                        .offset = y0 - first,
                        .slope = slope,
                        .decay = decay,
                        .omega = omega,
                        .cosine = cosine,
                        .sine = sine};
}

/* The same, with second derivatives c0 and c1 at its ends. */
static inline hl_segment segment_through(double y0, double y1, double c0, double c1, double decay,
                                         double omega, double t)
{
    double x = omega * t, q = (c1 * exp(decay * t) - c0 * cos(x)) / sin(x);
    return segment_curving(y0, y1, c0, q, decay, omega, t);
}

/* Two real rates, one piece: either the fast exponential exactly and the slow one by the line through its
 * ends (shifted so that its mean is right), or, with rates close together, the segment through both ends.
 * Returns the error left, about. */
static inline double two_rate_piece(const inductor_law *law, double i, double slope, double i1, double slope1,
                                    double t, hl_segment *out)
{
    double b = sqrt(fmax(law->a * law->a - law->w2, 0.0)), fast = law->a + b, slow = law->w2 / fast,
           y = i - law->rest;
    double c0 = -2.0 * law->a * slope - law->w2 * y, c1 = -2.0 * law->a * slope1 - law->w2 * (i1 - law->rest);
    double close = fmax(fabs(c0), fabs(c1)) * t * t * (b * t) * (b * t) / 80.0;
    double share = b > 0.0 ? (slope + fast * y) / (2.0 * b) : 0.0,
           bend = share * (slow * t) * (slow * t) / 12.0;
    double apart = b > 0.0 ? fabs(bend) : INFINITY;
    if (close <= apart && law->a * t < 300.0) {
        double omega = fmin(fmax(b, 1e-3 / t), 1.0 / t);
        double third =
            -2.0 * law->a * c0 - law->w2 * slope; /* derivative: at a far end nothing is left to go by */
        *out = law->a * t < 12.0
                   ? segment_through(i, i1, c0, c1, law->a, omega, t)
                   : segment_curving(i, i1, c0, (third + law->a * c0) / omega, law->a, omega, t);
        return close;
    }
    double sudden = y - share, chord = (i1 - i - sudden * expm1(-fast * t)) / t;
    *out = (hl_segment){
        .duration = t, .offset = i - sudden - bend, .slope = chord, .decay = fast, .cosine = sudden};
    return apart;
}

/* As few pieces, doubled up to WAVE_PIECES, as leave 1e-7 of what the current swings. */
static inline size_t two_rate_segments(const inductor_law *law, const inductor_span *n,
                                       hl_segment out[WAVE_PIECES])
{
    double enough = 1e-7 * (fabs(n->i1 - n->i0) + fabs(law->slope) * n->duration);
    size_t pieces = 1;
    for (;; pieces *= 2) {
        double step = n->duration / (double)pieces, i = n->i0, slope = law->slope, worst = 0.0;
        for (size_t k = 0; k < pieces; k++) {
            double slope1, i1 = inductor_at(law, n->i0, step * (double)(k + 1), &slope1);
            worst = fmax(worst, two_rate_piece(law, i, slope, i1, slope1, step, &out[k]));
            i = i1;
            slope = slope1;
        }
        if (worst <= enough || 2 * pieces > WAVE_PIECES) return pieces;
    }
}

/* The current of one span; returns the number of segments. */
static inline size_t span_segments(const inductor_span *n, hl_segment out[WAVE_PIECES])
{
    double t = n->duration;
    if (n->idle) {
        out[0] = (hl_segment){.duration = t};
        return 1;
    }
    const inductor_law law = n->law;
    double w2 = law.w2 - law.a * law.a, rate = 2.0 * law.a;
    if (law.w2 == 0.0 || law.w2 * t * t < 1e-12) { /* one rate; below 1e-8 its chord is as good */
        if (rate * t < 1e-8)
            out[0] =
                (hl_segment){.duration = t, .offset = n->i0, .slope = t > 0.0 ? (n->i1 - n->i0) / t : 0.0};
        else
            out[0] = (hl_segment){.duration = t,
                                  .offset = n->i0 + law.slope / rate,
                                  .decay = rate,
                                  .cosine = -law.slope / rate};
        return 1;
    }
    if (!(w2 > 1e-8 * law.w2)) return two_rate_segments(&law, n, out);
    double omega = sqrt(w2), y0 = n->i0 - law.rest;
    out[0] = (hl_segment){.duration = t,
                          .offset = law.rest,
                          .decay = law.a,
                          .omega = omega,
                          .cosine = y0,
                          .sine = (law.slope + law.a * y0) / omega};
    return 1;
}

/* The current of all spans, and through which parts each segment of it flows. */
static inline size_t write_current(const inductor_cycle *c, hl_segment out[WAVE_SEGMENTS_MAX],
                                   unsigned through[WAVE_SEGMENTS_MAX])
{
    size_t n = 0;
    for (size_t k = 0; k < c->spans; k++) {
        const inductor_span *span = &c->span[k];
        if (!(span->duration > 0.0)) continue;
        size_t end = n + span_segments(span, out + n);
        while (n < end) through[n++] = span->idle ? 0u : span->path.who;
    }
    return n;
}

/* scale * current where it flows through any of `who`, zero elsewhere. */
static inline hl_wave share_current(const hl_wave *whole, const unsigned through[], unsigned who,
                                    double scale, hl_segment out[])
{
    for (size_t k = 0; k < whole->n; k++) {
        const hl_segment *s = &whole->segment[k];
        out[k] = (hl_segment){.duration = s->duration};
        if (!(through[k] & who)) continue;
        out[k].offset = scale * s->offset;
        out[k].slope = scale * s->slope;
        out[k].decay = s->decay;
        out[k].omega = s->omega;
        out[k].cosine = scale * s->cosine;
        out[k].sine = scale * s->sine;
    }
    return (hl_wave){whole->n, out};
}

/* Voltage across the inductance: L times the derivative of its current. docs/theory/waveforms.md eq. 3 */
static inline void write_flux(double inductance, size_t n, const hl_segment current[], hl_segment out[])
{
    for (size_t k = 0; k < n; k++) {
        const hl_segment *s = &current[k];
        out[k] = *s;
        out[k].offset = inductance * s->slope;
        out[k].slope = 0.0;
        out[k].cosine = inductance * (s->omega * s->sine - s->decay * s->cosine);
        out[k].sine = -inductance * (s->omega * s->cosine + s->decay * s->sine);
    }
}

#endif
