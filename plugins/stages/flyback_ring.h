/* flyback_ring.h - the drain after the secondary has run dry: it rings down to a valley and the switch turns
 * on.
 *
 * The drain capacitance C starts at v = Vin + V0 with no current and rings about Vin through L = Lm + Llk and
 * the winding resistance R:  L i' = Vin - v - R i,  C v' = i.  Valley k is where the current returns to zero
 * from below for the k-th time.  If the drain comes to zero before, the switch's body path holds it there:
 * turn-on is then at that moment, or, where a later valley is wanted, after the current has returned to zero
 * through the body path and the ring has begun anew from v = 0. source: series resonance, any text;
 * docs/theory/flyback.md eq. 9 to 12 */
#ifndef FLYBACK_RING_H
#define FLYBACK_RING_H

#include "flyback_span.h"
#include "heatledger/plugin.h"

#define FLYBACK_PI 3.14159265358979323846

typedef struct flyback_tank {
    double input, reflected;                    /* V: Vin, V0 */
    double inductance, capacitance, resistance; /* H, F, ohm */
    double body_drop, body_resistance;          /* V, ohm of the switch's reverse path */
} flyback_tank;

/* From v = Vin + y0 and i = 0: y = v - Vin = y0 e^(-a t) (cos w t + a/w sin w t),
 * i = C y' = -y0 C w0^2 / w e^(-a t) sin w t. */
typedef struct flyback_ringing {
    double start; /* V, y0 */
    double duration;
    double voltage, current; /* at its end: v, i */
    double energy;           /* J: from the input and the capacitance into the winding and inductance */
} flyback_ringing;

typedef struct flyback_ring {
    double decay, omega; /* 1/s, rad/s */
    flyback_ringing part[2];
    int parts;              /* 0: no capacitance, no ring */
    double body, body_from; /* s and A of the body path's conduction between the two parts */
    double body_charge, body_square;
    double duration, voltage, current; /* of all; at turn-on */
    int valley;
    bool zero_reached; /* turned on as the drain came to zero */
} flyback_ring;

static inline double flyback_ring_voltage(const flyback_ring *r, double y0, double t)
{
    double x = r->omega * t;
    return y0 * exp(-r->decay * t) * (cos(x) + r->decay / r->omega * sin(x));
}

static inline double flyback_ring_current(const flyback_ring *r, const flyback_tank *k, double y0, double t)
{
    double w = r->omega, a = r->decay;
    return -y0 * k->capacitance * (w * w + a * a) / w * exp(-a * t) * sin(w * t);
}

/* First time in the first half ring at which the drain is at zero: y = -Vin, falling all the way. */
static inline double flyback_ring_zero(const flyback_ring *r, const flyback_tank *k, double y0)
{
    double low = 0.0, high = FLYBACK_PI / r->omega, t = 0.6 * high;
    for (int n = 0; n < 60; n++) {
        double f = flyback_ring_voltage(r, y0, t) + k->input;
        if (f > 0.0)
            low = t;
        else
            high = t;
        double slope = flyback_ring_current(r, k, y0, t) / k->capacitance, next = t - f / slope;
        if (!(next > low && next < high)) next = 0.5 * (low + high);
        if (fabs(next - t) <= 2e-16 * high) break;
        t = next;
    }
    return t;
}

/* The body path brings a negative current back to zero: L i' = Vin + Vr - (R + Rr) i. */
static inline flyback_leg flyback_body_leg(const flyback_tank *k)
{
    return (flyback_leg){k->input + k->body_drop, k->resistance + k->body_resistance, k->inductance};
}

static inline void flyback_ring_body(flyback_ring *r, const flyback_tank *k, double from)
{
    flyback_leg leg = flyback_body_leg(k);
    r->body_from = from;
    r->body = flyback_leg_time(&leg, from, 0.0);
    flyback_moments m = flyback_leg_moments(&leg, from, r->body, true);
    r->body_charge = m.leak;
    r->body_square = m.leak_square;
}

/* Vin times charge, and what the capacitance gives, from y0 to a crest or valley of y: C/2 (y0^2 - y^2). */
static inline double flyback_rung_out(const flyback_tank *k, double y0, double decayed)
{
    return -0.5 * k->capacitance * y0 * y0 * expm1(-2.0 * decayed);
}

