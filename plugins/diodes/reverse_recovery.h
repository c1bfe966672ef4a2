/* reverse_recovery.h - charge a conducting junction gives back when its current is reversed.
 *
 * Charge control, stored charge q with life time tau, current falling at rate a from I:
 *   dq/dt = (I - a t) - q / tau,  q(0) = I tau,  until q = 0 at t1 = x tau:   x - 1 + e^-x = m = I / (a tau)
 *   peak reverse current  a tau (1 - e^-x),  recovered charge  Q = a tau^2 (1 - e^-x)^2 / 2
 * Limits: I tau for a fast commutation (m -> 0), a tau^2 / 2 for a slow one.  tau follows from the data
 * sheet's charge at its own current and slope, so the soft tail is in it.
 * source: P. O. Lauritzen, C. L. Ma, "A simple diode model with reverse recovery", IEEE Trans. Power
 * Electronics 6(2), 1991, with a vanishing transit time (from memory).
 *
 * Heat: the supply delivers V Q per commutation; it is booked whole at the part that recovers, and warms the
 * switch that turns on where its stage knows one (plugins/stages/partner_charge.h).  Q is taken net of the
 * capacitive charge, which is booked apart. */
#ifndef REVERSE_RECOVERY_H
#define REVERSE_RECOVERY_H

#include <math.h>

#include "heatledger/plugin.h"

typedef struct recovery {
    double life_time;   /* s; 0: no recovery */
    double slope;       /* A/s of the data sheet, used where the stage states none */
    double coefficient; /* 1/K, of the charge */
    double temperature; /* K, of the data sheet */
} recovery;

/* Charge at current I >= 0 and slope a > 0, at the data sheet's temperature. */
static inline double recovered_charge(double life_time, double current, double slope)
{
    double m = current / (slope * life_time);
    double x = sqrt(m * (m + 2.0)); /* right in both limits; three steps of Newton make it exact */
    for (int step = 0; step < 3; step++) {
        double e = exp(-x), rate = 1.0 - e;
        x -= rate > 0.0 ? (x - rate - m) / rate : 0.0;
    }
    if (m < 1e-9) return current * life_time; /* the difference above has no digits left */
    double reverse = 1.0 - exp(-x);
    return 0.5 * slope * life_time * life_time * reverse * reverse;
}

/* Life time that gives `charge` at the test current and slope: Q rises with tau, so bisection in its
 * logarithm, on the safe side of Q <= I tau and Q <= a tau^2 / 2. */
static inline double recovery_life_time(double charge, double current, double slope)
{
    if (!(charge > 0.0) || !(current > 0.0) || !(slope > 0.0)) return 0.0;
    double low = charge / current, other = sqrt(2.0 * charge / slope);
    if (other > low) low = other;
    double high = 4.0 * (charge / current + other);
    for (int step = 0; step < 80; step++) {
        double middle = sqrt(low * high);
        if (recovered_charge(middle, current, slope) < charge)
            low = middle;
        else
            high = middle;
    }
    return sqrt(low * high);
}

/* Factor of the charge at temperature T, and its derivative; never below 0.1. */
static inline double recovery_factor(const recovery *r, double temperature, double *slope)
{
    double factor = 1.0 + r->coefficient * (temperature - r->temperature);
    if (!(factor > 0.1)) {
        *slope = 0.0;
        return 0.1;
    }
    *slope = r->coefficient;
    return factor;
}

/* W of one cycle at the data sheet's temperature. */
static inline double recovery_power(const recovery *r, double current, double slope, double voltage,
                                    double frequency)
{
    if (!(r->life_time > 0.0) || !(current > 0.0) || !(voltage > 0.0)) return 0.0;
    double rate = slope > 0.0 ? slope : r->slope;
    if (!(rate > 0.0)) return 0.0;
    return recovered_charge(r->life_time, current, rate) * voltage * frequency;
}

#endif
