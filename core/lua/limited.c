/* limited.c - what scripts get instead of the stock functions that a hook cannot stop.
 *
 * A count hook sees virtual-machine instructions only.  So: what loops inside one C call pays for it first
 * (table.move over 1e15 empty places never ends); what catches errors does not catch the end of the steps;
 * and finalisers, which Lua runs with hooks off, cannot be set. */
#include "lua/limited.h"

#include <lauxlib.h>
#include <lualib.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "lua/pattern.h"
#include "lua/sandbox.h"

/* --------------------------------------------------------- protected calls -- */

/* After a protected call: an error is passed on when the steps are spent, whoever wants to catch it. */
static int after_call(lua_State *L, int status, lua_KContext extra)
{
    if (status == LUA_OK || status == LUA_YIELD) return lua_gettop(L) - (int)extra;
    if (sandbox_spent(L)) return lua_error(L);
    lua_pushboolean(L, 0);
    lua_pushvalue(L, -2);
    return 2;
}

static int protected_call(lua_State *L)
{
    luaL_checkany(L, 1);
    lua_pushboolean(L, 1);
    lua_insert(L, 1);
    return after_call(L, lua_pcallk(L, lua_gettop(L) - 2, LUA_MULTRET, 0, 0, after_call), 0);
}

/* The script's own handler (upvalue 1) sees no more errors once the steps are spent. */
static int handle(lua_State *L)
{
    if (sandbox_spent(L)) return 1;
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, 1, 1);
    return 1;
}

static int protected_call_with_handler(lua_State *L)
{
    int n = lua_gettop(L);
    luaL_checktype(L, 2, LUA_TFUNCTION);
    lua_pushvalue(L, 2);
    lua_pushcclosure(L, handle, 1);
    lua_replace(L, 2);
    lua_pushboolean(L, 1);
    lua_pushvalue(L, 1);
    lua_rotate(L, 3, 2);
    return after_call(L, lua_pcallk(L, n - 2, LUA_MULTRET, 2, 2, after_call), 2);
}

/* The stock function in upvalue 1 with the arguments given. */
static int call_stock(lua_State *L)
{
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, lua_gettop(L) - 1, LUA_MULTRET);
    return lua_gettop(L);
}

/* coroutine.resume and close answer false instead of raising. */
static int coroutine_call(lua_State *L)
{
    int n = call_stock(L);
    if (sandbox_spent(L)) sandbox_spend(L, 0);
    return n;
}

/* Hooks belong to a coroutine, and each begins its count anew: making one costs as much as it may hide. */
static int coroutine_create(lua_State *L)
{
    luaL_checktype(L, 1, LUA_TFUNCTION);
    sandbox_spend(L, SANDBOX_HOOK_EVERY);
    lua_State *thread = lua_newthread(L); /* inherits the hook */
    lua_pushvalue(L, 1);
    lua_xmove(L, thread, 1);
    return 1;
}

/* ------------------------------------------------------------ chunks, texts -- */

/* load(text [, name [, mode [, environment]]]): source text only, never a binary chunk. */
static int load_text(lua_State *L)
{
    size_t length;
    const char *text = luaL_checklstring(L, 1, &length), *name = luaL_optstring(L, 2, "=(load)");
    bool own_environment = !lua_isnone(L, 4);
    sandbox_spend(L, (long long)length);
    if (luaL_loadbufferx(L, text, length, name, "t") != LUA_OK) {
        lua_pushnil(L);
        lua_insert(L, -2);
        return 2;
    }
    if (own_environment) {
        lua_pushvalue(L, 4);
        if (!lua_setupvalue(L, -2, 1)) lua_pop(L, 1);
    }
    return 1;
}

/* rep("", 1e15) makes nothing, 1e15 times. */
static int repeat(lua_State *L)
{
    size_t length, between;
    luaL_checklstring(L, 1, &length);
    luaL_checkinteger(L, 2);
    luaL_optlstring(L, 3, "", &between);
    if (length + between == 0) {
        lua_pushliteral(L, "");
        return 1;
    }
    return call_stock(L); /* the allocator charges for the rest */
}

static int print_text(lua_State *L)
{
    int n = lua_gettop(L);
    for (int i = 1; i <= n; i++) {
        size_t length;
        const char *text = luaL_tolstring(L, i, &length);
        sandbox_spend(L, (long long)length + 100);
        if (i > 1) fputc('\t', stdout);
        fwrite(text, 1, length, stdout);
        lua_pop(L, 1);
    }
    fputc('\n', stdout);
    return 0;
}

static int set_metatable(lua_State *L)
{
    luaL_checktype(L, 1, LUA_TTABLE);
    if (lua_istable(L, 2)) {
        lua_pushliteral(L, "__gc");
        if (lua_rawget(L, 2) != LUA_TNIL)
            return luaL_error(L, "__gc is not open to scripts: a finaliser runs where no step is counted");
        lua_pop(L, 1);
    }
    return call_stock(L);
}

/* ------------------------------------------------------------------ tables -- */

