/* binding.h - what the files of the Lua binding share. */
#ifndef HEATLEDGER_BINDING_H
#define HEATLEDGER_BINDING_H

#include <jansson.h>
#include <lauxlib.h>
#include <lua.h>

#include "heatledger/heatledger.h"

#define BINDING_CATALOGUE "heatledger.catalogue"
#define BINDING_PART      "heatledger.part"
#define BINDING_DRAFT     "heatledger.draft"
#define BINDING_DESIGN    "heatledger.design"

/* A finished design with one workspace and the warnings found while building. */
typedef struct bound_design {
    hl_design *design;
    hl_workspace *workspace;
    double *settings;
    bool *known; /* [settings] that the user stated by name (--set), as the value they had or another */
    hl_diagnostics *notes;
} bound_design;

typedef struct bound_draft {
    hl_draft *draft;
    hl_diagnostics *diagnostics;
} bound_draft;

typedef struct bound_part {
    const hl_part *part;
} bound_part;

/* The host of this Lua state, with the shipped models loaded; made at first use, raises on failure. */
const hl_host *binding_host(lua_State *L);
/* Load a plugin file or every plugin of a folder that the user names; an error where that brings nothing. */
hl_status binding_load(hl_host *host, const char *path, hl_diagnostics *diagnostics);
/* Load one more plugin file or folder into this state's host before it is used. Raises on failure. */
void binding_add_plugins(lua_State *L, const char *path);
/* Folder that relative part files are read from, and outside which none is; NULL: anywhere. */
const char *binding_root(lua_State *L);
void binding_set_root(lua_State *L, const char *folder);
/* Folder of the script that was run first; NULL in a stock lua. */
const char *binding_folder(lua_State *L);
void binding_set_folder(lua_State *L, const char *folder);

/* The kind of thermal network that the user asks for on the command line, before the script runs. */
void binding_set_network(lua_State *L, const char *kind);

/* Raise all errors of `diagnostics` as one Lua error, one a line; the list is freed first. */
int binding_raise(lua_State *L, hl_diagnostics *diagnostics);
/* The script that runs, NULL: none; messages are placed in it where no line of one is known. */
void binding_set_running(lua_State *L, const char *script);
/* Where the running script is, outside this project's own Lua library. */
hl_place binding_place(lua_State *L);
/* Refuse keys of the table at an index that are none of the NULL-ended words; numbered ones pass. */
void binding_known(lua_State *L, int table, const char *what, const char *const *words);
/* Message handler for lua_pcall: a message that begins with a place in this library begins with the script's
 * line instead, or with none where no script runs. */
int binding_message(lua_State *L);

void binding_open_catalogue(lua_State *L);
void binding_open_draft(lua_State *L);
void binding_open_design(lua_State *L);
void binding_open_description(lua_State *L);
void binding_open_point(lua_State *L); /* after binding_open_design */
void binding_open_script(lua_State *L);
void binding_open_sweep(lua_State *L);

/* Set a field of the table on top of the stack. */
static inline void binding_put_text(lua_State *L, const char *key, const char *text)
{
    lua_pushstring(L, text);
    lua_setfield(L, -2, key);
}

static inline void binding_put_number(lua_State *L, const char *key, double value)
{
    lua_pushnumber(L, value);
    lua_setfield(L, -2, key);
}

/* Pushes what a document holds as a table and lets it go; NULL raises. Returns 1. */
int binding_push_document(lua_State *L, json_t *document);
/* Settings and what of them is known: the design's own, changed by the table at `index` ([setting] = text,
 * bands = "low", "typical" or "high") if there is one.  Raises what cannot be read. */
void binding_settle(lua_State *L, bound_design *bound, int index);
void binding_open_warmup(lua_State *L); /* after binding_open_design */
void binding_open_limits(lua_State *L); /* after binding_open_draft */
void binding_open_spread(lua_State *L);
void binding_open_statistics(lua_State *L);
void binding_open_fit(lua_State *L); /* after binding_open_statistics */

HL_EXPORT int luaopen_heatledger_binding(lua_State *L);

#endif
