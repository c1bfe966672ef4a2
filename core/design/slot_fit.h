/* slot_fit.h - does a part fit into a slot of a stage, and what to say where it does not. */
#ifndef HEATLEDGER_SLOT_FIT_H
#define HEATLEDGER_SLOT_FIT_H

#include "design/draft.h"

/* By family, and by kind where the slot asks for one. */
bool slot_fits(const draft_stage *stage, size_t slot, const hl_part *part);

/* The same; says why not at `place`. */
bool slot_need_fit(const hl_draft *draft, const draft_stage *stage, size_t slot, const hl_part *part,
                   const hl_place *place, hl_diagnostics *diagnostics);

#endif
