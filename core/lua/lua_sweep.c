/* lua_sweep.c - plans of sweeps, seen from Lua: sweep.lua brings them into one plain form, this file hands
 * that to the core. */
#include "lua/sweep_plan.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "lua/lua_point.h"
#include "lua/lua_script.h"

static const char plan_key = 's';

typedef struct derive_call {
    const hl_workspace *workspace;
    const double *settings;
    size_t n;
    double *derived;
} derive_call;

static int call_derive(lua_State *L)
{
    derive_call *call = lua_touserdata(L, 1);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &plan_key);
    lua_getfield(L, -1, "derive");
    bound_point *point = point_push(L);
    *point = (bound_point){call->workspace, call->settings};
    lua_call(L, 1, (int)call->n);
    int first = lua_gettop(L) - (int)call->n + 1;
    for (size_t i = 0; i < call->n; i++) {
        int at = first + (int)i;
        if (!lua_isnil(L, at) && lua_type(L, at) != LUA_TNUMBER && lua_type(L, at) != LUA_TBOOLEAN)
            luaL_error(L, "derived figure %d is a %s; it must be a number or nil", (int)i + 1,
                       luaL_typename(L, at));
        call->derived[i] = lua_isnil(L, at)                  ? NAN
                           : lua_type(L, at) == LUA_TBOOLEAN ? lua_toboolean(L, at)
                                                             : lua_tonumber(L, at);
    }
    point->workspace = NULL;
    return 0;
}

bool sweep_plan_derive(lua_State *L, const hl_workspace *workspace, const double settings[], size_t n,
                       double derived[], char *why, size_t size)
{
    derive_call call = {workspace, settings, n, derived};
    lua_pushcfunction(L, call_derive);
    lua_pushlightuserdata(L, &call);
    if (lua_pcall(L, 1, 0, 0) == LUA_OK) return true;
    const char *text = lua_tostring(L, -1);
    snprintf(why, size, "%s", text ? text : "derive raised something that is no message");
    lua_pop(L, 1);
    return false;
}

/* ----------------------------------------------------------------- build -- */

typedef struct plan_call {
    const bound_design *bound;
    const char *script;
    hl_diagnostics *diagnostics;
    hl_sweep *sweep;
    bool bad;
} plan_call;

static const char *field_text(lua_State *L, int table, const char *name)
{
    lua_getfield(L, table, name);
    const char *text = lua_tostring(L, -1); /* stays in the table */
    lua_pop(L, 1);
    return text;
}

static lua_Integer length_of(lua_State *L, int table)
{
    return (lua_Integer)lua_rawlen(L, table);
}

