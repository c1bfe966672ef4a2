/* sandbox.c - memory and step limits, and a standard library without a way out. */
#include "lua/sandbox.h"

#include <lauxlib.h>
#include <libgen.h>
#include <limits.h>
#include <lualib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "lua/binding.h"
#include "lua/library.h"
#include "lua/limited.h"

struct sandbox {
    lua_State *L;
    sandbox_limits limits;
    size_t used;
    long long steps;
    double since; /* s of processor time when counting began; negative: not yet */
    bool trusted, spent, at_limit;
    char library[PATH_MAX];
};

/* Moving 64 bytes costs about as much as a step; a refused block makes Lua collect everything it holds. */
enum { BYTES_A_STEP = 64, HELD_BYTES_A_STEP = 16, SMALL_BLOCK = 4096 };
static const double usual_seconds = 600;

/* Large blocks are refused once the steps are spent, so that a loop over huge texts ends soon; small ones are
 * not, for the message must be made. */
static bool refused(const sandbox *box, size_t more)
{
    if (box->trusted) return false;
    if (box->used + more > box->limits.memory) return true;
    return box->steps > box->limits.steps && more > SMALL_BLOCK;
}

static void *allocate(void *context, void *block, size_t old, size_t size)
{
    sandbox *box = context;
    if (!block) old = 0;
    if (size == 0) {
        box->used -= old;
        free(block);
        return NULL;
    }
    box->steps += (long long)(size / BYTES_A_STEP);
    if (size > old && refused(box, size - old)) {
        box->at_limit = true;
        box->steps += (long long)(box->used / HELD_BYTES_A_STEP);
        return NULL;
    }
    void *moved = realloc(block, size);
    if (moved) box->used += size - old;
    return moved;
}

static sandbox *box_of(lua_State *L)
{
    void *box;
    lua_getallocf(L, &box);
    return box;
}

static double processor_time(void)
{
    struct timespec now = {0};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void sandbox_spend(lua_State *L, long long steps)
{
    sandbox *box = box_of(L);
    if (box->trusted) return;
    box->steps += steps;
    if (box->steps > box->limits.steps) {
        box->spent = true;
        luaL_error(L, "the script took more than %d million steps; a loop may not end",
                   (int)(box->limits.steps / 1000000));
    }
}

bool sandbox_spent(lua_State *L)
{
    const sandbox *box = box_of(L);
    return box->spent || (!box->trusted && box->steps > box->limits.steps);
}

static void count_steps(lua_State *L, lua_Debug *at)
{
    (void)at;
    sandbox *box = box_of(L);
    double now = processor_time(), most = box->limits.seconds > 0 ? box->limits.seconds : usual_seconds;
    if (box->since < 0) box->since = now;
    if (now - box->since > most) {
        box->spent = true;
        luaL_error(L, "the script took more than %d s of processor time; a loop may not end", (int)most);
    }
    sandbox_spend(L, SANDBOX_HOOK_EVERY);
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

static void open_safe(lua_State *L)
{
    limited_open(L);
    lua_pushcfunction(L, require_own);
    lua_setglobal(L, "require");
    luaL_requiref(L, "heatledger.binding", luaopen_heatledger_binding, 0);
    lua_pop(L, 1);
    limited_hide_metatables(L);
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
    box->since = -1;
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
    if (!trusted) lua_sethook(box->L, count_steps, LUA_MASKCOUNT, SANDBOX_HOOK_EVERY);
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
    box->since = -1;
    box->spent = false;
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
    binding_set_running(L, path);
    lua_call(L, 0, 1);
    binding_set_running(L, NULL);
    return 1;
}

typedef struct chunk {
    const char *text, *name;
    size_t length;
} chunk;

/* Runs protected: a chunk in memory; it may read no part files. */
static int run_text(lua_State *L)
{
    sandbox *box = lua_touserdata(L, 1);
    const chunk *c = lua_touserdata(L, 2);
    if (!box->trusted) binding_set_root(L, "");
    if (luaL_loadbufferx(L, c->text, c->length, c->name, box->trusted ? "bt" : "t") != LUA_OK)
        return lua_error(L);
    lua_call(L, 0, 1);
    return 1;
}

const char *sandbox_message(lua_State *L)
{
    const char *text = lua_tostring(L, -1);
    if (!text) return "the script raised something that is no message";
    return text[0] ? text : "the script raised an error without a message";
}

static bool run(sandbox *box, lua_CFunction how, void *what, char *message, size_t size)
{
    lua_State *L = box->L;
    lua_pushcfunction(L, binding_message);
    int handler = lua_gettop(L);
    lua_pushcfunction(L, how);
    lua_pushlightuserdata(L, box);
    lua_pushlightuserdata(L, what);
    int status = lua_pcall(L, 2, 1, handler);
    lua_remove(L, handler);
    if (status == LUA_OK) return true;
    const char *text = sandbox_message(L);
    bool memory = strcmp(text, "not enough memory") == 0;
    if (memory && sandbox_spent(L))
        snprintf(message, size, "the script took more than %d million steps, most of them to move memory",
                 (int)(box->limits.steps / 1000000));
    else if (memory && !box->at_limit)
        snprintf(message, size, "memory ran out; close other programs");
    else if (memory)
        snprintf(message, size, "%s: the script wanted more than the %zu MB it may hold", text,
                 box->limits.memory >> 20);
    else
        snprintf(message, size, "%s", text);
    lua_pop(L, 1);
    return false;
}

bool sandbox_run(sandbox *box, const char *path, char *message, size_t size)
{
    return run(box, run_file, (void *)path, message, size);
}

bool sandbox_run_text(sandbox *box, const char *text, size_t length, const char *name, char *message,
                      size_t size)
{
    chunk c = {text, name, length};
    return run(box, run_text, &c, message, size);
}
