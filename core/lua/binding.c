/* binding.c - the C half of `require "heatledger"`: check arguments, call the core, push the result. */
#include "lua/binding.h"

#include <string.h>

#include "lua/library.h"

static const char host_key = 'h', root_key = 'r', network_key = 'n', folder_key = 'd';

typedef struct bound_host {
    hl_host *host;
    bool shipped; /* the shipped models are loaded */
} bound_host;

static int host_gc(lua_State *L)
{
    bound_host *bound = lua_touserdata(L, 1);
    hl_host_destroy(bound->host);
    bound->host = NULL;
    return 0;
}

static bound_host *bound_of(lua_State *L)
{
    if (lua_rawgetp(L, LUA_REGISTRYINDEX, &host_key) == LUA_TUSERDATA) {
        bound_host *bound = lua_touserdata(L, -1);
        lua_pop(L, 1);
        return bound;
    }
    lua_pop(L, 1);
    bound_host *bound = lua_newuserdatauv(L, sizeof *bound, 0);
    memset(bound, 0, sizeof *bound);
    lua_createtable(L, 0, 1);
    lua_pushcfunction(L, host_gc);
    lua_setfield(L, -2, "__gc");
    lua_setmetatable(L, -2);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &host_key);
    bound->host = hl_host_create();
    if (!bound->host) luaL_error(L, "memory ran out while loading plugins");
    return bound;
}

/* Protected: diagnostics -> the errors' text */
static int push_errors(lua_State *L)
{
    const hl_diagnostics *diagnostics = lua_touserdata(L, 1);
    luaL_Buffer text;
    luaL_buffinit(L, &text);
    size_t said = 0;
    for (size_t i = 0; i < hl_diagnostics_count(diagnostics); i++) {
        if (hl_diagnostics_severity(diagnostics, i) != HL_ERROR) continue;
        if (said++) luaL_addchar(&text, '\n');
        luaL_addstring(&text, hl_diagnostics_text(diagnostics, i));
    }
    luaL_pushresult(&text);
    return 1;
}

int binding_raise(lua_State *L, hl_diagnostics *diagnostics)
{
    lua_pushcfunction(L, push_errors);
    lua_pushlightuserdata(L, diagnostics);
    (void)lua_pcall(L, 1, 1, 0); /* without memory its own message takes the place of the text */
    hl_diagnostics_destroy(diagnostics);
    return lua_error(L);
}

static hl_diagnostics *new_diagnostics(lua_State *L)
{
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    if (!diagnostics) luaL_error(L, "memory ran out; close other programs");
    return diagnostics;
}

const hl_host *binding_host(lua_State *L)
{
    bound_host *bound = bound_of(L);
    if (bound->shipped) return bound->host;
    hl_diagnostics *diagnostics = new_diagnostics(L);
    if (hl_host_load_shipped(bound->host, diagnostics) != HL_OK) binding_raise(L, diagnostics);
    hl_diagnostics_destroy(diagnostics);
    bound->shipped = true;
    return bound->host;
}

static bool is_file(const char *path)
{
    size_t n = strlen(path);
    return n > 3 && !strcmp(path + n - 3, ".so");
}

void binding_add_plugins(lua_State *L, const char *path)
{
    binding_host(L);
    bound_host *bound = bound_of(L);
    hl_diagnostics *diagnostics = new_diagnostics(L);
    hl_status status = is_file(path) ? hl_host_load(bound->host, path, diagnostics)
                                     : hl_host_load_folder(bound->host, path, diagnostics);
    if (status != HL_OK) binding_raise(L, diagnostics);
    hl_diagnostics_destroy(diagnostics);
}

void binding_set_root(lua_State *L, const char *folder)
{
    lua_pushstring(L, folder);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &root_key);
}

const char *binding_root(lua_State *L)
{
    lua_rawgetp(L, LUA_REGISTRYINDEX, &root_key);
    const char *folder = lua_tostring(L, -1); /* kept alive by the registry */
    lua_pop(L, 1);
    return folder;
}

