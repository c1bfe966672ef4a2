/* sandbox.c - memory and step limits, and a standard library without a way out. */
#include "lua/sandbox.h"

#include <lauxlib.h>
#include <libgen.h>
#include <limits.h>
#include <lualib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "lua/binding.h"
#include "lua/library.h"

struct sandbox {
    lua_State *L;
    sandbox_limits limits;
    size_t used;
    long long steps;
    bool trusted;
    char library[PATH_MAX];
};

enum { HOOK_EVERY = 10000 };

static const char box_key = 'b';

static void *allocate(void *context, void *block, size_t old, size_t size)
{
    sandbox *box = context;
    if (!block) old = 0;
    if (size == 0) {
        box->used -= old;
        free(block);
        return NULL;
    }
    if (!box->trusted && size > old && box->used + (size - old) > box->limits.memory) return NULL;
    void *moved = realloc(block, size);
    if (moved) box->used += size - old;
    return moved;
}

static void count_steps(lua_State *L, lua_Debug *at)
{
    (void)at;
    lua_rawgetp(L, LUA_REGISTRYINDEX, &box_key);
    sandbox *box = lua_touserdata(L, -1);
    lua_pop(L, 1);
    box->steps += HOOK_EVERY;
    if (box->steps > box->limits.steps)
        luaL_error(L, "the script took more than %d million steps; a loop may not end",
                   (int)(box->limits.steps / 1000000));
}

/* load(text [, name]): source text only, never a binary chunk. */
static int load_text(lua_State *L)
{
    size_t length;
    const char *text = luaL_checklstring(L, 1, &length), *name = luaL_optstring(L, 2, "=(load)");
    if (luaL_loadbufferx(L, text, length, name, "t") != LUA_OK) {
        lua_pushnil(L);
        lua_insert(L, -2);
        return 2;
    }
    if (!lua_isnoneornil(L, 4)) {
        lua_pushvalue(L, 4);
        lua_setupvalue(L, -2, 1);
    }
    return 1;
}

/* Hooks belong to a coroutine: new ones must count too. */
static int coroutine_create(lua_State *L)
{
    luaL_checktype(L, 1, LUA_TFUNCTION);
    lua_State *thread = lua_newthread(L);
    lua_sethook(thread, count_steps, LUA_MASKCOUNT, HOOK_EVERY);
    lua_pushvalue(L, 1);
    lua_xmove(L, thread, 1);
    return 1;
}

/* Run one file of the library with the arguments the stock `require` gives: name and path. */
static void load_own(lua_State *L, const char *path, const char *name)
{
    if (luaL_loadfilex(L, path, "t") != LUA_OK) lua_error(L);
    lua_pushstring(L, name);
    lua_pushstring(L, path);
    lua_call(L, 2, 1);
    if (lua_isnil(L, -1)) {
        lua_pop(L, 1);
        lua_pushboolean(L, 1);
    }
}

/* require: this project's own modules and nothing else. */
static int require_own(lua_State *L)
{
    const char *name = luaL_checkstring(L, 1);
    luaL_getsubtable(L, LUA_REGISTRYINDEX, LUA_LOADED_TABLE);
    lua_getfield(L, -1, name);
    if (lua_toboolean(L, -1)) return 1;
    lua_pop(L, 1);
    char path[PATH_MAX];
    if (!library_path(library_folder(L), name, path, sizeof path))
        return luaL_error(
            L, "module '%s' is not open to scripts; only heatledger is, unless run with --trust", name);
    if (access(path, R_OK) != 0) return luaL_error(L, "the library has no module '%s'", name);
    load_own(L, path, name);
    lua_pushvalue(L, -1);
    lua_setfield(L, -3, name);
    return 1;
}

static void drop(lua_State *L, const char *table, const char *const *names)
{
    if (table)
        lua_getglobal(L, table);
    else
        lua_pushglobaltable(L);
    for (; *names; names++) {
        lua_pushnil(L);
        lua_setfield(L, -2, *names);
    }
    lua_pop(L, 1);
}

