/* pattern.h - find, match, gmatch and gsub of the string library, each comparison counted as a step. */
#ifndef HEATLEDGER_LUA_PATTERN_H
#define HEATLEDGER_LUA_PATTERN_H

#include <lua.h>

/* Puts the four functions into the table on the stack; only in a sandbox's state. */
void pattern_open(lua_State *L);

#endif
