/* feedback.h - the feedback gain of a point, worked out when it is asked for. */
#ifndef HEATLEDGER_FEEDBACK_H
#define HEATLEDGER_FEEDBACK_H

#include "solve/run_away.h"

struct feedback {
    bool known;
    double gain;
    int leader; /* node; -1: none */
};

/* No gain yet, and none to be worked out. */
void feedback_begin(hl_workspace *work);
/* At a solution, with what the last step in the network left: do losses grow faster than heat is carried
 * away?  From here on the gain can be had. */
bool feedback_runs_away(hl_workspace *work);
double feedback_gain(const hl_workspace *work);
/* Where a step found no balance, or one that runs away: what drove it, by the losses booked last. */
run_away feedback_ran_away(hl_workspace *work);

#endif
