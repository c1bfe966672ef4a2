/* lua_script.h - scripts that a script runs. */
#ifndef HEATLEDGER_LUA_SCRIPT_H
#define HEATLEDGER_LUA_SCRIPT_H

#include "lua/binding.h"

/* Push the array of the texts of all scripts that script() has run in this state; nil: none. */
void script_push_texts(lua_State *L);

#endif
