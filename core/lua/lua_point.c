/* lua_point.c - figures of a solved point by their names, seen from Lua. */
#include "lua/lua_point.h"

#include <math.h>
#include <string.h>

#include "heatledger/limits.h"

#define BINDING_POINT "heatledger.point"

static const char point_key = 'q';

static void push_figure(lua_State *L, const hl_probe *figure, const bound_point *point)
{
    const hl_design *design = hl_workspace_design(point->workspace);
    double value = hl_probe_read(figure, point->workspace, point->settings);
    size_t setting = hl_design_find_setting(design, figure->name, NULL);
    if (isnan(value))
        lua_pushnil(L);
    else if (setting != SIZE_MAX && hl_design_setting(design, setting)->kind == HL_CHOICE)
        lua_pushstring(L, hl_design_setting(design, setting)->choices[(size_t)value]);
    else
        lua_pushnumber(L, value);
}

static int no_figure(lua_State *L, const hl_design *design, const char *name)
{
    char advice[400];
    hl_probe_advice(design, name, advice, sizeof advice);
    return luaL_error(L, "the adapter has no figure '%s'; %s", name, advice);
}

/* point[name] -> number, a word for a choice, or nil where this point has no such figure */
static int point_index(lua_State *L)
{
    bound_point *point = luaL_checkudata(L, 1, BINDING_POINT);
    const char *name = luaL_checkstring(L, 2);
    if (!point->workspace)
        return luaL_error(L, "a point can be read only while it is handed to the function");
    lua_getiuservalue(L, 1, 1); /* figures found before, by name */
    lua_pushvalue(L, 2);
    if (lua_rawget(L, -2) != LUA_TUSERDATA) {
        lua_pop(L, 1);
        hl_probe *made = lua_newuserdatauv(L, sizeof *made, 0);
        if (!hl_probe_find(hl_workspace_design(point->workspace), name, made))
            return no_figure(L, hl_workspace_design(point->workspace), name);
        lua_pushvalue(L, 2);
        lua_pushvalue(L, -2);
        lua_rawset(L, -4);
    }
    push_figure(L, lua_touserdata(L, -1), point);
    return 1;
}

/* The one point object of this state. */
bound_point *point_push(lua_State *L)
{
    if (lua_rawgetp(L, LUA_REGISTRYINDEX, &point_key) == LUA_TUSERDATA) return lua_touserdata(L, -1);
    lua_pop(L, 1);
    bound_point *point = lua_newuserdatauv(L, sizeof *point, 1);
    memset(point, 0, sizeof *point);
    luaL_setmetatable(L, BINDING_POINT);
    lua_newtable(L);
    lua_setiuservalue(L, -2, 1);
    lua_pushvalue(L, -1);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &point_key);
    return point;
}

/* ----------------------------------------------------------------- design -- */

/* Those of `holder` that are used beyond 100 %, to the array on top. */
static void add_broken(lua_State *L, const char *holder, const hl_headroom headroom[], size_t limits)
{
    for (size_t k = 0; k < limits; k++) {
        if (!(headroom[k].used > 1)) continue;
        lua_createtable(L, 3, 0);
        lua_pushstring(L, holder);
        lua_rawseti(L, -2, 1);
        lua_pushstring(L, headroom[k].limit.name);
        lua_rawseti(L, -2, 2);
        lua_pushnumber(L, headroom[k].used);
        lua_rawseti(L, -2, 3);
        lua_rawseti(L, -2, (lua_Integer)lua_rawlen(L, -2) + 1);
    }
}

/* Limits used beyond 100 % at the point solved last: array of { item, node or stage, limit, used }. */
static void push_broken(lua_State *L, const bound_design *bound)
{
    hl_headroom headroom[HL_HOLDER_LIMITS_MAX];
    const hl_design *design = bound->design;
    lua_newtable(L);
    for (size_t i = 0; i < hl_design_holders(design); i++)
        add_broken(L, hl_design_holder_name(design, i), headroom,
                   hl_result_holder_headroom(bound->workspace, i, headroom, HL_HOLDER_LIMITS_MAX));
}

static void set_text(lua_State *L, bound_design *bound, const char *name, const char *text)
{
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    if (!diagnostics) luaL_error(L, "memory ran out; close other programs");
    if (hl_design_set(bound->design, bound->settings, name, text, NULL, diagnostics) != HL_OK)
        binding_raise(L, diagnostics);
    hl_diagnostics_destroy(diagnostics);
}

/* design:figures(settings, names) -> { name = number }, broken limits; or nil, reason */
static int design_figures(lua_State *L)
{
    bound_design *bound = luaL_checkudata(L, 1, BINDING_DESIGN);
    luaL_checktype(L, 2, LUA_TTABLE);
    luaL_checktype(L, 3, LUA_TTABLE);
    hl_design_defaults(bound->design, bound->settings);
    for (lua_pushnil(L); lua_next(L, 2); lua_pop(L, 1)) {
        if (lua_type(L, -2) != LUA_TSTRING || lua_type(L, -1) != LUA_TSTRING)
            return luaL_error(L, "settings are texts by name, such as { [\"mains.voltage\"] = \"115 V\" }");
        set_text(L, bound, lua_tostring(L, -2), lua_tostring(L, -1));
    }
    if (hl_solve(bound->workspace, bound->settings) != HL_OK ||
        hl_result_outcome(bound->workspace) != HL_SOLVED) {
        lua_pushnil(L);
        lua_pushstring(L, hl_result_reason(bound->workspace));
        return 2;
    }
    lua_newtable(L);
    for (lua_Integer i = 1; i <= (lua_Integer)lua_rawlen(L, 3); i++) {
        hl_probe figure;
        lua_rawgeti(L, 3, i);
        const char *name = luaL_checkstring(L, -1);
        if (!hl_probe_find(bound->design, name, &figure)) return no_figure(L, bound->design, name);
        push_figure(L, &figure, &(bound_point){bound->workspace, bound->settings});
        lua_rawset(L, -3);
    }
    push_broken(L, bound);
    return 2;
}

/* design:unit(setting) -> its unit, or nil */
static int design_unit(lua_State *L)
{
    const bound_design *bound = luaL_checkudata(L, 1, BINDING_DESIGN);
    size_t setting = hl_design_find_setting(bound->design, luaL_checkstring(L, 2), NULL);
    if (setting == SIZE_MAX) return 0;
    lua_pushstring(L, hl_design_setting(bound->design, setting)->dimension);
    return 1;
}

/* design:case_hottest() -> what case_hottest_c tells, or nil without a case */
static int design_case_hottest(lua_State *L)
{
    const bound_design *bound = luaL_checkudata(L, 1, BINDING_DESIGN);
    lua_pushstring(L, hl_design_case_hottest(bound->design));
    return 1;
}

void binding_open_point(lua_State *L)
{
    static const luaL_Reg methods[] = {{"figures", design_figures},
                                       {"unit", design_unit},
                                       {"case_hottest", design_case_hottest},
                                       {NULL, NULL}};
    luaL_newmetatable(L, BINDING_POINT);
    lua_pushcfunction(L, point_index);
    lua_setfield(L, -2, "__index");
    lua_pop(L, 1);
    luaL_getmetatable(L, BINDING_DESIGN);
    lua_getfield(L, -1, "__index");
    luaL_setfuncs(L, methods, 0);
    lua_pop(L, 2);
}
