/* heat_paths.h - the thermal network of a design, from its box or its hand-made links. */
#ifndef HEATLEDGER_HEAT_PATHS_H
#define HEATLEDGER_HEAT_PATHS_H

#include "design/design.h"
#include "design/draft.h"

/* Sets design->network and the node of every item and stage.  Leaves the network
 * NULL when the draft says nothing about heat.  All problems in diagnostics. */
hl_status heat_paths_build(const hl_draft *draft, hl_design *design, hl_diagnostics *diagnostics);

/* Says that no part is called so, and which known one may have been meant. */
void heat_paths_unknown(const hl_design *design, const hl_place *place, const char *name,
                        hl_diagnostics *diagnostics);

#endif
