/* links.h - links sorted by law, and what all of them come to at each node. */
#ifndef HEATLEDGER_THERMAL_LINKS_H
#define HEATLEDGER_THERMAL_LINKS_H

#include "thermal/work.h"

/* The network's links with their present figures into rows. */
void links_sort(hl_network_work *work);
/* At work->temperature, surroundings included: work->residual = heat leaving each node along its links, and
 * the surroundings; work->value = its derivative.  `least` as in law_power. */
void links_add(hl_network_work *work, double least);

#endif
