/* repeat.h - for a caller who solves the same network again and again: steps that begin at the last answer,
 * and questions asked at a solution.  All of surroundings, temperature and slope as in heatledger/thermal.h.
 */
#ifndef HEATLEDGER_THERMAL_REPEAT_H
#define HEATLEDGER_THERMAL_REPEAT_H

#include "heatledger/thermal.h"

/* The figures of the network's links have changed, its ends and laws have not: take them anew. */
void network_take_links(hl_network_work *work);

/* Forget what was kept of the last assembly, so that nothing of the point before lives on. */
void network_forget(hl_network_work *work);

/* hl_network_steady for a caller who will ask again with better figures of heat: after one step of Newton's
 * method an imbalance of `share` of the heat is good enough. */
hl_status network_steady_within(hl_network_work *work, const hl_surroundings *surroundings, hl_heat heat,
                                void *context, double share, double temperature[]);

/* One plain step of Newton's method from `temperature`, for a caller who comes back.  False, and nothing is
 * changed: the step would be a long one, or the feedback is too strong here. */
bool network_step(hl_network_work *work, const hl_surroundings *surroundings, hl_heat heat, void *context,
                  double temperature[]);

/* Where network_step ended: is the gain surely below one, by more than rounding?  False: it takes the gain to
 * tell. */
bool network_holds(hl_network_work *work, const hl_surroundings *surroundings, const double temperature[],
                   const double slope[]);

/* hl_network_gain where network_step ended, with the links as that saw them; begun with the shape that a
 * point near by grows in, network_mode there; NULL: not known. */
double network_gain_near(hl_network_work *work, const hl_surroundings *surroundings,
                         const double temperature[], const double slope[], const double mode[], int *leader);
/* The shape that the last gain belongs to, a figure per node; good until the work is used again. */
const double *network_mode(const hl_network_work *work);

/* The network's matrix at a solution, feedback of temperature on heat included.  False: it has no inverse. */
bool network_linearise(hl_network_work *work, const hl_surroundings *surroundings, const double temperature[],
                       const double slope[]);
/* With that matrix: more heat at the nodes, W, becomes their rise, K, in place. */
void network_rise(hl_network_work *work, double vector[]);

#endif
