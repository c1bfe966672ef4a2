/* inductor_waves.h - a solved inductor cycle written out as waves for the parts and the buses.
 *
 * A span that rings, or whose output is stiff, is one segment exactly. Two real decay rates (an output
 * capacitor with much resistance) are not of the segment's shape: such a span is cut in up to four pieces,
 * each with the exact values and second derivatives at both ends; what is left is below 1e-7 of the ripple
 * while the two time constants are longer than the span, and was 2e-4 of it in the worst case tried
 * (docs/theory/buck.md, eq. 8). */
#ifndef INDUCTOR_WAVES_H
#define INDUCTOR_WAVES_H

#include "inductor_cycle.h"

enum { WAVE_PIECES = 4, WAVE_PHASES_MAX = 4, WAVE_SEGMENTS_MAX = WAVE_PIECES * CYCLE_SPANS_MAX };

/* Segment of this length through y0 and y1 with second derivatives c0 and c1 there, curving as
 * e^(-decay t) (cos, sin)(omega t). */
static inline hl_segment segment_through(double y0, double y1, double c0, double c1, double decay,
                                         double omega, double t)
{
    double x = omega * t, grown = exp(decay * t), co = cos(x), si = sin(x);
    double p = c0, q = (c1 * grown - c0 * co) / si; /* y'' = e^(-decay t) (p cos + q sin) */
    /* divide the amplitude p - j q by lambda^2, lambda = -decay + j omega */
    double re = decay * decay - omega * omega, im = -2.0 * decay * omega, n = re * re + im * im;
    double cosine = (p * re - q * im) / n, sine = (q * re + p * im) / n;
    double first = cosine, last = (cosine * co + sine * si) / grown;
    double slope = t > 0.0 ? (y1 - last - y0 + first) / t : 0.0;
    return (hl_segment){.duration = t,
                        .offset = y0 - first,
                        .slope = slope,
                        .decay = decay,
                        .omega = omega,
                        .cosine = cosine,
                        .sine = sine};
}

static inline size_t two_rate_segments(const inductor_law *law, const inductor_span *n,
                                       hl_segment out[WAVE_PIECES])
{
    double b = sqrt(fmax(law->a * law->a - law->w2, 0.0)), t = n->duration, decay = law->a;
    size_t pieces = b * t < 2e-3 ? 1 : b * t < 2e-2 ? 2 : WAVE_PIECES;
    double step = t / (double)pieces, i = n->i0, slope = law->slope;
    double omega = fmax(b, 1e-2 / step);
    if (omega * step > 1.0) { /* far apart: the fast rate exactly, the slow one by chords */
        decay = law->a + b;
        omega = 1e-2 / step;
    }
    for (size_t k = 0; k < pieces; k++) {
        double slope1, i1 = inductor_at(law, n->i0, step * (double)(k + 1), &slope1);
        double c0 = -2.0 * law->a * slope - law->w2 * (i - law->rest);
        double c1 = -2.0 * law->a * slope1 - law->w2 * (i1 - law->rest);
        if (decay * step > 30.0) c1 = 0.0;
        out[k] = segment_through(i, i1, c0, c1, fmin(decay, 600.0 / step), omega, step);
        i = i1;
        slope = slope1;
    }
    return pieces;
}

/* The current of one span; returns the number of segments. */
static inline size_t span_segments(const inductor_output *o, const inductor_span *n,
                                   hl_segment out[WAVE_PIECES])
{
    double t = n->duration;
    if (n->idle) {
        out[0] = (hl_segment){.duration = t};
        return 1;
    }
    inductor_law law = inductor_law_of(o, &n->path, n->i0, n->v0);
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
    if (!(w2 > 1e-4 * law.w2)) return two_rate_segments(&law, n, out);
    double omega = sqrt(w2), y0 = n->i0 - law.rest;
    out[0] = (hl_segment){.duration = t,
                          .offset = law.rest,
                          .decay = law.a,
                          .omega = omega,
                          .cosine = y0,
                          .sine = (law.slope + law.a * y0) / omega};
    return 1;
}

/* scale * current in the spans that flow through any of `who`, zero elsewhere. */
static inline size_t write_current(const inductor_cycle *c, unsigned who, double scale,
                                   hl_segment out[WAVE_SEGMENTS_MAX])
{
    size_t n = 0;
    for (size_t k = 0; k < c->spans; k++) {
        const inductor_span *span = &c->span[k];
        if (!(span->duration > 0.0)) continue;
        if (span->idle || !(span->path.who & who)) {
            out[n++] = (hl_segment){.duration = span->duration};
            continue;
        }
        size_t pieces = span_segments(&c->output, span, out + n);
        for (size_t p = n; p < n + pieces; p++) {
            out[p].offset *= scale;
            out[p].slope *= scale;
            out[p].cosine *= scale;
            out[p].sine *= scale;
        }
        n += pieces;
    }
    return n;
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
