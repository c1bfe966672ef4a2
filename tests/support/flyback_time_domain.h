/* flyback_time_domain.h - a flyback stepped in time by CVODE with root finding: written on its own, from the
 * circuit, to check the closed-form stage. */
#ifndef FLYBACK_TIME_DOMAIN_H
#define FLYBACK_TIME_DOMAIN_H

#include <stdbool.h>

typedef struct flyback_bench_circuit {
    double input, output, drop, clamp;  /* V */
    double magnetizing, leakage, ratio; /* H, H, Np/Ns */
    double on_resistance, winding;      /* ohm, primary loop while on; while off */
    double clamp_resistance;            /* ohm, of the clamp's diode */
    double secondary_resistance;        /* ohm, secondary side */
    double on_time;                     /* s */
    double period;                      /* s; 0: quasi-resonant */
    double capacitance;                 /* F at the drain, quasi-resonant */
    double body_drop, body_resistance;  /* V, ohm: what holds the drain at zero */
    int valley;
    bool wait; /* with the drain at zero, wait for the valley */
} flyback_bench_circuit;

typedef struct flyback_bench_figures {
    double period, peak, start, turn_on_voltage;
    double switch_mean, switch_rms, winding_rms, magnetizing_rms, secondary_mean, secondary_rms, clamp_mean;
    double secondary_time, reset_time, commutation_time;
    double periodicity; /* A */
} flyback_bench_figures;

/* Steady cycle by shooting on the currents at turn-on. false: not found. */
bool flyback_time_domain(const flyback_bench_circuit *circuit, flyback_bench_figures *figures);

#endif
