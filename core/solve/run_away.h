/* run_away.h - which part leads a run-away, and in what words that is said. */
#ifndef HEATLEDGER_RUN_AWAY_H
#define HEATLEDGER_RUN_AWAY_H

#include "solve/workspace.h"

/* Does a feedback gain explain a run-away? */
bool feedback_leads(double gain);

/* What drove it: the gain with the losses booked last, and the node with the greatest share in it, whose loss
 * grows with temperature; -1: losses did not grow fast enough, or it cannot be told. */
typedef struct run_away {
    double gain; /* NaN: cannot be told */
    int leader;
} run_away;
run_away run_away_of(double gain, int leader);
/* In one sentence, with what would help. */
void run_away_text(const hl_workspace *work, run_away found, double load, char text[], size_t size);

/* W that all ports take, at the voltages of their stages. */
double run_away_taken(const hl_workspace *work);
/* The item whose loss has run away with its temperature, where a stage could not carry it: more than all
 * ports take, and growing by more than a fiftieth a kelvin, as leakage does and resistance does not. -1:
 * none.
 */
int run_away_outgrown(const hl_workspace *work);

#endif
