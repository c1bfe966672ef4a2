/* limits.h - limits of nodes and the derating policy, from the draft into the design. */
#ifndef HEATLEDGER_DESIGN_LIMITS_H
#define HEATLEDGER_DESIGN_LIMITS_H

#include "design/design.h"
#include "design/draft.h"

/* After the network is built.  Unknown nodes are errors, with the nearest name. */
hl_status limits_build(const hl_draft *draft, hl_design *design, hl_diagnostics *diagnostics);

/* Factor on a rating and K off a temperature that the policy asks for; 1 and 0 without one. */
void limits_policy(const hl_design *design, const hl_limit *limit, double *factor, double *margin);

#endif