static size_t find_setting(plan_call *c, const char *name)
{
    const char *near;
    size_t setting = hl_design_find_setting(c->bound->design, name, &near);
    if (setting == SIZE_MAX) {
        c->bad = true;
        hl_diagnostics_add(c->diagnostics, HL_ERROR, NULL, "no setting '%s'%s%s%s", name,
                           near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    }
    return setting;
}

/* The value at the top of the stack for a setting: text with a unit, or a number in SI; popped. */
static double take_value(lua_State *L, plan_call *c, size_t setting)
{
    const hl_parameter *parameter = hl_design_setting(c->bound->design, setting);
    hl_value value = {0};
    hl_status status = HL_BAD_INPUT;
    if (lua_type(L, -1) == LUA_TNUMBER)
        status = hl_value_from_number(parameter, lua_tonumber(L, -1), NULL, &value, c->diagnostics);
    else if (lua_type(L, -1) == LUA_TSTRING)
        status = hl_value_read(parameter, lua_tostring(L, -1), NULL, &value, c->diagnostics);
    else if (lua_isnil(L, -1)) {
        status = HL_OK; /* an entry that leaves the setting as it is */
        value.number = c->bound->settings[setting];
    } else
        hl_diagnostics_add(c->diagnostics, HL_ERROR, NULL, "%s: a %s is no value for it",
                           hl_design_setting_name(c->bound->design, setting), luaL_typename(L, -1));
    if (status != HL_OK) c->bad = true;
    lua_pop(L, 1);
    return value.number;
}

enum { ENTRIES_MOST = 10000000 };

/* Memory that Lua frees when anything raises. */
static void *scratch(lua_State *L, size_t count, size_t size)
{
    void *memory = lua_newuserdatauv(L, count * size + 1, 0);
    memset(memory, 0, count * size + 1);
    return memory;
}

/* The entries of axis `at`: table `entries` of tables of values in the order of the settings. */
static void read_entries(lua_State *L, plan_call *c, int at, const char *name, size_t n_settings,
                         const size_t settings[])
{
    lua_getfield(L, at, "entries");
    int entries = lua_gettop(L);
    lua_getfield(L, at, "labels");
    int labels = lua_gettop(L);
    lua_Integer n = length_of(L, entries);
    if (n < 0 || n > ENTRIES_MOST) luaL_error(L, "axis '%s' has too many entries", name);
    double *values = scratch(L, (size_t)n * n_settings, sizeof *values);
    const char **label = lua_istable(L, labels) ? scratch(L, (size_t)n, sizeof *label) : NULL;
    for (lua_Integer e = 0; e < n; e++) {
        lua_rawgeti(L, entries, e + 1);
        for (size_t k = 0; k < n_settings; k++) {
            lua_rawgeti(L, -1, (lua_Integer)k + 1);
            values[(size_t)e * n_settings + k] = take_value(L, c, settings[k]);
        }
        lua_pop(L, 1);
        if (!label) continue;
        lua_rawgeti(L, labels, e + 1);
        label[e] = lua_tostring(L, -1);
        lua_pop(L, 1);
    }
    if (!c->bad && hl_sweep_axis(c->sweep, name, n_settings, settings, (size_t)n, values, label,
                                 c->diagnostics) != HL_OK)
        c->bad = true;
}

static void read_axis(lua_State *L, plan_call *c, int at)
{
    const char *name = field_text(L, at, "name");
    size_t settings[64], n = 0;
    lua_getfield(L, at, "settings");
    int list = lua_gettop(L);
    for (lua_Integer k = 1; k <= length_of(L, list) && n < 64; k++) {
        lua_rawgeti(L, list, k);
        settings[n++] = find_setting(c, lua_tostring(L, -1));
        lua_pop(L, 1);
    }
    if (c->bad) return;
    lua_getfield(L, at, "low");
    if (lua_isnil(L, -1)) {
        read_entries(L, c, at, name, n, settings);
        return;
    }
    if (n == 0) {
        hl_diagnostics_add(c->diagnostics, HL_ERROR, NULL, "%s: a range needs one setting that it runs over",
                           name ? name : "an axis");
        c->bad = true;
        return;
    }
    double low = take_value(L, c, settings[0]);
    lua_getfield(L, at, "high");
    double high = take_value(L, c, settings[0]);
    if (!c->bad && hl_sweep_range(c->sweep, settings[0], low, high, c->diagnostics) != HL_OK) c->bad = true;
}

static void each(lua_State *L, plan_call *c, const char *field, void (*read)(lua_State *, plan_call *, int))
{
    lua_getfield(L, 2, field);
    int list = lua_gettop(L);
    for (lua_Integer i = 1; lua_istable(L, list) && i <= length_of(L, list); i++) {
        lua_rawgeti(L, list, i);
        read(L, c, lua_gettop(L));
        lua_settop(L, list);
    }
    lua_pop(L, 1);
}

static void read_figure(lua_State *L, plan_call *c, int at)
{
    if (hl_sweep_figure(c->sweep, luaL_checkstring(L, at), c->diagnostics) != HL_OK) c->bad = true;
}

static void read_derived(lua_State *L, plan_call *c, int at)
{
    if (hl_sweep_derived(c->sweep, luaL_checkstring(L, at), c->diagnostics) != HL_OK) c->bad = true;
}

static double field_number(lua_State *L, int table, const char *name, double fallback)
{
    lua_getfield(L, table, name);
    double value = lua_isnil(L, -1) ? fallback : luaL_checknumber(L, -1);
    lua_pop(L, 1);
    return value;
}

static void read_limit(lua_State *L, plan_call *c, int at)
{
    if (hl_sweep_limit(c->sweep, field_text(L, at, "figure"), field_number(L, at, "least", -INFINITY),
                       field_number(L, at, "most", INFINITY), c->diagnostics) != HL_OK)
        c->bad = true;
}

static void read_keep(lua_State *L, plan_call *c)
{
    static const char *const words[] = {"all", "best", "pareto", "failures", NULL};
    hl_aim aims[HL_AIMS_MAX];
    lua_getfield(L, 2, "keep");
    hl_keep keep = (hl_keep)luaL_checkoption(L, -1, "all", words);
    lua_getfield(L, 2, "aims");
    int list = lua_gettop(L);
    size_t n = 0;
    for (lua_Integer i = 1; i <= length_of(L, list); i++, n++) {
        if (n == HL_AIMS_MAX) luaL_error(L, "more than %d figures to keep rows by", HL_AIMS_MAX);
        lua_rawgeti(L, list, i);
        lua_getfield(L, -1, "highest");
        aims[n] = (hl_aim){field_text(L, lua_gettop(L) - 1, "figure"), lua_toboolean(L, -1)};
        lua_pop(L, 2);
    }
    double most = field_number(L, 2, "most", 0);
    if (hl_sweep_keep(c->sweep, keep, most >= 0 && most <= 1e9 ? (size_t)most : 0, n, aims, c->diagnostics) !=
        HL_OK)
        c->bad = true;
}

/* The plan's own text; a store that was begun without it would be no store of this plan. */
static void stamp_script(plan_call *c)
{
    char buffer[4096];
    FILE *file = fopen(c->script, "rb");
    for (size_t n; file && (n = fread(buffer, 1, sizeof buffer, file)) > 0;)
        hl_sweep_stamp(c->sweep, "script", buffer, n);
    bool good = file && !ferror(file);
    if (!good)
        hl_diagnostics_add(c->diagnostics, HL_ERROR, NULL, "%s: cannot be read again: %s", c->script,
                           strerror(errno));
    c->bad |= !good;
    if (file) fclose(file);
}

/* The texts of the scripts that the plan has read. */
static void stamp(lua_State *L, plan_call *c)
{
    size_t length;
    stamp_script(c);
    script_push_texts(L);
    for (lua_Integer i = 1; lua_istable(L, -1) && i <= length_of(L, lua_gettop(L)); i++) {
        lua_rawgeti(L, -1, i);
        const char *text = lua_tolstring(L, -1, &length);
        hl_sweep_stamp(c->sweep, "adapter", text ? text : "", text ? length : 0);
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
}

/* Protected: (plan_call) reads the description. */
static int build(lua_State *L)
{
    plan_call *c = lua_touserdata(L, 1);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &plan_key);
    each(L, c, "axes", read_axis);
    double points = field_number(L, 2, "sample", 0);
    if (points > 0)
        hl_sweep_sample(c->sweep, points < 1e15 ? (size_t)points : 0,
                        (uint64_t)field_number(L, 2, "seed", 1));
    each(L, c, "figures", read_figure);
    each(L, c, "derived", read_derived);
    each(L, c, "limits", read_limit);
    if (!c->bad) read_keep(L, c);
    stamp(L, c);
    if (!c->bad && hl_sweep_finish(c->sweep, c->diagnostics) != HL_OK) c->bad = true;
    return 0;
}

bool sweep_plan_stated(lua_State *L)
{
    bool stated = lua_rawgetp(L, LUA_REGISTRYINDEX, &plan_key) == LUA_TTABLE;
    lua_pop(L, 1);
    return stated;
}

hl_sweep *sweep_plan_build(lua_State *L, const bound_design *bound, const char *script,
                           hl_diagnostics *diagnostics)
{
    plan_call call = {.bound = bound, .script = script, .diagnostics = diagnostics};
    call.sweep = hl_sweep_create(bound->design, bound->settings);
    if (!call.sweep) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
        return NULL;
    }
    lua_pushcfunction(L, build);
    lua_pushlightuserdata(L, &call);
    if (lua_pcall(L, 1, 0, 0) != LUA_OK) {
        const char *text = lua_tostring(L, -1);
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "%s", text ? text : "the plan cannot be read");
        lua_pop(L, 1);
        call.bad = true;
    }
    if (!call.bad) return call.sweep;
    hl_sweep_destroy(call.sweep);
    return NULL;
}

/* -------------------------------------------------------------- functions -- */

/* state_plan(description): what hl.sweep made of the user's words */
static int state_plan(lua_State *L)
{
    luaL_checktype(L, 1, LUA_TTABLE);
    if (sweep_plan_stated(L)) return luaL_error(L, "a second sweep in one script; a script states one plan");
    lua_settop(L, 1);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &plan_key);
    return 0;
}

void binding_open_sweep(lua_State *L)
{
    lua_pushcfunction(L, state_plan);
    lua_setfield(L, -2, "state_plan");
}
