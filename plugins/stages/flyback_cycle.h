/* flyback_cycle.h - one switching cycle of a flyback from turn-on to turn-on, exactly.
 *
 *   commutation  (continuous mode) the switch is on and the secondary current decays through the leakage
 *   rise         the switch is on, the secondary blocks
 *   fill         (capacitor of the clamp below the reflected voltage) the whole current lifts it
 *   reset        the switch is off, the leakage current runs into the clamp, the secondary takes over
 *   fall         the secondary alone carries the magnetizing current
 *   rest         (discontinuous) nothing flows, or (quasi-resonant) the drain rings
 * The peak current fixes a discontinuous cycle; a continuous one has the off-time as well.
 * source: Kirchhoff's laws of the circuit in docs/theory/flyback.md, eq. 1 to 8 and 17 */
#ifndef FLYBACK_CYCLE_H
#define FLYBACK_CYCLE_H

#include "flyback_ring.h"
#include "flyback_span.h"

typedef struct flyback_circuit {
    double input;                /* V */
    double magnetizing, leakage; /* H, of the primary side; leakage 0: none */
    double ratio;                /* Np / Ns */
    double on_resistance;        /* ohm, primary loop with the switch on */
    double winding, clamp_path;  /* ohm, primary winding; diode of the clamp */
    double clamp;      /* V, drain above the input while the leakage resets, at no current, mean by charge */
    double clamp_rise; /* V from that mean to the end of the reset */
    double reflected, reflected_resistance; /* V, ohm: n (Vout + Vf), n^2 Rs */
    double fill_charge, fill_voltage; /* A s that lift the clamp's capacitor before the secondary can take
                                       * over; V across the primary meanwhile, their mean by charge */
} flyback_circuit;

typedef struct flyback_cycle {
    double peak, off; /* A at turn-off; s from turn-off to turn-on or to zero magnetizing current */
    double commutation, rise, fill, reset, fall, rest;
    double period;
    double handed;         /* A as the secondary begins to take over: the peak, less the fill */
    flyback_pair at_reset; /* at the end of the clamp phase */
    flyback_pair at_end;   /* at turn-on, before commutation */
    double start;          /* A, where the rise begins */
    double charge;         /* A s that the secondary delivers */
    double clamp_charge;   /* A s that the leakage drives into the clamp */
    double filled;         /* A s of the fill */
    double period_slope[2], charge_slope[2]; /* d/d(peak, off) */
    bool continuous;
} flyback_cycle;

static inline bool flyback_leaks(const flyback_circuit *c)
{
    return c->leakage > 0.0;
}

static inline flyback_leg flyback_rise_leg(const flyback_circuit *c)
{
    return (flyback_leg){c->input, c->on_resistance, c->magnetizing + c->leakage};
}

static inline flyback_leg flyback_fall_leg(const flyback_circuit *c)
{
    return (flyback_leg){-c->reflected, c->reflected_resistance, c->magnetizing};
}

static inline flyback_span flyback_reset_span(const flyback_circuit *c)
{
    return flyback_span_of(c->leakage, c->magnetizing, -c->clamp, c->winding + c->clamp_path, c->reflected,
                           c->reflected_resistance);
}

static inline flyback_span flyback_commutation_span(const flyback_circuit *c)
{
    return flyback_span_of(c->leakage, c->magnetizing, c->input, c->on_resistance, c->reflected,
                           c->reflected_resistance);
}

/* Lowest clamp voltage at which the secondary takes over: below it the clamp holds the whole inductance.
 * docs/theory/flyback.md eq. 7 */
static inline double flyback_least_clamp(const flyback_circuit *c)
{
    return c->reflected * (1.0 + c->leakage / c->magnetizing);
}

/* Charge through a span, secondary side: n times the time integral of (core - leak). */
static inline double flyback_span_charge(const flyback_span *s, double ratio, flyback_pair x0, double t,
                                         const flyback_motion *m)
{
    flyback_pair second = flyback_apply(m->m[2], flyback_rate(s, x0));
    return ratio * ((x0.core - x0.leak) * t + second.core - second.leak);
}

/* What a small change (tangent) of a span's start makes of its end and its charge. */
static inline void flyback_carry(double ratio, const flyback_motion *m, flyback_pair *tangent, double *charge)
{
    flyback_pair through = flyback_apply(m->m[1], *tangent);
    *charge += ratio * (through.core - through.leak);
    *tangent = flyback_apply(m->m[0], *tangent);
}

