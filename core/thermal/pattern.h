/* pattern.h - where the entries of the Newton matrix lie. */
#ifndef HEATLEDGER_THERMAL_PATTERN_H
#define HEATLEDGER_THERMAL_PATTERN_H

#include "thermal/work.h"

/* Fills column, row, diagonal and entries of the work from the network's links; false: no memory. */
bool pattern_build(hl_network_work *work);
/* Place of an entry; the spare slot when either end is the surroundings (index n). */
int pattern_place(const hl_network_work *work, int row, int column);

#endif
