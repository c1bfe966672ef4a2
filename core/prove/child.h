/* child.h - a child process that may crash or hang without taking the command with it. */
#ifndef HEATLEDGER_CHILD_H
#define HEATLEDGER_CHILD_H

#include "prove/trial.h"

/* Run `work` in a child; what it leaves in `found` (shared memory) is completed with how the child ended.
 * A child that uses more than a few seconds of processor time between two beats, or does nothing for a
 * minute, is ended and found hanging. */
void child_run(void (*work)(void *argument, finding *found), void *argument, finding *found);

/* In the child: whose inputs to put into words should the plugin crash now. */
void child_observe(trial *t);
/* In the child: the time limit starts anew. */
void child_rearm(void);

/* Zeroed memory seen by parent and children alike; NULL when there is none. */
void *child_share(size_t size);
void child_unshare(void *memory, size_t size);

#endif
