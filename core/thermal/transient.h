/* transient.h - the integrator of warm-up, one step at a time, for who changes heat or room on the way. */
#ifndef HEATLEDGER_THERMAL_TRANSIENT_H
#define HEATLEDGER_THERMAL_TRANSIENT_H

#include "heatledger/thermal.h"

typedef struct transient transient;

/* From start[] (K) at time 0; NULL: no memory.  relative: tolerance of temperatures and energies, 1. */
transient *transient_create(const hl_network *network, const hl_surroundings *surroundings, hl_heat heat,
                            void *context, const double start[], double relative);
void transient_destroy(transient *run);

/* One step of the integrator's own length, never beyond `stop`, s.
 * HL_RUNAWAY: hotter than 2000 K, or the temperatures blew up, at *reached. */
hl_status transient_step(transient *run, double stop, double *reached);
/* Heat or surroundings jump here: begin again from the present state. */
hl_status transient_restart(transient *run, double now, const hl_surroundings *surroundings);

/* Present temperatures [n], K; then energy put in and handed out, J. */
const double *transient_state(const transient *run);
/* The same at a time within the last step; false: outside it. */
bool transient_at(transient *run, double time, double state[]);
/* [0] heat put in, [1] handed out, [2] stored since start[], J. */
void transient_energy(const transient *run, const double start[], double energy[3]);

#endif
