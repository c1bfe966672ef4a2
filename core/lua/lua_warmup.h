/* lua_warmup.h - profiles from Lua tables, and a warm-up as a tree in the schema heatledger.warmup/1. */
#ifndef HEATLEDGER_LUA_WARMUP_H
#define HEATLEDGER_LUA_WARMUP_H

#include <jansson.h>

#include "lua/binding.h"

/* From the table at `index`, as scripts/heatledger/profile.lua makes it, and the settings in `bound`; pushes
 * the userdata that holds its memory.  Raises what is wrong. */
const hl_profile *profile_push(lua_State *L, int index, bound_design *bound);

/* New reference; NULL: no memory.  `name` of the profile. */
json_t *warmup_document(const hl_design *design, const hl_course *course, const char *name,
                        const hl_diagnostics *notes);

#endif
