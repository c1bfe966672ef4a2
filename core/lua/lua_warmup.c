/* lua_warmup.c - warm-up seen from Lua: a profile's table in, a table of rows and peaks out. */
#include "lua/lua_warmup.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/limits.h"
#include "lua/json_tree.h"

static const double kelvin = 273.15;

/* --------------------------------------------------------------- document -- */

static json_t *rows_of(const hl_course *course)
{
    json_t *list = json_array();
    for (size_t r = 0; r < hl_course_rows(course); r++) {
        hl_course_row row = hl_course_at(course, r);
        json_t *temperatures = json_array();
        for (size_t i = 0; i < hl_course_nodes(course); i++)
            temperatures = tree_append(temperatures, tree_number(row.temperature[i] - kelvin));
        list = tree_append(list, json_pack("{s:f, s:o, s:o, s:o}", "time_s", row.time, "load",
                                           tree_number(row.load), "loss_w", tree_number(row.loss),
                                           "temperature_c", temperatures));
    }
    return list;
}

static json_t *peaks_of(const hl_design *design, const hl_course *course)
{
    json_t *list = json_array();
    for (size_t i = 0; i < hl_course_nodes(course); i++) {
        hl_course_peak peak = hl_course_peak_of(course, i);
        list =
            tree_append(list, json_pack("{s:s, s:o, s:o, s:o, s:o}", "node", hl_design_node_name(design, i),
                                        "temperature_c", tree_number(peak.temperature - kelvin), "time_s",
                                        tree_number(peak.time), "limit_c", tree_number(peak.limit - kelvin),
                                        "limit_reached_s", tree_number(peak.reached)));
    }
    return list;
}

static json_t *junctions_of(const hl_design *design, const hl_course *course)
{
    json_t *list = json_array();
    for (size_t i = 0; i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        if (!hl_part_commons(item->part)[HL_COMMON_TRANSIENT_IMPEDANCE].given) continue;
        list = tree_append(list, json_pack("{s:s, s:o}", "part", item->name, "temperature_c",
                                           tree_number(hl_course_junction_peak(course, i) - kelvin)));
    }
    return list;
}

static json_t *names_of(const hl_design *design)
{
    json_t *list = json_array();
    for (size_t i = 0; i < hl_design_nodes(design); i++)
        list = tree_append(list, json_string(hl_design_node_name(design, i)));
    return list;
}

static json_t *warnings_of(const hl_diagnostics *notes)
{
    json_t *list = json_array();
    for (size_t i = 0; notes && i < hl_diagnostics_count(notes); i++)
        list = tree_append(list, tree_text(hl_diagnostics_text(notes, i)));
    return list;
}

json_t *warmup_document(const hl_design *design, const hl_course *course, const char *name,
                        const hl_diagnostics *notes)
{
    static const char *const outcomes[] = {"solved", "infeasible", "runaway"};
    const hl_course_figures *f = hl_course_summary(course);
    json_t *root =
        json_pack("{s:s, s:s, s:s, s:s, s:o}", "schema", "heatledger.warmup/1", "design",
                  hl_design_name(design), "profile", name, "status", outcomes[hl_course_outcome(course)],
                  "reason", tree_text(hl_course_reason(course)));
    root =
        tree_put(root, "leader",
                 f->leader >= 0 ? json_string(hl_design_node_name(design, (size_t)f->leader)) : json_null());
    root = tree_put(root, "nodes", names_of(design));
    root = tree_put(root, "rows", rows_of(course));
    root = tree_put(root, "peaks", peaks_of(design, course));
    root = tree_put(root, "junction_peaks", junctions_of(design, course));
    root = tree_put(root, "energy",
                    json_pack("{s:o, s:o, s:o, s:o}", "put_in_j", tree_number(f->put_in), "handed_out_j",
                              tree_number(f->handed_out), "stored_j", tree_number(f->stored), "imbalance_j",
                              tree_number(f->put_in - f->handed_out - f->stored)));
    root = tree_put(root, "integrator_steps", json_integer(f->steps));
    root = tree_put(root, "circuit_solutions", json_integer(f->solutions));
    root = tree_put(root, "worst_correction", tree_number(f->worst_jump));
    return tree_put(root, "warnings", warnings_of(notes));
}

/* ---------------------------------------------------------------- profile -- */

