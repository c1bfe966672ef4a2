/* hand_links.h - nodes and links by hand. */
#ifndef HEATLEDGER_HAND_LINKS_H
#define HEATLEDGER_HAND_LINKS_H

#include "design/design.h"
#include "design/draft.h"

/* Adds what the draft states by hand to design->network, or beside a field to its leaks. A link that ends at
 * a board which the rules cut in quarters ends at these: at those its other end stands on, or at all alike.
 * All problems in diagnostics. */
hl_status hand_links_add(const hl_draft *draft, hl_design *design, hl_diagnostics *diagnostics);

#endif
