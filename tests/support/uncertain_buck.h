/* uncertain_buck.h - a small converter whose values have bands, for spreads and fits. */
#ifndef UNCERTAIN_BUCK_H
#define UNCERTAIN_BUCK_H

#include "drafted_adapter.h"

typedef drafted_adapter uncertain_buck;

/* 48 V to 12 V, 4 A; two switches, a coil, each with a link to the air.  Fails the running test when it
 * cannot.  End with drafted_end. */
void uncertain_buck_open(uncertain_buck *buck);

#endif
