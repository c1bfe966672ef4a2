/* lua_heat.h - what a result tells of its heat beyond temperatures: ways out, links, borders, judgements. */
#ifndef HEATLEDGER_LUA_HEAT_H
#define HEATLEDGER_LUA_HEAT_H

#include <jansson.h>

#include "heatledger/heatledger.h"

/* New references; NULL: no memory. */

/* Each part's ways to the surroundings in W, and the nodes its heat leaves by: key "heat_paths". */
json_t *heat_paths_document(const hl_design *design, const hl_workspace *workspace);
/* Every link with its law, figures and W: key "links". */
json_t *links_document(const hl_design *design, const hl_workspace *workspace);
/* How far a setting may rise before run-away: keys "load", "ambient" under "critical". */
json_t *critical_document(const hl_design *design, const hl_critical *found, bool temperature);

#endif