static double field(lua_State *L, int table, const char *name, double fallback)
{
    lua_getfield(L, table, name);
    double value = lua_isnil(L, -1) ? fallback : luaL_checknumber(L, -1);
    lua_pop(L, 1);
    return value;
}

/* Texts of the table on top of the stack into settings[]; pops it. */
static void apply_texts(lua_State *L, const bound_design *bound, double settings[])
{
    if (!lua_istable(L, -1)) {
        lua_pop(L, 1);
        return;
    }
    hl_place place = binding_place(L);
    hl_diagnostics *said = hl_diagnostics_create(); /* held over no call that raises */
    if (!said) luaL_error(L, "memory ran out; close other programs");
    for (lua_pushnil(L); lua_next(L, -2); lua_pop(L, 1))
        if (lua_type(L, -2) == LUA_TSTRING && lua_type(L, -1) == LUA_TSTRING)
            hl_design_set(bound->design, settings, lua_tostring(L, -2), lua_tostring(L, -1), &place, said);
    if (hl_diagnostics_errors(said)) binding_raise(L, said);
    hl_diagnostics_destroy(said);
    lua_pop(L, 1);
}

static void set_load(const bound_design *bound, double settings[], double load)
{
    settings[hl_design_find_setting(bound->design, "load", NULL)] = load;
}

static void read_step(lua_State *L, const bound_design *bound, hl_profile_step *step, double settings[])
{
    int table = lua_gettop(L);
    memcpy(settings, bound->settings, hl_design_settings(bound->design) * sizeof *settings);
    lua_getfield(L, table, "settings");
    apply_texts(L, bound, settings);
    lua_getfield(L, table, "load");
    if (!lua_isnil(L, -1)) set_load(bound, settings, luaL_checknumber(L, -1));
    lua_pop(L, 1);
    lua_getfield(L, table, "straight");
    step->straight = lua_toboolean(L, -1);
    lua_pop(L, 1);
    step->settings = settings;
    step->duration = field(L, table, "duration", 0);
    step->load_end = field(L, table, "load_end", NAN);
    step->pulse_period = field(L, table, "pulse_period", 0);
    step->pulse_duty = field(L, table, "pulse_duty", 0);
    step->pulse_rest = field(L, table, "pulse_rest", 0);
}

/* Limits by node name over those of the design. */
static double *push_limits(lua_State *L, int table, const bound_design *bound)
{
    size_t n = hl_design_nodes(bound->design);
    double *limit = lua_newuserdatauv(L, (n + 1) * sizeof *limit, 0);
    for (size_t i = 0; i < n; i++) limit[i] = hl_design_node_limit(bound->design, i);
    lua_getfield(L, table, "limits");
    for (lua_pushnil(L); lua_istable(L, -2) && lua_next(L, -2); lua_pop(L, 1)) {
        const char *name = luaL_checkstring(L, -2);
        size_t at = 0;
        while (at < n && strcmp(hl_design_node_name(bound->design, at), name)) at++;
        if (at == n) luaL_error(L, "limit of '%s': no thermal node has this name; solve lists them", name);
        limit[at] = luaL_checknumber(L, -1);
    }
    lua_pop(L, 1);
    return limit;
}

typedef struct held_profile {
    hl_profile profile;
    hl_profile_step step[];
} held_profile;

const hl_profile *profile_push(lua_State *L, int index, bound_design *bound)
{
    int table = lua_absindex(L, index);
    luaL_checktype(L, table, LUA_TTABLE);
    luaL_checkstack(L, 12, "profile");
    size_t steps = lua_rawlen(L, table), n = hl_design_settings(bound->design) + 1;
    if (steps < 1 || steps > HL_PROFILE_STEPS_MAX)
        luaL_error(L, "a profile has 1 to %d steps", HL_PROFILE_STEPS_MAX);
    held_profile *held = lua_newuserdatauv(L, sizeof *held + steps * sizeof held->step[0], 3);
    int top = lua_gettop(L);
    double *settings = lua_newuserdatauv(L, steps * n * sizeof *settings, 0);
    lua_setiuservalue(L, top, 1);
    memset(held, 0, sizeof *held + steps * sizeof held->step[0]);
    held->profile.n_steps = steps;
    held->profile.step = held->step;
    held->profile.cycles = (size_t)fmax(field(L, table, "cycles", 1), 0);
    held->profile.every = field(L, table, "every", 0);
    for (size_t k = 0; k < steps; k++) {
        lua_rawgeti(L, table, (lua_Integer)k + 1);
        read_step(L, bound, &held->step[k], settings + k * n);
        lua_pop(L, 1);
    }
    held->profile.limit = push_limits(L, table, bound);
    lua_setiuservalue(L, top, 2);
    if (lua_getfield(L, table, "start") == LUA_TTABLE) {
        double *start = lua_newuserdatauv(L, n * sizeof *start, 0);
        memcpy(start, settings, n * sizeof *start); /* the first step's, changed as asked */
        lua_setiuservalue(L, top, 3);
        apply_texts(L, bound, start);
        held->profile.start = start;
    } else
        lua_pop(L, 1);
    return &held->profile;
}

