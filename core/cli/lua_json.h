/* lua_json.h - a Lua table as a JSON tree. */
#ifndef HEATLEDGER_LUA_JSON_H
#define HEATLEDGER_LUA_JSON_H

#include <jansson.h>
#include <lua.h>

/* The value at `index`: tables with entry 1, and empty ones, become arrays; others objects.
 * Numbers that are not finite become null.  NULL: memory ran out, or a value JSON cannot hold. */
json_t *lua_json(lua_State *L, int index);

#endif