static void open_safe(lua_State *L)
{
    static const luaL_Reg libraries[] = {
        {LUA_GNAME, luaopen_base},
        {LUA_TABLIBNAME, luaopen_table},
        {LUA_STRLIBNAME, luaopen_string},
        {LUA_MATHLIBNAME, luaopen_math},
        {LUA_UTF8LIBNAME, luaopen_utf8},
        {LUA_COLIBNAME, luaopen_coroutine},
        {NULL, NULL},
    };
    for (const luaL_Reg *library = libraries; library->name; library++) {
        luaL_requiref(L, library->name, library->func, 1);
        lua_pop(L, 1);
    }
    drop(L, NULL, (const char *const[]){"dofile", "loadfile", "collectgarbage", NULL});
    drop(L, "string", (const char *const[]){"dump", NULL});
    drop(L, "coroutine", (const char *const[]){"wrap", NULL});
    lua_pushcfunction(L, load_text);
    lua_setglobal(L, "load");
    lua_pushcfunction(L, require_own);
    lua_setglobal(L, "require");
    lua_getglobal(L, "coroutine");
    lua_pushcfunction(L, coroutine_create);
    lua_setfield(L, -2, "create");
    lua_pop(L, 1);
    luaL_requiref(L, "heatledger.binding", luaopen_heatledger_binding, 0);
    lua_pop(L, 1);
}

static void open_trusted(lua_State *L, const char *library)
{
    luaL_openlibs(L);
    luaL_requiref(L, "heatledger.binding", luaopen_heatledger_binding, 0);
    lua_pop(L, 1);
    lua_getglobal(L, "package");
    lua_getfield(L, -1, "path");
    lua_pushfstring(L, "%s/?.lua;%s/?/init.lua;%s", library, library, lua_tostring(L, -1));
    lua_setfield(L, -3, "path");
    lua_pop(L, 2);
}

static int open_all(lua_State *L)
{
    sandbox *box = lua_touserdata(L, 1);
    lua_pushlightuserdata(L, box);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &box_key);
    library_set(L, box->library);
    if (box->trusted)
        open_trusted(L, box->library);
    else
        open_safe(L);
    return 0;
}

sandbox *sandbox_create(const sandbox_limits *limits, bool trusted, const char *library)
{
    sandbox *box = calloc(1, sizeof *box);
    if (!box) return NULL;
    box->limits = *limits;
    box->trusted = trusted;
    snprintf(box->library, sizeof box->library, "%s", library);
    box->L = lua_newstate(allocate, box);
    if (!box->L) {
        free(box);
        return NULL;
    }
    lua_pushcfunction(box->L, open_all);
    lua_pushlightuserdata(box->L, box);
    if (lua_pcall(box->L, 1, 0, 0) != LUA_OK) {
        sandbox_destroy(box);
        return NULL;
    }
    if (!trusted) lua_sethook(box->L, count_steps, LUA_MASKCOUNT, HOOK_EVERY);
    return box;
}

void sandbox_destroy(sandbox *box)
{
    if (!box) return;
    lua_sethook(box->L, NULL, 0, 0);
    lua_close(box->L);
    free(box);
}

void sandbox_refresh(sandbox *box)
{
    box->steps = 0;
}

lua_State *sandbox_state(sandbox *box)
{
    return box->L;
}

/* Runs protected: the script's folder becomes the root of its part files. */
static int run_file(lua_State *L)
{
    sandbox *box = lua_touserdata(L, 1);
    const char *path = lua_touserdata(L, 2);
    char folder[PATH_MAX];
    snprintf(folder, sizeof folder, "%s", path);
    char *name = dirname(folder);
    binding_set_folder(L, name);
    if (!box->trusted) binding_set_root(L, name);
    if (luaL_loadfilex(L, path, box->trusted ? "bt" : "t") != LUA_OK) return lua_error(L);
    lua_call(L, 0, 1);
    return 1;
}

bool sandbox_run(sandbox *box, const char *path, char *message, size_t size)
{
    lua_State *L = box->L;
    lua_pushcfunction(L, run_file);
    lua_pushlightuserdata(L, box);
    lua_pushlightuserdata(L, (void *)path);
    if (lua_pcall(L, 2, 1, 0) == LUA_OK) return true;
    const char *text = lua_tostring(L, -1);
    snprintf(message, size, "%s", text ? text : "the script raised something that is no message");
    lua_pop(L, 1);
    return false;
}