static inline flyback_leg flyback_fill_leg(const flyback_circuit *c)
{
    return (flyback_leg){-c->fill_voltage, c->winding + c->clamp_path, c->magnetizing + c->leakage};
}

/* Square of the peak current that a fill uses up, without resistances: L I^2 / 2 = V q. */
static inline double flyback_fill_square(const flyback_circuit *c)
{
    return 2.0 * c->fill_charge * c->fill_voltage / (c->magnetizing + c->leakage);
}

/* When a fill is over: q = t (I + I' t phi2(x)), by Newton from the root without resistance, creeping up from
 * below; `whole`: until the current is zero. */
static inline double flyback_fill_time(const flyback_circuit *c, const flyback_leg *leg, double peak,
                                       double whole)
{
    double q = c->fill_charge;
    double t = 2.0 * q / (peak + sqrt(fmax(peak * peak - flyback_fill_square(c), 0.0)));
    if (!(t < whole)) t = q / peak;
    for (int n = 0; n < 60; n++) {
        double step = (q - flyback_leg_charge(leg, peak, t)) / flyback_leg_at(leg, peak, t);
        if (!(t + step < whole)) step = 0.5 * (whole - t);
        t += step;
        if (!(fabs(step) > 1e-15 * t)) break;
    }
    return t;
}

/* The fill from the peak; where the current does not suffice, until it is zero. *by_peak: d handed / d peak;
 * returns d fill / d peak. docs/theory/flyback.md eq. 17 */
static inline double flyback_fill(const flyback_circuit *c, flyback_cycle *k, double *by_peak)
{
    k->handed = k->peak;
    *by_peak = 1.0;
    if (!(c->fill_charge > 0.0)) return 0.0;
    flyback_leg leg = flyback_fill_leg(c);
    double q = c->fill_charge, whole = flyback_leg_time(&leg, k->peak, 0.0);
    if (!(flyback_leg_charge(&leg, k->peak, whole) > q)) {
        k->fill = whole;
        k->filled = flyback_leg_charge(&leg, k->peak, whole);
        k->handed = *by_peak = 0.0;
        return -1.0 / flyback_leg_slope(&leg, k->peak);
    }
    double t = flyback_fill_time(c, &leg, k->peak, whole);
    double x = -leg.resistance * t / leg.inductance;
    k->fill = t;
    k->filled = q;
    k->handed = flyback_leg_at(&leg, k->peak, t);
    double later = -t * flyback_phi1(x) / k->handed;
    *by_peak = exp(x) + flyback_leg_slope(&leg, k->handed) * later;
    return later;
}

/* The clamp phase from the current handed over, cut short at `limit`.  tangent[0], [1]: by peak and by
 * off-time; `by_peak`: of the current handed over; `limit_slope`: of the limit, by peak. */
static inline void flyback_reset(const flyback_circuit *c, double limit, double by_peak, double limit_slope,
                                 flyback_cycle *k, flyback_pair tangent[2], double reset_slope[2])
{
    flyback_pair x0 = {k->handed, k->handed};
    tangent[0] = (flyback_pair){by_peak, by_peak};
    tangent[1] = (flyback_pair){0.0, 0.0};
    k->at_reset = (flyback_pair){0.0, k->handed};
    if (!flyback_leaks(c) || !(k->handed > 0.0)) {
        tangent[0].leak = 0.0;
        return;
    }
    flyback_span s = flyback_reset_span(c);
    k->reset = flyback_span_until(&s, x0, (flyback_pair){1.0, 0.0});
    bool cut = !(k->reset < limit);
    if (cut) k->reset = limit;
    flyback_motion m = flyback_motion_at(&s, k->reset);
    k->at_reset = flyback_add(x0, 1.0, flyback_apply(m.m[1], flyback_rate(&s, x0)));
    k->charge += flyback_span_charge(&s, c->ratio, x0, k->reset, &m);
    k->clamp_charge = x0.leak * k->reset + flyback_apply(m.m[2], flyback_rate(&s, x0)).leak;
    flyback_carry(c->ratio, &m, &tangent[0], &k->charge_slope[0]);
    flyback_pair rate = flyback_rate(&s, k->at_reset);
    if (cut)
        reset_slope[0] = limit_slope, reset_slope[1] = 1.0;
    else
        reset_slope[0] = -tangent[0].leak / rate.leak;
    for (int v = 0; v < 2; v++) {
        tangent[v] = flyback_add(tangent[v], reset_slope[v], rate);
        k->charge_slope[v] += c->ratio * (k->at_reset.core - k->at_reset.leak) * reset_slope[v];
    }
    if (!cut) k->at_reset.leak = tangent[0].leak = 0.0;
}

