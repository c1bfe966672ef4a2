/* llc_time_domain.h - a half-bridge LLC stepped through time by CVODE, for comparison only.
 *
 * Shares nothing with the product: states are the physical ones, borders are found by CVODE's root
 * finder, and the steady state by shooting with finite differences. */
#ifndef LLC_TIME_DOMAIN_H
#define LLC_TIME_DOMAIN_H

#include <stdbool.h>

typedef struct llc_bench_circuit {
    double input, series, magnetizing, capacitance, ratio;
    double primary_resistance, secondary_resistance, drop; /* drop: in the conducting secondary path */
    double output;                                         /* V, stiff */
    double frequency;
    double dead_time, node_capacitance, body_drop; /* node_capacitance 0: the node flips at once */
} llc_bench_circuit;

typedef struct llc_bench_figures {
    double resonant_rms, magnetizing_rms, switch_rms; /* A */
    double output_mean, secondary_rms;                /* A */
    double resonant_peak, capacitor_peak;             /* A, V without bias; from the steps taken */
    double turn_off, residual;                        /* A, V */
    double periodicity;                               /* largest relative miss of the half wave */
} llc_bench_figures;

/* false: CVODE failed or the shooting did not settle. */
bool llc_time_domain(const llc_bench_circuit *circuit, llc_bench_figures *figures);

#endif
