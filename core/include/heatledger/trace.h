/* trace.h - which links carry the heat: each part's heat traced to the surroundings, and the links
 * themselves. Part of the host interface: include heatledger.h. */
#ifndef HEATLEDGER_TRACE_H
#define HEATLEDGER_TRACE_H

#include "heatledger/design.h"

#ifdef __cplusplus
extern "C" {
#endif

enum { HL_PATH_NODES_MAX = 12 };

/* One way out: from the part's node over others to the one that gives to the surroundings. */
typedef struct hl_heat_path {
    size_t n;
    int node[HL_PATH_NODES_MAX];
    double watts; /* of the part's heat that takes just this way */
} hl_heat_path;

/* Memory of one tracing; NULL: no memory, or no solved point with a network in the workspace.
 * Reads the point the workspace solved last, which may change afterwards. */
typedef struct hl_trace hl_trace;
HL_EXPORT hl_trace *hl_trace_create(const hl_workspace *workspace);
HL_EXPORT void hl_trace_destroy(hl_trace *trace);

/* W along link k of the design's network, from its end a to its end b. */
HL_EXPORT double hl_trace_flow(const hl_trace *trace, size_t link);
/* W of the heat of `source` (a node) that leaves to the surroundings at `node`; all nodes together give its
 * heat. Heat that meets in a node leaves it in the same mixture by every link. */
HL_EXPORT double hl_trace_exit(hl_trace *trace, int source, int node);
/* Ways that carry at least `least` of the source's heat (1), the strongest first; at most `room`. */
HL_EXPORT size_t hl_trace_paths(hl_trace *trace, int source, double least, hl_heat_path path[], size_t room);

/* One link in place of all that join a and b by the rules of the box; hl_draft_finish says when none does.
 * A figure of 0 takes the way out.  Ends and figures as in hl_draft_link. */
HL_EXPORT hl_status hl_draft_override(hl_draft *draft, const hl_place *place, const char *a, const char *b,
                                      hl_law law, int kind, const double p[4], hl_diagnostics *diagnostics);

/* Ends and law of a link in words: "flyback.switch", "main", "fixed". */
HL_EXPORT const char *hl_link_end(const hl_network *network, int end); /* "ambient" for HL_AMBIENT */
HL_EXPORT const char *hl_law_name(hl_law law);

#ifdef __cplusplus
}
#endif
#endif
