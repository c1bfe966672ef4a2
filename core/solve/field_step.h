/* field_step.h - the condensed heat field in the place of the network's links. */
#ifndef HEATLEDGER_FIELD_STEP_H
#define HEATLEDGER_FIELD_STEP_H

#include "solve/workspace.h"

/* Memory for the design's field; true when it has none.  false: memory ran out. */
bool field_step_create(hl_workspace *work);
void field_step_destroy(hl_workspace *work);

/* What links by hand lead from each body of the design's field straight to the surroundings: leak [bodies]
 * W/K. */
void field_leaks(const hl_design *design, double leak[]);

/* work->power, slope and base -> work->temperature of parts and boards.  HL_RUNAWAY: no steady state. */
hl_status field_step(hl_workspace *work);
/* The same with losses that stand still where they were booked: a state for field_gain, no temperatures of
 * nodes. */
hl_status field_stand_still(hl_workspace *work);
/* Node of the part that runs away inside itself, between its hot spot and its body, with its gain there; -1:
 * none. */
int field_beyond_inside(const hl_workspace *work, double *held);

/* What the last step put into the bodies: power + slope (T - at), T their means. */
typedef struct field_heat {
    const double *power, *slope, *at;
} field_heat;
field_heat field_step_heat(const hl_workspace *work);

/* With the last step's solution: temperatures of the faces and their hottest spots, W handed to the
 * surroundings, and the feedback gain with the node that leads it (-1: none). */
void field_faces(hl_workspace *work);
double field_handed_out(const hl_workspace *work);
double field_gain(hl_workspace *work, int *leader);
#endif
