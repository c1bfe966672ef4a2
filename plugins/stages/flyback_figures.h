/* flyback_figures.h - what flows, and is lost, in one solved cycle.
 *
 * All figures are time integrals over the cycle: charge, A s; square, A^2 s; energy, J.
 * source: integrals of the exact currents, flyback_span.h; docs/theory/flyback.md eq. 13 to 16 */
#ifndef FLYBACK_FIGURES_H
#define FLYBACK_FIGURES_H

#include "flyback_cycle.h"

typedef struct flyback_losses { /* what the waveform's resistances and drops take beside the circuit's own */
    double secondary_resistance, drop; /* ohm, V of the secondary path */
    double clamp_drop;                 /* V: diode of the clamp */
} flyback_losses;

typedef struct flyback_figures {
    double on_charge, on_square; /* channel of the switch */
    double clamp_charge, clamp_square;
    double ring_charge, ring_square; /* winding during the ring */
    double secondary_charge, secondary_square, secondary_peak;
    double core_charge, core_square; /* magnetizing current */
    double conduction, clamp_energy; /* J: resistances and drops; handed to the clamp */
    double drawn;                    /* J from the input */
    double turn_on_voltage, turn_on_current, drain_peak;
    double end_current, end_slope; /* A, A/s: secondary current as it is commutated, its di/dt */
} flyback_figures;

/* The secondary current's summit in the clamp phase: it may pass it before the leakage is reset. */
static inline double flyback_secondary_peak(const flyback_circuit *c, const flyback_cycle *k)
{
    double end = c->ratio * (k->at_reset.core - k->at_reset.leak);
    if (!flyback_leaks(c) || !(k->reset > 0.0)) return end;
    flyback_span s = flyback_reset_span(c);
    flyback_pair x0 = {k->handed, k->handed}, rate = flyback_rate(&s, k->at_reset);
    if (!(rate.core < rate.leak)) return end;
    double low = 0.0, high = k->reset;
    for (int n = 0; n < 60; n++) {
        double t = 0.5 * (low + high);
        rate = flyback_rate(&s, flyback_span_at(&s, x0, t));
        if (rate.core < rate.leak)
            high = t;
        else
            low = t;
    }
    flyback_pair x = flyback_span_at(&s, x0, low);
    return fmax(end, c->ratio * (x.core - x.leak));
}

static inline void flyback_add_secondary(const flyback_moments *m, double ratio, flyback_figures *f)
{
    f->secondary_charge += ratio * (m->core - m->leak);
    f->secondary_square += ratio * ratio * fmax(m->core_square - 2.0 * m->product + m->leak_square, 0.0);
    f->core_charge += m->core;
    f->core_square += m->core_square;
}

static inline void flyback_turn_on(const flyback_circuit *c, const flyback_cycle *k, const flyback_ring *ring,
                                   double default_slope, flyback_figures *f)
{
    double n = c->ratio;
    f->turn_on_current = fmax(k->at_end.leak, 0.0);
    f->end_slope = n * c->reflected / c->magnetizing;
    f->turn_on_voltage = ring ? ring->voltage : c->input;
    if (!k->continuous) return;
    double across = c->reflected + c->reflected_resistance * (k->at_end.core - k->at_end.leak);
    f->turn_on_voltage = k->at_end.leak > 0.0 ? f->drain_peak : c->input + across;
    f->end_current = fmax(n * (k->at_end.core - k->at_end.leak), 0.0);
    f->end_slope = default_slope;
    if (!flyback_leaks(c)) return;
    flyback_span s = flyback_commutation_span(c);
    flyback_pair rate = flyback_rate(&s, k->at_end);
    f->end_slope = n * (rate.leak - rate.core);
}

/* ring, tank: of a quasi-resonant cycle, else NULL.  default_slope: of the commutation without leakage. */
static inline flyback_figures flyback_figures_of(const flyback_circuit *c, const flyback_cycle *k,
                                                 const flyback_ring *ring, const flyback_tank *tank,
                                                 const flyback_losses *l, double default_slope)
{
    flyback_figures f = {0};
    flyback_leg rise = flyback_rise_leg(c), fall = flyback_fall_leg(c);
    if (flyback_leaks(c)) {
        flyback_span on = flyback_commutation_span(c), off = flyback_reset_span(c);
        flyback_moments m = flyback_span_moments(&on, k->at_end, k->commutation);
        f.on_charge += m.leak, f.on_square += m.leak_square;
        flyback_add_secondary(&m, c->ratio, &f);
        m = flyback_span_moments(&off, (flyback_pair){k->handed, k->handed}, k->reset);
        f.clamp_charge = k->clamp_charge + k->filled, f.clamp_square = m.leak_square;
        flyback_add_secondary(&m, c->ratio, &f);
    }
    if (k->fill > 0.0) {
        flyback_leg fill = flyback_fill_leg(c);
        flyback_moments lift = flyback_leg_moments(&fill, k->peak, k->fill, true);
        f.clamp_square += lift.leak_square;
        f.core_charge += lift.core, f.core_square += lift.core_square;
    }
    flyback_moments m = flyback_leg_moments(&rise, k->start, k->rise, true);
    f.on_charge += m.leak, f.on_square += m.leak_square;
    f.core_charge += m.core, f.core_square += m.core_square;
    m = flyback_leg_moments(&fall, k->at_reset.core, k->fall, false);
    flyback_add_secondary(&m, c->ratio, &f);
    double ring_energy = 0.0, body_loss = 0.0; /* J */
    if (ring) {
        f.ring_charge = flyback_ring_charge(ring, tank);
        f.ring_square = flyback_ring_square(ring, tank);
        f.core_charge += f.ring_charge, f.core_square += f.ring_square;
        ring_energy = flyback_ring_energy(ring, tank);
        body_loss = tank->body_resistance * ring->body_square - tank->body_drop * ring->body_charge;
    }
    f.conduction = c->on_resistance * f.on_square + (c->winding + c->clamp_path) * f.clamp_square +
                   l->clamp_drop * f.clamp_charge + l->secondary_resistance * f.secondary_square +
                   l->drop * f.secondary_charge + c->winding * f.ring_square + body_loss;
    f.clamp_energy =
        (c->clamp - l->clamp_drop) * k->clamp_charge + (c->fill_voltage - l->clamp_drop) * k->filled;
    f.drawn = c->input * f.on_charge + ring_energy;
    f.secondary_peak = flyback_secondary_peak(c, k);
    f.drain_peak = c->input + (flyback_leaks(c)
                                   ? c->clamp + fmax(c->clamp_path * k->handed - c->clamp_rise, c->clamp_rise)
                                   : c->reflected + c->reflected_resistance * k->peak);
    flyback_turn_on(c, k, ring, default_slope, &f);
    return f;
}

#endif
