/* limits.h - limits that no part states: touch temperatures, insulation classes, a derating policy.
 * Part of the host interface: include heatledger.h.
 *
 * Figures come from the caller (the Lua library keeps them in data files with their sources); this only says
 * where they hold.  They show as headroom; none of them is a certificate. */
#ifndef HEATLEDGER_LIMITS_H
#define HEATLEDGER_LIMITS_H

#include "heatledger/design.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Highest temperature of a node, K: an item, a hand-made node, a patch of the case. `name` says whose limit.
 */
HL_EXPORT hl_status hl_draft_limit(hl_draft *draft, const hl_place *place, const char *node, const char *name,
                                   double temperature, hl_diagnostics *diagnostics);
/* The same for every outer patch of the case. */
HL_EXPORT hl_status hl_draft_limit_case(hl_draft *draft, const hl_place *place, const char *name,
                                        double temperature, hl_diagnostics *diagnostics);

/* Temperatures of the thermal classes for windings, by the names parts state; `assumed` (may be NULL) holds
 * for windings that state none, and the limit's name says so.  A winding whose hottest spot is a node of its
 * own (resistance_inside) is held against `temperature`; of any other the mean is known, which is held
 * against `mean`, and the limit's name says "mean".  HL_BAD_INPUT: not 0 < mean <= temperature. */
typedef struct hl_insulation_class {
    const char *name;
    double temperature; /* K, of the hottest spot */
    double mean;        /* K, of the winding as a whole, as the change of its resistance tells */
} hl_insulation_class;
HL_EXPORT hl_status hl_draft_insulation(hl_draft *draft, const hl_place *place, size_t n,
                                        const hl_insulation_class classes[], const char *assumed,
                                        hl_diagnostics *diagnostics);

/* Policy: use ratings only up to `factor` of them, temperatures only up to `margin` K below them.
 * `limit` is a limit's name ("drain voltage"), or "voltage", "current", "power", "temperature" for all of a
 * kind; where both are stated, the name's holds.
 */
HL_EXPORT hl_status hl_draft_derating(hl_draft *draft, const hl_place *place, const char *limit,
                                      double factor, double margin, hl_diagnostics *diagnostics);

/* K that a node may have by all limits that are known of it, a part's own and those above, less what the
 * policy keeps; NaN: no limit. */
HL_EXPORT double hl_design_node_limit(const hl_design *design, size_t node);
/* Limits of a node that is no part, after hl_solve; at most `room`. */
HL_EXPORT size_t hl_result_node_headroom(const hl_workspace *workspace, size_t node, hl_headroom headroom[],
                                         size_t room);

#ifdef __cplusplus
}
#endif
#endif
