/* boost_waves.h - a solved boost cycle written out as waves for the parts and the buses. */
#ifndef BOOST_WAVES_H
#define BOOST_WAVES_H

#include "bend.h"
#include "boost_cycle.h"
#include "heatledger/plugin.h"

enum { BOOST_SEGMENTS = 3, BOOST_PHASES_MAX = 4, BOOST_MERGED = BOOST_SEGMENTS * BOOST_PHASES_MAX };

/* Up to this R T / L a chord stands for the exponential: off by x/8 of the ripple at mid-phase. */
static const double chord_enough = 0.02;

/* Current of one phase from i0 to i1 under drive u, and the voltage across the lossless inductance, whose
 * integral is L (i1 - i0) exactly. */
static inline void boost_phase_segments(double i0, double i1, double u, double r, double l, double t,
                                        hl_segment *current, hl_segment *flux)
{
    double slope = t > 0.0 ? (i1 - i0) / t : 0.0, drawn = bend_drawn(r * t / l, chord_enough);
    *current = (hl_segment){.duration = t, .offset = i0, .slope = slope};
    *flux = (hl_segment){.duration = t, .offset = l * slope};
    if (!(drawn > 0.0)) return;
    double end = u / r, left = 1.0 - drawn;
    *current = (hl_segment){.duration = t,
                            .offset = left * i0 + drawn * end,
                            .slope = left * slope,
                            .cosine = drawn * (i0 - end),
                            .decay = r / l};
    *flux = (hl_segment){
        .duration = t, .offset = left * l * slope, .cosine = drawn * (u - r * i0), .decay = r / l};
}

/* segment[BOOST_SEGMENTS] each; the idle end is left out of a full cycle. Returns their number. */
static inline size_t boost_write(const boost_circuit *c, const boost_cycle *k, hl_segment inductor[],
                                 hl_segment flux[], hl_segment rectifier[])
{
    double u2 = k->voltage - c->output - c->drop, idle = k->period - k->on - k->off;
    size_t n = idle > 1e-12 * k->period ? 3 : 2;
    boost_phase_segments(k->valley, k->peak, k->voltage, c->rise_resistance, c->inductance, k->on,
                         &inductor[0], &flux[0]);
    boost_phase_segments(k->peak, k->valley, u2, c->fall_resistance, c->inductance, k->off, &inductor[1],
                         &flux[1]);
    rectifier[0] = (hl_segment){.duration = k->on};
    rectifier[1] = inductor[1];
    if (n == 3) inductor[2] = flux[2] = rectifier[2] = (hl_segment){.duration = idle};
    return n;
}

/* The chord of a segment at t: value and slope. */
static inline void boost_chord(const hl_segment *s, double t, double *value, double *slope)
{
    double first = s->offset + s->cosine;
    double last = s->offset + s->slope * s->duration + s->cosine * exp(-s->decay * s->duration);
    *slope = s->duration > 0.0 ? (last - first) / s->duration : 0.0;
    *value = first + *slope * t;
}

/* Sum of `phases` copies of a wave, each later by an equal share of the period (interleaving), as chords.
 * merged[BOOST_MERGED]; returns the number of segments. */
static inline size_t boost_interleave(const hl_segment wave[], size_t n, double period, unsigned phases,
                                      hl_segment merged[])
{
    double edge[BOOST_MERGED + 1];
    size_t edges = 0;
    edge[0] = 0.0;
    for (unsigned p = 0; p < phases; p++) {
        double t = period * p / phases;
        for (size_t k = 0; k < n; k++) {
            double at = t >= period ? t - period : t;
            size_t place = edges++;
            while (place > 0 && edge[place - 1] > at) {
                edge[place] = edge[place - 1];
                place--;
            }
            edge[place] = at;
            t += wave[k].duration;
        }
    }
    double base = edge[0];
    edge[edges] = base + period;
    size_t count = 0;
    for (size_t e = 0; e < edges; e++) {
        double length = edge[e + 1] - edge[e], middle = edge[e] + 0.5 * length;
        if (!(length > 1e-13 * period)) continue;
        hl_segment sum = {.duration = length};
        for (unsigned p = 0; p < phases; p++) {
            double t = fmod(middle - period * p / phases + 2.0 * period, period), value, slope;
            size_t k = 0;
            while (k + 1 < n && t > wave[k].duration) t -= wave[k++].duration;
            boost_chord(&wave[k], t, &value, &slope);
            sum.offset += value - slope * 0.5 * length;
            sum.slope += slope;
        }
        merged[count++] = sum;
    }
    return count;
}

#endif
