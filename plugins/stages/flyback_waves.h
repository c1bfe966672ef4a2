/* flyback_waves.h - a solved flyback cycle written out as waves for the parts and the buses.
 *
 * Legs and rings are exact.  A span has two decays where a segment has one: the fast one is written, the slow
 * one, straight over so short a time, as a slope; ends and first slope are exact. */
#ifndef FLYBACK_WAVES_H
#define FLYBACK_WAVES_H

#include "bend.h"
#include "flyback_clamp.h"

enum {
    FLYBACK_PRIMARY,
    FLYBACK_SECONDARY,
    FLYBACK_FLUX,  /* V across the magnetizing inductance */
    FLYBACK_INPUT, /* A drawn from the input bus */
    FLYBACK_CLAMP,
    FLYBACK_WAVES
};
enum { FLYBACK_SEGMENTS = 8 };

typedef struct flyback_pen { /* writes all waves side by side */
    hl_segment *segment[FLYBACK_WAVES];
    size_t n;
} flyback_pen;

/* Up to so many time constants a chord stands for an exponential: a curve towards a mean that is put right, a
 * leg's current. */
static const double flyback_curve_short = 5e-3, flyback_leg_short = 5e-4;

/* From v0 to v1 with first slope s0: offset + slope t + exp(-k t), or a chord where k t is small. */
static inline hl_segment flyback_curve(double t, double v0, double v1, double s0, double k)
{
    double x = k * t, drawn = bend_drawn(x, flyback_curve_short);
    hl_segment curve = {.duration = t, .offset = v0, .slope = (v1 - v0) / t};
    if (!(drawn > 0.0)) return curve;
    double amount = (v1 - v0 - s0 * t) / (x + expm1(-x));
    curve.offset -= drawn * amount;
    curve.slope += drawn * (s0 + k * amount - curve.slope);
    curve.decay = k;
    curve.cosine = drawn * amount;
    return curve;
}

/* The same curve moved so that its mean is right: volt-seconds must be exact. */
static inline hl_segment flyback_level(hl_segment s, double mean)
{
    double x = s.decay * s.duration;
    double own = s.offset + 0.5 * s.slope * s.duration + s.cosine * flyback_phi1(-x);
    s.offset += mean - own;
    return s;
}

static inline hl_segment flyback_scaled(hl_segment s, double factor)
{
    s.offset *= factor, s.slope *= factor, s.cosine *= factor, s.sine *= factor;
    return s;
}

/* A leg from i0 for t: u/r and its decay, or a chord where r t / L is small. */
static inline hl_segment flyback_leg_segment(const flyback_leg *leg, double i0, double t)
{
    double k = leg->resistance / leg->inductance, drawn = bend_drawn(k * t, flyback_leg_short);
    double end = drawn > 0.0 ? leg->drive / leg->resistance : i0, left = 1.0 - drawn;
    hl_segment current = {.duration = t, .offset = left * i0 + drawn * end, .cosine = drawn * (i0 - end)};
    if (drawn < 1.0) current.slope = left * (flyback_leg_at(leg, i0, t) - i0) / t;
    if (drawn > 0.0) current.decay = k;
    return current;
}

/* `inductance` times the slope of a leg's current. */
static inline hl_segment flyback_leg_flux(const flyback_leg *leg, double inductance, double i0, double t)
{
    double k = leg->resistance / leg->inductance, drawn = bend_drawn(k * t, flyback_leg_short);
    hl_segment flux = {.duration = t};
    if (drawn < 1.0) flux.offset = (1.0 - drawn) * inductance * (flyback_leg_at(leg, i0, t) - i0) / t;
    if (drawn > 0.0) {
        flux.decay = k;
        flux.cosine = drawn * inductance * flyback_leg_slope(leg, i0);
    }
    return flux;
}

static inline void flyback_put(flyback_pen *pen, hl_segment primary, hl_segment secondary, hl_segment flux,
                               bool drawn, bool clamped)
{
    hl_segment nothing = {.duration = primary.duration};
    pen->segment[FLYBACK_PRIMARY][pen->n] = primary;
    pen->segment[FLYBACK_SECONDARY][pen->n] = secondary;
    pen->segment[FLYBACK_FLUX][pen->n] = flux;
    pen->segment[FLYBACK_INPUT][pen->n] = drawn ? primary : nothing;
    pen->segment[FLYBACK_CLAMP][pen->n++] = clamped ? primary : nothing;
}

