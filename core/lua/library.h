/* library.h - where this project's own Lua files lie, and which running chunks belong to them. */
#ifndef HEATLEDGER_LUA_LIBRARY_H
#define HEATLEDGER_LUA_LIBRARY_H

#include <lauxlib.h>
#include <lua.h>
#include <stdbool.h>
#include <stddef.h>

/* `folder` holds heatledger/init.lua.  Set once per state; later calls change nothing. */
void library_set(lua_State *L, const char *folder);
/* NULL while not known. */
const char *library_folder(lua_State *L);

/* Whether the chunk is a file of the library.  A file elsewhere that lies in a folder of the same
 * name is not. */
bool library_owns(lua_State *L, const lua_Debug *chunk);

/* Path of the module `name` ("heatledger", "heatledger.law", "heatledger.laws.eu_2019_1782") below
 * `folder`.  Only letters, digits, underscores and single dots pass, so no path leads out.
 * false: no such name is possible, or it does not fit. */
bool library_path(const char *folder, const char *name, char *path, size_t size);

/* Adds library(path) and library_files(folder) to the table on the stack. */
void library_open(lua_State *L);

#endif
