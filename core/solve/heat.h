/* heat.h - between parts and nodes: losses into the network, temperatures back to the parts. */
#ifndef HEATLEDGER_HEAT_H
#define HEATLEDGER_HEAT_H

#include "solve/workspace.h"

/* Losses as booked last into work->power and work->slope per node; work->base = temperatures they hold at. */
void heat_gather(hl_workspace *work);
/* The same of losses that stand since they were gathered, at temperatures that have moved. */
void heat_stand(hl_workspace *work);
/* work->temperature to the parts; without a network, the surroundings'. */
void heat_share(hl_workspace *work);
/* The circuit in balance at work->temperature with work->settings; losses gathered.  `fresh`: the settings
 * are new; otherwise it goes on from its last state.  HL_STAGE_INFEASIBLE: *failed is the stage. */
hl_stage_status heat_balance(hl_workspace *work, bool fresh, size_t *failed);

#endif
