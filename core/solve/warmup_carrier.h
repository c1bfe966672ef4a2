/* warmup_carrier.h - what carries the heat through a warm-up: a network by CVODE, or a condensed field. */
#ifndef HEATLEDGER_SOLVE_WARMUP_CARRIER_H
#define HEATLEDGER_SOLVE_WARMUP_CARRIER_H

#include "solve/workspace.h"

typedef struct carrier carrier;

/* From start[nodes] (K) at time 0; steady: the surroundings of the point that the workspace holds, when the
 * warm-up begins there, else NULL.  heat: as of a network, of the design's nodes.  NULL: diagnostics say why,
 * or memory ran out. */
carrier *carrier_create(hl_workspace *work, hl_heat heat, void *context, const double start[],
                        const hl_surroundings *steady, double tolerance, hl_diagnostics *diagnostics);
void carrier_destroy(carrier *c);

/* One step of its own length, never beyond `stop`, s.  HL_RUNAWAY: hotter than 2000 K, at *reached. */
hl_status carrier_step(carrier *c, double stop, double *reached);
/* Heat or surroundings jump here: go on from the present state. */
hl_status carrier_restart(carrier *c, double now, const hl_surroundings *surroundings);
/* Present temperatures of the nodes, K; the same at a time within the last step (false: outside it). */
const double *carrier_state(const carrier *c);
bool carrier_at(carrier *c, double time, double state[]);
/* [0] heat put in, [1] handed out, [2] stored since start[], J. */
void carrier_energy(const carrier *c, const double start[], double energy[3]);
/* Feedback gain at these temperatures and slopes, with the node that leads. */
double carrier_gain(carrier *c, const double temperature[], const double slope[], int *leader);

#endif
