/* limited.h - the standard library as a script that is not trusted sees it. */
#ifndef HEATLEDGER_LUA_LIMITED_H
#define HEATLEDGER_LUA_LIMITED_H

#include <lua.h>

/* Open the safe libraries without what leads out of them, and with counted versions of what can run long
 * inside one call. */
void limited_open(lua_State *L);
/* To be called when all metatables of userdata exist: scripts get none of them into their hands. */
void limited_hide_metatables(lua_State *L);

#endif