void binding_set_folder(lua_State *L, const char *folder)
{
    lua_pushstring(L, folder);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &folder_key);
}

const char *binding_folder(lua_State *L)
{
    lua_rawgetp(L, LUA_REGISTRYINDEX, &folder_key);
    const char *folder = lua_tostring(L, -1); /* kept alive by the registry */
    lua_pop(L, 1);
    return folder;
}

hl_place binding_place(lua_State *L)
{
    lua_Debug at;
    for (int level = 1; lua_getstack(L, level, &at); level++) {
        lua_getinfo(L, "Sl", &at);
        if (at.currentline <= 0 || library_owns(L, &at)) continue;
        /* source begins with @ for a file; it lives as long as the running function */
        return (hl_place){at.source[0] == '@' || at.source[0] == '=' ? at.source + 1 : "script",
                          at.currentline, 0};
    }
    return (hl_place){0};
}

/* plugins(path): load a plugin file or folder that the user names. */
static int lua_plugins(lua_State *L)
{
    if (binding_root(L)) return luaL_error(L, "plugins are named on the command line, not in a script");
    binding_add_plugins(L, luaL_checkstring(L, 1));
    return 0;
}

void binding_set_network(lua_State *L, const char *kind)
{
    lua_pushstring(L, kind);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &network_key);
}

/* network() -> the kind that the command line asks for, or nil */
static int lua_network(lua_State *L)
{
    lua_rawgetp(L, LUA_REGISTRYINDEX, &network_key);
    return 1;
}

/* quantity(text, unit) -> number in SI */
static int lua_quantity(lua_State *L)
{
    size_t length;
    const char *text = luaL_checklstring(L, 1, &length), *unit = luaL_checkstring(L, 2);
    double value;
    char why[300];
    if (!hl_quantity_read(text, length, unit, &value, why, sizeof why)) return luaL_error(L, "%s", why);
    lua_pushnumber(L, value);
    return 1;
}

/* product(text, unit) -> array of numbers in SI, from "88 x 60 x 31 mm" */
static int lua_product(lua_State *L)
{
    size_t length;
    const char *text = luaL_checklstring(L, 1, &length), *unit = luaL_checkstring(L, 2);
    double values[8];
    char why[300];
    size_t n = hl_quantity_read_product(text, length, unit, values, 8, why, sizeof why);
    if (!n) return luaL_error(L, "%s", why);
    lua_createtable(L, (int)n, 0);
    for (size_t i = 0; i < n; i++) {
        lua_pushnumber(L, values[i]);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    return 1;
}

/* stage_words(model) -> { slot or parameter name = "slot" | "parameter" }, or nil for an unknown model */
static int lua_stage_words(lua_State *L)
{
    const hl_model *model = hl_host_find(binding_host(L), luaL_checkstring(L, 1));
    if (!model || !model->stage) return 0;
    lua_newtable(L);
    for (size_t i = 0; i < model->n_parameters; i++) {
        lua_pushliteral(L, "parameter");
        lua_setfield(L, -2, hl_model_parameter(model, i)->name);
    }
    for (size_t i = 0; i < model->stage->n_slots; i++) {
        lua_pushliteral(L, "slot");
        lua_setfield(L, -2, hl_stage_slot(model->stage, i)->name);
    }
    return 1;
}

int luaopen_heatledger_binding(lua_State *L)
{
    static const luaL_Reg functions[] = {
        {"plugins", lua_plugins}, {"quantity", lua_quantity},       {"product", lua_product},
        {"network", lua_network}, {"stage_words", lua_stage_words}, {NULL, NULL},
    };
    luaL_newlib(L, functions);
    binding_open_catalogue(L);
    binding_open_draft(L);
    binding_open_design(L);
    binding_open_warmup(L);
    binding_open_limits(L);
    binding_open_spread(L);
    binding_open_statistics(L);
    binding_open_fit(L);
    binding_open_description(L);
    binding_open_point(L);
    binding_open_script(L);
    binding_open_sweep(L);
    library_open(L);
    return 1;
}