/* Places from the one named by argument `first` to the one named by `last`, as the function counts them. */
static void spend_span(lua_State *L, int first, int last)
{
    lua_Integer from = luaL_optinteger(L, first, 1);
    lua_Integer to = lua_isnoneornil(L, last) ? luaL_len(L, 1) : luaL_checkinteger(L, last);
    if (to < from) return;
    lua_Unsigned span = (lua_Unsigned)to - (lua_Unsigned)from;
    sandbox_spend(L, span > (lua_Unsigned)1 << 60 ? (long long)1 << 60 : (long long)span + 1);
}

static int concat(lua_State *L)
{
    spend_span(L, 3, 4);
    return call_stock(L);
}

static int unpack(lua_State *L)
{
    spend_span(L, 2, 3);
    return call_stock(L);
}

static int move(lua_State *L)
{
    luaL_checkinteger(L, 2);
    luaL_checkinteger(L, 3);
    spend_span(L, 2, 3);
    return call_stock(L);
}

/* insert, remove and sort, each from 1 to the length. */
static int whole_table(lua_State *L)
{
    lua_Integer n = luaL_len(L, 1);
    if (n > 0) sandbox_spend(L, (long long)(n / lua_tointeger(L, lua_upvalueindex(2))));
    return call_stock(L);
}

/* ------------------------------------------------------------------- opening -- */

static void drop(lua_State *L, const char *const *names)
{
    for (; *names; names++) {
        lua_pushnil(L);
        lua_setfield(L, -2, *names);
    }
}

/* Put `function` over the stock one of that name in the table on the stack; it keeps that as upvalue 1, and a
 * share as upvalue 2. */
static void wrap(lua_State *L, const char *name, lua_CFunction function, int share)
{
    lua_getfield(L, -1, name);
    lua_pushinteger(L, share);
    lua_pushcclosure(L, function, 2);
    lua_setfield(L, -2, name);
}

static void open_base(lua_State *L)
{
    static const luaL_Reg own[] = {{"pcall", protected_call},
                                   {"xpcall", protected_call_with_handler},
                                   {"load", load_text},
                                   {"print", print_text},
                                   {NULL, NULL}};
    luaL_requiref(L, LUA_GNAME, luaopen_base, 1);
    drop(L, (const char *const[]){"dofile", "loadfile", "collectgarbage", "warn", NULL});
    luaL_setfuncs(L, own, 0);
    wrap(L, "setmetatable", set_metatable, 1);
    lua_pop(L, 1);
}

static void open_table(lua_State *L)
{
    luaL_requiref(L, LUA_TABLIBNAME, luaopen_table, 1);
    wrap(L, "concat", concat, 1);
    wrap(L, "unpack", unpack, 1);
    wrap(L, "move", move, 1);
    wrap(L, "insert", whole_table, 256); /* mostly at the end, where nothing moves */
    wrap(L, "remove", whole_table, 256);
    wrap(L, "sort", whole_table, 1);
    lua_pop(L, 1);
}

static void open_string(lua_State *L)
{
    luaL_requiref(L, LUA_STRLIBNAME, luaopen_string, 1);
    drop(L, (const char *const[]){"dump", NULL});
    wrap(L, "rep", repeat, 1);
    pattern_open(L);
    lua_pop(L, 1);
    /* the table that "text":find looks into is no script's to change */
    lua_pushliteral(L, "");
    if (lua_getmetatable(L, -1)) {
        lua_newtable(L);
        luaL_requiref(L, LUA_STRLIBNAME, luaopen_string, 0);
        for (lua_pushnil(L); lua_next(L, -2);) {
            lua_pushvalue(L, -2);
            lua_insert(L, -2);
            lua_settable(L, -5);
        }
        lua_pop(L, 1);
        lua_setfield(L, -2, "__index");
        lua_pushboolean(L, 0);
        lua_setfield(L, -2, "__metatable");
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
}

static void open_coroutine(lua_State *L)
{
    luaL_requiref(L, LUA_COLIBNAME, luaopen_coroutine, 1);
    drop(L, (const char *const[]){"wrap", NULL});
    lua_pushcfunction(L, coroutine_create);
    lua_setfield(L, -2, "create");
    wrap(L, "resume", coroutine_call, 1);
    wrap(L, "close", coroutine_call, 1);
    lua_pop(L, 1);
}

void limited_open(lua_State *L)
{
    open_base(L);
    open_table(L);
    open_string(L);
    open_coroutine(L);
    luaL_requiref(L, LUA_MATHLIBNAME, luaopen_math, 1);
    luaL_requiref(L, LUA_UTF8LIBNAME, luaopen_utf8, 1);
    lua_pop(L, 2);
}

void limited_hide_metatables(lua_State *L)
{
    for (lua_pushnil(L); lua_next(L, LUA_REGISTRYINDEX);) {
        bool own = lua_type(L, -2) == LUA_TSTRING && !strncmp(lua_tostring(L, -2), "heatledger.", 11);
        if (own && lua_istable(L, -1)) {
            lua_pushboolean(L, 0);
            lua_setfield(L, -2, "__metatable");
        }
        lua_pop(L, 1);
    }
}
