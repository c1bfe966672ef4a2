/* lua_design.c - finished designs, seen from Lua: settings in, result tables out. */
#include "heatledger/spread.h"
#include "lua/binding.h"
#include "lua/document.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bound_design *check_design(lua_State *L)
{
    return luaL_checkudata(L, 1, BINDING_DESIGN);
}

static int design_gc(lua_State *L)
{
    bound_design *bound = check_design(L);
    hl_workspace_destroy(bound->workspace);
    hl_design_destroy(bound->design);
    hl_diagnostics_destroy(bound->notes);
    free(bound->settings);
    free(bound->known);
    memset(bound, 0, sizeof *bound);
    return 0;
}

/* finish(draft) -> design; raises every problem of the description at once */
static int finish(lua_State *L)
{
    bound_draft *draft = luaL_checkudata(L, 1, BINDING_DRAFT);
    bound_design *bound = lua_newuserdatauv(L, sizeof *bound, 1);
    memset(bound, 0, sizeof *bound);
    luaL_setmetatable(L, BINDING_DESIGN);
    lua_getiuservalue(L, 1, 1); /* the parts stay alive with the design */
    lua_setiuservalue(L, -2, 1);
    hl_diagnostics *notes = draft->diagnostics;
    draft->diagnostics = hl_diagnostics_create();
    bound->notes = notes;
    /* statements were already wrong: say those before what follows from them */
    if (hl_diagnostics_errors(notes) == 0) {
        if (hl_draft_foresee(draft->draft) != HL_OK)
            hl_diagnostics_add(notes, HL_ERROR, NULL, "memory ran out; close other programs");
        else
            bound->design = hl_draft_finish(draft->draft, notes);
    }
    if (!bound->design) {
        bound->notes = NULL;
        return binding_raise(L, notes);
    }
    bound->settings = calloc(hl_design_settings(bound->design) + 1, sizeof *bound->settings);
    bound->known = calloc(hl_design_settings(bound->design) + 1, sizeof *bound->known);
    bound->workspace = hl_workspace_create(bound->design);
    if (!bound->settings || !bound->known || !bound->workspace || !draft->diagnostics)
        return luaL_error(L, "memory ran out; close other programs");
    hl_design_defaults(bound->design, bound->settings);
    return 1;
}

/* ----------------------------------------------------------------- results -- */

static void push_json(lua_State *L, const json_t *value)
{
    luaL_checkstack(L, 4, "result too deep");
    switch (json_typeof(value)) {
    case JSON_OBJECT: {
        const char *key;
        json_t *entry;
        lua_createtable(L, 0, (int)json_object_size(value));
        json_object_foreach((json_t *)value, key, entry)
        {
            push_json(L, entry);
            lua_setfield(L, -2, key);
        }
        break;
    }
    case JSON_ARRAY: {
        size_t index;
        json_t *entry;
        lua_createtable(L, (int)json_array_size(value), 0);
        json_array_foreach(value, index, entry)
        {
            push_json(L, entry);
            lua_rawseti(L, -2, (lua_Integer)index + 1);
        }
        break;
    }
    case JSON_STRING:
        lua_pushstring(L, json_string_value(value));
        break;
    case JSON_INTEGER:
        lua_pushinteger(L, json_integer_value(value));
        break;
    case JSON_REAL:
        lua_pushnumber(L, json_real_value(value));
        break;
    case JSON_TRUE:
        lua_pushboolean(L, 1);
        break;
    case JSON_FALSE:
        lua_pushboolean(L, 0);
        break;
    case JSON_NULL:
        lua_pushnil(L);
        break;
    }
}

static int push_json_protected(lua_State *L)
{
    push_json(L, lua_touserdata(L, 1));
    return 1;
}

/* Pushes what the document holds and lets it go; NULL: memory ran out. */
int binding_push_document(lua_State *L, json_t *document)
{
    if (!document) return luaL_error(L, "memory ran out; close other programs");
    lua_pushcfunction(L, push_json_protected);
    lua_pushlightuserdata(L, document);
    int failed = lua_pcall(L, 1, 1, 0);
    json_decref(document);
    return failed ? lua_error(L) : 1;
}

static void apply(lua_State *L, bound_design *bound, const char *name, int value)
{
    hl_place place = binding_place(L);
    const char *text = lua_tostring(L, value);
    hl_diagnostics *diagnostics = hl_diagnostics_create(); /* held over no call that raises */
    if (!diagnostics) luaL_error(L, "memory ran out; close other programs");
    if (hl_design_set(bound->design, bound->settings, name, text ? text : "", &place, diagnostics) != HL_OK)
        binding_raise(L, diagnostics);
    hl_diagnostics_destroy(diagnostics);
    bound->known[hl_design_find_setting(bound->design, name, NULL)] = true;
}

/* bands = "high": all values with a band at that end, before the settings beside it. */
static void apply_end(lua_State *L, bound_design *bound, int index)
{
    if (lua_getfield(L, index, "bands") != LUA_TNIL) {
        hl_place place = binding_place(L);
        const char *word = lua_tostring(L, -1);
        hl_diagnostics *diagnostics = hl_diagnostics_create();
        if (!diagnostics) luaL_error(L, "memory ran out; close other programs");
        if (hl_design_end(bound->design, word ? word : "", bound->settings, &place, diagnostics) != HL_OK)
            binding_raise(L, diagnostics);
        hl_diagnostics_destroy(diagnostics);
    }
    lua_pop(L, 1);
}