static inline void flyback_put_span(flyback_pen *pen, const flyback_circuit *c, const flyback_span *s,
                                    flyback_pair x0, double t, bool clamped)
{
    if (!(t > 0.0)) return;
    double n = c->ratio, k = -s->fast, l = c->magnetizing;
    flyback_pair x1 = flyback_span_at(s, x0, t), r0 = flyback_rate(s, x0), r1 = flyback_rate(s, x1),
                 bend = flyback_product(s, r0);
    hl_segment flux = flyback_curve(t, l * r0.core, l * r1.core, l * bend.core, k);
    flyback_put(
        pen, flyback_curve(t, x0.leak, x1.leak, r0.leak, k),
        flyback_curve(t, n * (x0.core - x0.leak), n * (x1.core - x1.leak), n * (r0.core - r0.leak), k),
        flyback_level(flux, l * (x1.core - x0.core) / t), !clamped, clamped);
}

static inline void flyback_put_ring(flyback_pen *pen, const flyback_node *node)
{
    const flyback_ring *r = &node->ring;
    double l = node->circuit.magnetizing;
    for (int n = 0; n < r->parts; n++) {
        if (n == 1 && r->body > 0.0) {
            flyback_leg body = flyback_body_leg(&node->tank);
            flyback_put(pen, flyback_leg_segment(&body, r->body_from, r->body),
                        (hl_segment){.duration = r->body}, flyback_leg_flux(&body, l, r->body_from, r->body),
                        true, false);
        }
        if (!(r->part[n].duration > 0.0)) continue;
        hl_segment i = flyback_ring_segment(r, &node->tank, &r->part[n]), flux = i;
        flux.cosine = l * i.sine * r->omega;
        flux.sine = -l * i.sine * r->decay;
        flyback_put(pen, i, (hl_segment){.duration = i.duration}, flux, true, false);
    }
}

/* The waves of one cycle; segment arrays of FLYBACK_SEGMENTS each in the pen. */
static inline void flyback_write(const flyback_node *node, flyback_pen *pen)
{
    const flyback_circuit *c = &node->circuit;
    const flyback_cycle *k = &node->cycle;
    flyback_leg rise = flyback_rise_leg(c), fall = flyback_fall_leg(c);
    pen->n = 0;
    if (k->commutation > 0.0) {
        flyback_span s = flyback_commutation_span(c);
        flyback_put_span(pen, c, &s, k->at_end, k->commutation, false);
    }
    if (k->rise > 0.0)
        flyback_put(pen, flyback_leg_segment(&rise, k->start, k->rise), (hl_segment){.duration = k->rise},
                    flyback_leg_flux(&rise, c->magnetizing, k->start, k->rise), true, false);
    if (k->fill > 0.0) {
        flyback_leg fill = flyback_fill_leg(c);
        flyback_put(pen, flyback_leg_segment(&fill, k->peak, k->fill), (hl_segment){.duration = k->fill},
                    flyback_leg_flux(&fill, c->magnetizing, k->peak, k->fill), false, true);
    }
    if (flyback_leaks(c)) {
        flyback_span s = flyback_reset_span(c);
        flyback_put_span(pen, c, &s, (flyback_pair){k->handed, k->handed}, k->reset, true);
    }
    if (k->fall > 0.0)
        flyback_put(pen, (hl_segment){.duration = k->fall},
                    flyback_scaled(flyback_leg_segment(&fall, k->at_reset.core, k->fall), c->ratio),
                    flyback_leg_flux(&fall, c->magnetizing, k->at_reset.core, k->fall), false, false);
    if (node->rings) {
        flyback_put_ring(pen, node);
    } else if (k->rest > 0.0) {
        hl_segment idle = {.duration = k->rest};
        flyback_put(pen, idle, idle, idle, false, false);
    }
}

#endif