/* ---------------------------------------------------------------- methods -- */

/* design:warm_up(profile) -> table in the schema heatledger.warmup/1 */
static int design_warm_up(lua_State *L)
{
    bound_design *bound = luaL_checkudata(L, 1, BINDING_DESIGN);
    luaL_checktype(L, 2, LUA_TTABLE);
    hl_design_defaults(bound->design, bound->settings);
    lua_getfield(L, 2, "name");
    const char *name = luaL_optstring(L, -1, "profile");
    const hl_profile *profile = profile_push(L, 2, bound);
    hl_diagnostics *said = hl_diagnostics_create();
    hl_course *course = NULL;
    if (!said) return luaL_error(L, "memory ran out; close other programs");
    if (hl_warm_up(bound->workspace, profile, &course, said) != HL_OK) return binding_raise(L, said);
    hl_diagnostics_destroy(said);
    json_t *document = warmup_document(bound->design, course, name, bound->notes);
    hl_course_destroy(course);
    return binding_push_document(L, document);
}

/* design:critical(setting, most) -> { border, value, gain, leader, leader_c, points } */
static int design_critical(lua_State *L)
{
    static const char *const borders[] = {"none", "fold", "infeasible", "before"};
    bound_design *bound = luaL_checkudata(L, 1, BINDING_DESIGN);
    const char *name = luaL_checkstring(L, 2);
    double most = luaL_checknumber(L, 3);
    size_t index = hl_design_find_setting(bound->design, name, NULL);
    hl_critical found;
    hl_design_defaults(bound->design, bound->settings);
    if (index == SIZE_MAX)
        return luaL_error(L, "no setting '%s'; `heatledger solve FILE --settings` lists them", name);
    hl_status status = hl_critical_setting(bound->workspace, bound->settings, index, most, &found);
    if (status != HL_OK) return luaL_error(L, "%s: %s", name, hl_status_text(status));
    lua_createtable(L, 0, 6);
    lua_pushstring(L, borders[found.border]);
    lua_setfield(L, -2, "border");
    lua_pushnumber(L, found.value);
    lua_setfield(L, -2, "value");
    lua_pushnumber(L, found.gain);
    lua_setfield(L, -2, "gain");
    lua_pushinteger(L, found.points);
    lua_setfield(L, -2, "points");
    if (found.leader < 0) return 1;
    lua_pushstring(L, hl_design_node_name(bound->design, (size_t)found.leader));
    lua_setfield(L, -2, "leader");
    lua_pushnumber(L, found.leader_hottest - kelvin);
    lua_setfield(L, -2, "leader_c");
    return 1;
}

/* design:keep_profiles(table): known by name to the command */
static int design_keep_profiles(lua_State *L)
{
    luaL_checkudata(L, 1, BINDING_DESIGN);
    luaL_checktype(L, 2, LUA_TTABLE);
    if (lua_getiuservalue(L, 1, 1) != LUA_TTABLE) return 0;
    lua_pushvalue(L, 2);
    lua_setfield(L, -2, "profiles");
    return 0;
}

void binding_open_warmup(lua_State *L)
{
    static const luaL_Reg methods[] = {{"warm_up", design_warm_up},
                                       {"critical", design_critical},
                                       {"keep_profiles", design_keep_profiles},
                                       {NULL, NULL}};
    luaL_getmetatable(L, BINDING_DESIGN);
    lua_getfield(L, -1, "__index");
    luaL_setfuncs(L, methods, 0);
    lua_pop(L, 2);
}
