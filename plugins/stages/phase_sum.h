/* phase_sum.h - what interleaved equal phases do together: their currents added, each later by its share of
 * the period, and the ripple that leaves on a capacitor.
 *
 * Between any two edges each phase has one smooth segment; the sum is written as one segment with the exact
 * values and second derivatives at both ends (segment_through), which leaves less than 1e-6 of the ripple at
 * the decay and ringing of converter inductors. */
#ifndef PHASE_SUM_H
#define PHASE_SUM_H

#include "inductor_waves.h"

/* Phases are solved with a stiff output, where a span is one segment. */
enum { PHASE_SUM_MAX = CYCLE_SPANS_MAX * WAVE_PHASES_MAX + 1 };

/* Value and second derivative of one phase at t of a wave, from segment `k` on. */
static inline void curve_at(const hl_segment *s, double t, double *value, double *curvature)
{
    double ringing = *value = hl_segment_at(s, t);
    ringing -= s->offset + s->slope * t;
    /* y'' = (decay^2 - omega^2) y - 2 decay omega times the quarter-turned ringing */
    double envelope = exp(-s->decay * t), c = cos(s->omega * t), d = sin(s->omega * t);
    double turned = envelope * (s->sine * c - s->cosine * d);
    *curvature = (s->decay * s->decay - s->omega * s->omega) * ringing - 2.0 * s->decay * s->omega * turned;
}

static inline size_t phase_edges(const hl_wave *wave, double period, unsigned phases,
                                 double edge[PHASE_SUM_MAX])
{
    size_t n = 0;
    for (unsigned p = 0; p < phases; p++) {
        double t = period * p / phases;
        for (size_t k = 0; k < wave->n; k++) {
            double at = t >= period ? t - period : t;
            size_t place = n++;
            for (; place > 0 && edge[place - 1] > at; place--) edge[place] = edge[place - 1];
            edge[place] = at;
            t += wave->segment[k].duration;
        }
    }
    return n;
}

/* `out` must not be where the wave itself lies. Returns the number of segments; the sum starts at its first
 * edge. */
static inline size_t phase_sum(const hl_wave *wave, double period, unsigned phases,
                               hl_segment out[PHASE_SUM_MAX])
{
    double edge[PHASE_SUM_MAX] = {0.0};
    size_t edges = phase_edges(wave, period, phases, edge), n = 0;
    if (edges == 0) return 0;
    edge[edges] = edge[0] + period;
    for (size_t e = 0; e < edges; e++) {
        double length = edge[e + 1] - edge[e], y0 = 0, y1 = 0, c0 = 0, c1 = 0, decay = 0, omega = 0;
        if (!(length > 1e-13 * period)) continue;
        for (unsigned p = 0; p < phases; p++) {
            double t = fmod(edge[e] + 0.5 * length - period * p / phases + 2.0 * period, period), value,
                   curvature;
            size_t k = 0;
            while (k + 1 < wave->n && t > wave->segment[k].duration) t -= wave->segment[k++].duration;
            const hl_segment *s = &wave->segment[k];
            curve_at(s, fmax(t - 0.5 * length, 0.0), &value, &curvature);
            y0 += value;
            c0 += curvature;
            curve_at(s, t + 0.5 * length, &value, &curvature);
            y1 += value;
            c1 += curvature;
            decay = fmax(decay, s->decay);
            omega = fmax(omega, s->omega);
        }
        out[n++] = c0 == 0.0 && c1 == 0.0
                       ? (hl_segment){.duration = length, .offset = y0, .slope = (y1 - y0) / length}
                       : segment_through(y0, y1, c0, c1, fmin(decay, 30.0 / length),
                                         fmin(fmax(omega, 0.03 / length), 1.0 / length), length);
    }
    return n;
}

/* Peak-to-peak voltage that a current wave less its load leaves on a capacitor with series resistance: the
 * charge summed piece by piece (Simpson), the extrema by a parabola through neighbours. Within 1e-4 of
 * itself. */
static inline double phase_ripple(const hl_wave *wave, double load, double capacitance, double esr)
{
    enum { PIECES = 8 };
    double charge = 0.0, high = -INFINITY, low = INFINITY;
    for (size_t k = 0; k < wave->n; k++) {
        const hl_segment *s = &wave->segment[k];
        double h = s->duration / PIECES, before = 0, middle = 0;
        for (int j = 0; j <= PIECES; j++) {
            double i = hl_segment_at(s, h * j) - load;
            if (j > 0) {
                double last = hl_segment_at(s, h * (j - 1)) - load,
                       half = hl_segment_at(s, h * (j - 0.5)) - load;
                charge += h * (last + 4.0 * half + i) / 6.0;
            }
            double u = charge / capacitance + esr * i;
            widen(u, &low, &high);
            double bend = before - 2.0 * middle + u, lean = u - before;
            if (j > 1 && bend != 0.0 && fabs(lean) < 2.0 * fabs(bend))
                widen(middle - 0.125 * lean * lean / bend, &low, &high);
            before = middle;
            middle = u;
        }
    }
    return high >= low ? high - low : 0.0;
}

#endif
