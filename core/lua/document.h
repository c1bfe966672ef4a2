/* document.h - a result as a tree in the schema heatledger.result/1, for JSON and for Lua. */
#ifndef HEATLEDGER_DOCUMENT_H
#define HEATLEDGER_DOCUMENT_H

#include <jansson.h>
#include <stdbool.h>

#include "heatledger/heatledger.h"

/* New reference to the document of the point `workspace` solved last with `settings`.
 * `ways`: with heat_paths, which cost as much as several solutions; [] in their place otherwise.
 * `extra` (may be NULL): diagnostics whose warnings are listed too.  NULL: no memory. */
json_t *document_of(const hl_design *design, hl_workspace *workspace, const double settings[], bool ways,
                    const hl_diagnostics *extra);

#endif
