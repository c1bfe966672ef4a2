/* figures.h - which nodes are the outside of the case. */
#ifndef HEATLEDGER_FIGURES_H
#define HEATLEDGER_FIGURES_H

#include "diagnostic/arena.h"
#include "heatledger/spread.h"

bool figures_outside(const char *node);

#endif