/* Whole ring up to valley 1, 2, ...  `stay`: at zero voltage do not turn on but wait for the valley asked
 * for. false: the ring is overdamped and has no valley. */
static inline bool flyback_ring_to(const flyback_tank *k, int valley, bool stay, flyback_ring *r)
{
    *r = (flyback_ring){.valley = valley, .voltage = fmax(k->input - k->reflected, 0.0)};
    if (!(k->capacitance > 0.0)) return true;
    double a = 0.5 * k->resistance / k->inductance, w2 = 1.0 / (k->inductance * k->capacitance) - a * a;
    if (!(w2 > 0.0) || !isfinite(w2)) return false;
    r->decay = a;
    r->omega = sqrt(w2);
    double half = FLYBACK_PI / r->omega, y0 = k->reflected;
    double bottom = k->input - y0 * exp(-a * half);
    flyback_ringing *p = r->part;
    r->parts = 1;
    if (bottom > 0.0) {
        double t = (2.0 * valley - 1.0) * half;
        *p = (flyback_ringing){y0, t, k->input - y0 * exp(-a * t), 0.0, flyback_rung_out(k, y0, a * t)};
    } else {
        double t = flyback_ring_zero(r, k, y0);
        *p = (flyback_ringing){y0, t, 0.0, fmin(flyback_ring_current(r, k, y0, t), 0.0),
                               0.5 * k->capacitance * (y0 - k->input) * (y0 + k->input)};
        r->zero_reached = !stay || valley == 1;
        if (r->zero_reached) {
            r->valley = 1;
        } else {
            flyback_ring_body(r, k, p->current);
            double more = (2.0 * valley - 2.0) * half;
            *++p = (flyback_ringing){-k->input, more, -k->input * expm1(-a * more), 0.0,
                                     flyback_rung_out(k, k->input, a * more)};
            r->parts = 2;
        }
    }
    r->duration = r->part[0].duration + r->body + (r->parts == 2 ? p->duration : 0.0);
    r->voltage = p->voltage;
    r->current = p->current;
    return true;
}

/* Time integral of i^2 over a ring: with B = y0 C w0^2 / w,
 * B^2/2 { (1 - E)/(2a) - [a - E (a cos 2wt - w sin 2wt)] / (2 w0^2) },  E = e^(-2at).
 * source: elementary integral of e^(-2at) sin^2 wt */
static inline double flyback_ringing_square(const flyback_ring *r, const flyback_tank *k,
                                            const flyback_ringing *p)
{
    double a = r->decay, w = r->omega, w02 = w * w + a * a, t = p->duration;
    double b = p->start * k->capacitance * w02 / w, x = 2.0 * a * t, e = exp(-x);
    double held = x > 1e-9 ? -expm1(-x) / (2.0 * a) : t;
    double turn = (a - e * (a * cos(2.0 * w * t) - w * sin(2.0 * w * t))) / (2.0 * w02);
    return 0.5 * b * b * (held - turn);
}

/* Charge that flows from the input through the winding: C times the drain's movement, and the body path's. */
static inline double flyback_ring_charge(const flyback_ring *r, const flyback_tank *k)
{
    double sum = r->body_charge;
    for (int n = 0; n < r->parts; n++) {
        const flyback_ringing *p = &r->part[n];
        sum += k->capacitance * (p->voltage - k->input - p->start);
    }
    return sum;
}

/* J that the ring and the body path take from the input and the drain's capacitance. */
static inline double flyback_ring_energy(const flyback_ring *r, const flyback_tank *k)
{
    double sum = k->input * r->body_charge;
    for (int n = 0; n < r->parts; n++) sum += r->part[n].energy;
    return sum;
}

static inline double flyback_ring_square(const flyback_ring *r, const flyback_tank *k)
{
    double sum = r->body_square;
    for (int n = 0; n < r->parts; n++) sum += flyback_ringing_square(r, k, &r->part[n]);
    return sum;
}

static inline hl_segment flyback_ring_segment(const flyback_ring *r, const flyback_tank *k,
                                              const flyback_ringing *p)
{
    double w = r->omega, a = r->decay;
    return (hl_segment){.duration = p->duration,
                        .decay = a,
                        .omega = w,
                        .sine = -p->start * k->capacitance * (w * w + a * a) / w};
}

#endif