void binding_settle(lua_State *L, bound_design *bound, int index)
{
    hl_design_defaults(bound->design, bound->settings);
    memset(bound->known, 0, hl_design_settings(bound->design) * sizeof *bound->known);
    if (lua_isnoneornil(L, index)) return;
    luaL_checktype(L, index, LUA_TTABLE);
    apply_end(L, bound, index);
    for (lua_pushnil(L); lua_next(L, index); lua_pop(L, 1)) {
        if (lua_type(L, -2) != LUA_TSTRING)
            luaL_error(L, "settings are named: solve{ [\"mains.voltage\"] = \"115 V\" }");
        if (strcmp(lua_tostring(L, -2), "bands") == 0 || strcmp(lua_tostring(L, -2), "ways") == 0) continue;
        lua_pushvalue(L, -1); /* lua_tostring must not change the table's own value */
        apply(L, bound, lua_tostring(L, -3), -1);
        lua_pop(L, 1);
    }
}

/* `ways` beside the settings: is it asked for? */
static bool asks_for_ways(lua_State *L, int index)
{
    if (lua_isnoneornil(L, index)) return false;
    lua_getfield(L, index, "ways");
    bool asked = lua_toboolean(L, -1);
    lua_pop(L, 1);
    return asked;
}

/* design:solve{ [setting] = text, ways = true } -> result table as in the JSON schema; heat_paths only with
 * ways
 */
static int design_solve(lua_State *L)
{
    bound_design *bound = check_design(L);
    binding_settle(L, bound, 2);
    hl_status status = hl_solve(bound->workspace, bound->settings);
    if (status != HL_OK)
        return luaL_error(L, "%s: %s", hl_status_text(status), hl_result_reason(bound->workspace));
    json_t *document =
        document_of(bound->design, bound->workspace, bound->settings, asks_for_ways(L, 2), bound->notes);
    return binding_push_document(L, document);
}

/* design:point{ [setting] = text } -> the few figures that curves are drawn of: { status, reason, input,
 * output, loss, efficiency, stages = { name = loss in W } }; no ledger, so it costs little more than the
 * solution */
static int design_point(lua_State *L)
{
    static const char *const outcomes[] = {"solved", "infeasible", "runaway"};
    bound_design *bound = check_design(L);
    binding_settle(L, bound, 2);
    hl_status status = hl_solve(bound->workspace, bound->settings);
    if (status != HL_OK)
        return luaL_error(L, "%s: %s", hl_status_text(status), hl_result_reason(bound->workspace));
    lua_createtable(L, 0, 8);
    binding_put_text(L, "status", outcomes[hl_result_outcome(bound->workspace)]);
    binding_put_text(L, "reason", hl_result_reason(bound->workspace));
    if (hl_result_outcome(bound->workspace) != HL_SOLVED) return 1;
    const hl_power_figures *power = hl_result_power(bound->workspace);
    binding_put_number(L, "input", power->input);
    binding_put_number(L, "output", power->output);
    binding_put_number(L, "loss", power->loss);
    binding_put_number(L, "efficiency", power->efficiency);
    lua_newtable(L);
    for (size_t s = 0; s < hl_design_stages(bound->design); s++)
        binding_put_number(L, hl_design_stage_name(bound->design, s),
                           hl_result_stage_input(bound->workspace, s) -
                               hl_result_stage_output(bound->workspace, s));
    lua_setfield(L, -2, "stages");
    return 1;
}

/* design:values{ [setting] = text } -> { [setting] = number in SI, or a choice's word }, without solving */
static int design_values(lua_State *L)
{
    bound_design *bound = check_design(L);
    binding_settle(L, bound, 2);
    size_t n = hl_design_settings(bound->design);
    lua_createtable(L, 0, (int)n);
    for (size_t i = 0; i < n; i++) {
        const hl_parameter *parameter = hl_design_setting(bound->design, i);
        double value = bound->settings[i];
        if (isnan(value)) continue;
        if (parameter->kind == HL_CHOICE)
            lua_pushstring(L, parameter->choices[(size_t)value]);
        else
            lua_pushnumber(L, value);
        lua_setfield(L, -2, hl_design_setting_name(bound->design, i));
    }
    return 1;
}

/* design:ports() -> array of names */
static int design_ports(lua_State *L)
{
    bound_design *bound = check_design(L);
    size_t n = hl_design_ports(bound->design);
    lua_createtable(L, (int)n, 0);
    for (size_t i = 0; i < n; i++) {
        lua_pushstring(L, hl_design_port_name(bound->design, i));
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    return 1;
}

/* design:name() -> text */
static int design_name(lua_State *L)
{
    lua_pushstring(L, hl_design_name(check_design(L)->design));
    return 1;
}

/* design:settings() -> array of names */
static int design_settings(lua_State *L)
{
    bound_design *bound = check_design(L);
    size_t n = hl_design_settings(bound->design);
    lua_createtable(L, (int)n, 0);
    for (size_t i = 0; i < n; i++) {
        lua_pushstring(L, hl_design_setting_name(bound->design, i));
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    return 1;
}

void binding_open_design(lua_State *L)
{
    static const luaL_Reg methods[] = {
        {"solve", design_solve},
        {"values", design_values},
        {"settings", design_settings},
        {"ports", design_ports},
        {"name", design_name},
        {"point", design_point},
        {NULL, NULL},
    };
    luaL_newmetatable(L, BINDING_DESIGN);
    luaL_newlib(L, methods);
    lua_setfield(L, -2, "__index");
    lua_pushcfunction(L, design_gc);
    lua_setfield(L, -2, "__gc");
    lua_pop(L, 1);
    lua_pushcfunction(L, finish);
    lua_setfield(L, -2, "finish");
}
