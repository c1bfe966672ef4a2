/* lua_limits.c - what a script states over parts and rules: limits from data files, links overridden. */
#include <string.h>

#include "lua/binding.h"

enum { CLASSES_MAX = 16 };

static bound_draft *check_draft(lua_State *L)
{
    bound_draft *bound = luaL_checkudata(L, 1, BINDING_DRAFT);
    if (!bound->draft) luaL_error(L, "this adapter description could not be made: memory ran out");
    return bound;
}

/* draft:limit(node or nil for the case, name, kelvin) */
static int draft_limit(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    const char *name = luaL_checkstring(L, 3);
    double kelvin = luaL_checknumber(L, 4);
    if (lua_isnil(L, 2))
        hl_draft_limit_case(bound->draft, &place, name, kelvin, bound->diagnostics);
    else
        hl_draft_limit(bound->draft, &place, luaL_checkstring(L, 2), name, kelvin, bound->diagnostics);
    return 0;
}

/* draft:insulation({ { name, kelvin of the spot, kelvin of the mean }, ... }, assumed or nil) */
static int draft_insulation(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_insulation_class classes[CLASSES_MAX];
    luaL_checktype(L, 2, LUA_TTABLE);
    luaL_checkstack(L, 2 * CLASSES_MAX, "classes");
    size_t n = lua_rawlen(L, 2);
    if (n > CLASSES_MAX) return luaL_error(L, "more than %d insulation classes", CLASSES_MAX);
    for (size_t i = 0; i < n; i++) { /* the names stay on the stack while they are used */
        lua_rawgeti(L, 2, (lua_Integer)i + 1);
        lua_rawgeti(L, -1, 2);
        lua_rawgeti(L, -2, 3);
        classes[i].temperature = luaL_checknumber(L, -2);
        classes[i].mean = luaL_checknumber(L, -1);
        lua_pop(L, 2);
        lua_rawgeti(L, -1, 1);
        classes[i].name = luaL_checkstring(L, -1);
        lua_remove(L, -2);
    }
    hl_draft_insulation(bound->draft, &place, n, classes, luaL_optstring(L, 3, NULL), bound->diagnostics);
    return 0;
}

/* draft:derating(limit, factor, margin) */
static int draft_derating(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_draft_derating(bound->draft, &place, luaL_checkstring(L, 2), luaL_checknumber(L, 3),
                      luaL_checknumber(L, 4), bound->diagnostics);
    return 0;
}

/* draft:override(a, b, conductance): one link in place of all between two nodes */
static int draft_override(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    const double p[4] = {luaL_checknumber(L, 4)};
    hl_draft_override(bound->draft, &place, luaL_checkstring(L, 2), luaL_checkstring(L, 3), HL_LAW_FIXED, 0,
                      p, bound->diagnostics);
    return 0;
}

void binding_open_limits(lua_State *L)
{
    static const luaL_Reg methods[] = {{"limit", draft_limit},
                                       {"insulation", draft_insulation},
                                       {"derating", draft_derating},
                                       {"override", draft_override},
                                       {NULL, NULL}};
    luaL_getmetatable(L, BINDING_DRAFT);
    lua_getfield(L, -1, "__index");
    luaL_setfuncs(L, methods, 0);
    lua_pop(L, 2);
}
