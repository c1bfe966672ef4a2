/* alternatives.h - what another part in an item's place changes in the thermal network. */
#ifndef HEATLEDGER_ALTERNATIVES_H
#define HEATLEDGER_ALTERNATIVES_H

#include "design/design.h"
#include "design/draft.h"

/* Fills the changes of every alternative of every item; the design has its network.  A part whose figures
 * would change more of the network than figures of links is warned of, and stands on the first one's.
 * false: memory ran out. */
bool alternatives_find_changes(const hl_draft *draft, hl_design *design, hl_diagnostics *diagnostics);

#endif