/* Peak current in, everything of a discontinuous cycle but its rest out; start: current as the switch turns
 * on, not above zero. */
static inline void flyback_discontinuous(const flyback_circuit *c, double peak, double start,
                                         flyback_cycle *k)
{
    flyback_pair tangent[2];
    double reset_slope[2] = {0.0, 0.0};
    *k = (flyback_cycle){.peak = peak, .start = start, .at_end = {0.0, 0.0}};
    flyback_leg rise = flyback_rise_leg(c), fall = flyback_fall_leg(c);
    k->rise = flyback_leg_time(&rise, start, peak);
    double by_peak, fill_slope = flyback_fill(c, k, &by_peak);
    flyback_reset(c, INFINITY, by_peak, 0.0, k, tangent, reset_slope);
    k->fall = flyback_leg_time(&fall, k->at_reset.core, 0.0);
    k->off = k->fill + k->reset + k->fall;
    k->charge += c->ratio * flyback_leg_charge(&fall, k->at_reset.core, k->fall);
    double fall_slope = -tangent[0].core / flyback_leg_slope(&fall, k->at_reset.core);
    k->charge_slope[0] += c->ratio * k->at_reset.core * fall_slope;
    k->period = k->rise + k->off;
    k->period_slope[0] = 1.0 / flyback_leg_slope(&rise, peak) + fill_slope + reset_slope[0] + fall_slope;
}

/* Peak current and off-time in, the continuous cycle out. Smooth beyond its border: a cycle whose
 * magnetizing current has gone below zero is written down with the same formulas. */
static inline void flyback_continuous(const flyback_circuit *c, double peak, double off, flyback_cycle *k)
{
    flyback_pair tangent[2];
    double reset_slope[2] = {0.0, 0.0};
    *k = (flyback_cycle){.peak = peak, .off = off, .continuous = true};
    flyback_leg rise = flyback_rise_leg(c), fall = flyback_fall_leg(c);
    double by_peak, fill_slope = flyback_fill(c, k, &by_peak);
    flyback_reset(c, off - k->fill, by_peak, -fill_slope, k, tangent, reset_slope);
    k->fall = off - k->fill - k->reset;
    k->at_end = k->at_reset;
    if (k->fall > 0.0) {
        double core = k->at_reset.core, x = -fall.resistance * k->fall / fall.inductance;
        k->at_end.core = flyback_leg_at(&fall, core, k->fall);
        k->charge += c->ratio * flyback_leg_charge(&fall, core, k->fall);
        double rate = flyback_leg_slope(&fall, k->at_end.core);
        for (int v = 0; v < 2; v++) {
            double longer = (v == 1 ? 1.0 : -fill_slope) - reset_slope[v];
            k->charge_slope[v] +=
                c->ratio * (tangent[v].core * k->fall * flyback_phi1(x) + k->at_end.core * longer);
            tangent[v].core = tangent[v].core * exp(x) + rate * longer;
        }
    }
    double begin_slope[2] = {tangent[0].core, tangent[1].core};
    k->start = k->at_end.core;
    if (flyback_leaks(c)) {
        flyback_span s = flyback_commutation_span(c);
        flyback_pair x0 = k->at_end;
        k->commutation = x0.core != x0.leak ? flyback_span_until(&s, x0, (flyback_pair){-1.0, 1.0}) : 0.0;
        flyback_motion m = flyback_motion_at(&s, k->commutation);
        flyback_pair x1 = flyback_add(x0, 1.0, flyback_apply(m.m[1], flyback_rate(&s, x0)));
        flyback_pair rate = flyback_rate(&s, x1);
        k->charge += flyback_span_charge(&s, c->ratio, x0, k->commutation, &m);
        k->start = x1.core;
        for (int v = 0; v < 2; v++) {
            flyback_carry(c->ratio, &m, &tangent[v], &k->charge_slope[v]);
            double later = -(tangent[v].core - tangent[v].leak) / (rate.core - rate.leak);
            k->period_slope[v] += later;
            begin_slope[v] = tangent[v].core + rate.core * later;
        }
    }
    k->rise = flyback_leg_time(&rise, k->start, peak);
    k->period = k->commutation + k->rise + off;
    k->period_slope[0] += 1.0 / flyback_leg_slope(&rise, peak);
    k->period_slope[1] += 1.0;
    for (int v = 0; v < 2; v++) k->period_slope[v] -= begin_slope[v] / flyback_leg_slope(&rise, k->start);
}

#endif
