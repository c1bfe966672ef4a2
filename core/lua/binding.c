/* binding.c - the C half of `require "heatledger"`: check arguments, call the core, push the result. */
#include "lua/binding.h"

#include <string.h>

#include "lua/library.h"

enum { NEAREST_MAX = 200 };

static const char host_key = 'h', root_key = 'r', network_key = 'n', folder_key = 'd', running_key = 's';

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

hl_status binding_load(hl_host *host, const char *path, hl_diagnostics *diagnostics)
{
    if (is_file(path)) return hl_host_load(host, path, diagnostics);
    size_t before = hl_host_models(host), said = hl_diagnostics_count(diagnostics);
    hl_status status = hl_host_load_folder(host, path, diagnostics);
    if (status != HL_OK || hl_host_models(host) > before) return status;
    hl_place place = {path, 0, 0};
    if (hl_diagnostics_count(diagnostics) > said)
        hl_diagnostics_add(diagnostics, HL_ERROR, &place, "no plugin could be loaded from there: %s",
                           hl_diagnostics_text(diagnostics, said));
    else
        hl_diagnostics_add(diagnostics, HL_ERROR, &place,
                           "no plugin (*.so) is in this folder; name the folder it was built in");
    return HL_NO_PLUGIN;
}

void binding_add_plugins(lua_State *L, const char *path)
{
    binding_host(L);
    bound_host *bound = bound_of(L);
    hl_diagnostics *diagnostics = new_diagnostics(L);
    hl_status status = binding_load(bound->host, path, diagnostics);
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

void binding_set_running(lua_State *L, const char *script)
{
    lua_pushstring(L, script);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &running_key);
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
    /* `return hl.sweep { ... }` leaves no line of the script on the stack: its name is left */
    lua_rawgetp(L, LUA_REGISTRYINDEX, &running_key);
    const char *running = lua_tostring(L, -1); /* kept alive by the registry */
    lua_pop(L, 1);
    return (hl_place){running, 0, 0};
}

/* Behind the position in a file of this library, "PATH/heatledger/FILE.lua:LINE: ", that a message of Lua
 * begins with; NULL: it begins with none. */
static const char *behind_position(const char *text)
{
    const char *end = strstr(text, ".lua:"), *folder = strstr(text, "heatledger/");
    if (!end || !folder || folder > end || memchr(text, '\n', (size_t)(end - text))) return NULL;
    const char *line = end + 5;
    size_t digits = strspn(line, "0123456789");
    return digits && !strncmp(line + digits, ": ", 2) ? line + digits + 2 : NULL;
}

static int push_where(lua_State *L)
{
    hl_place place = binding_place(L);
    if (place.file && place.line)
        lua_pushfstring(L, "%s:%d: ", place.file, place.line);
    else if (place.file)
        lua_pushfstring(L, "%s: ", place.file);
    else
        lua_pushliteral(L, "");
    return 1;
}

int binding_message(lua_State *L)
{
    const char *text = lua_type(L, 1) == LUA_TSTRING ? lua_tostring(L, 1) : NULL;
    const char *plain = text ? behind_position(text) : NULL;
    if (!plain) return 1;
    push_where(L);
    lua_pushstring(L, plain);
    lua_concat(L, 2);
    return 1;
}

static int unknown_key(lua_State *L, const char *what, const char *key, const char *const *words)
{
    const char *near = hl_nearest_word(key, words);
    luaL_Buffer text;
    luaL_buffinit(L, &text);
    for (size_t i = 0; words[i]; i++) {
        if (i) luaL_addstring(&text, ", ");
        luaL_addstring(&text, words[i]);
    }
    luaL_pushresult(&text);
    return luaL_error(L, "%s: '%s' means nothing here%s%s%s %s", what, key, near ? "; did you mean '" : "",
                      near ? near : "", near ? "'? Known:" : "; known:", lua_tostring(L, -1));
}

void binding_known(lua_State *L, int table, const char *what, const char *const *words)
{
    table = lua_absindex(L, table);
    for (lua_pushnil(L); lua_next(L, table); lua_pop(L, 1)) {
        if (lua_type(L, -2) != LUA_TSTRING) continue;
        const char *key = lua_tostring(L, -2);
        size_t i = 0;
        while (words[i] && strcmp(words[i], key) != 0) i++;
        if (!words[i]) unknown_key(L, what, key, words);
    }
}

/* nearest(word, array of words) -> the word that may have been meant, or nil */
static int lua_nearest(lua_State *L)
{
    const char *words[NEAREST_MAX + 1];
    const char *word = luaL_checkstring(L, 1);
    luaL_checktype(L, 2, LUA_TTABLE);
    luaL_checkstack(L, NEAREST_MAX + 4, "words");
    lua_Integer n = (lua_Integer)lua_rawlen(L, 2);
    if (n > NEAREST_MAX) n = NEAREST_MAX;
    for (lua_Integer i = 0; i < n; i++) { /* they stay on the stack while they are used */
        lua_rawgeti(L, 2, i + 1);
        words[i] = luaL_checkstring(L, -1);
    }
    words[n] = NULL;
    lua_pushstring(L, hl_nearest_word(word, words));
    return 1;
}

/* implausible(what was written, number, unit, low, high) -> one sentence when the number, SI, is outside */
static int lua_implausible(lua_State *L)
{
    const char *unit = luaL_checkstring(L, 3);
    double number = luaL_checknumber(L, 2);
    char printed[64], why[400];
    const char *text = lua_type(L, 1) == LUA_TSTRING ? lua_tostring(L, 1) : printed;
    hl_quantity_print(number, unit, 6, printed, sizeof printed);
    if (hl_quantity_plausible(text, strlen(text), number, unit, luaL_checknumber(L, 4),
                              luaL_checknumber(L, 5), why, sizeof why))
        return 0;
    lua_pushstring(L, why);
    return 1;
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
        {"network", lua_network}, {"stage_words", lua_stage_words}, {"where", push_where},
        {"nearest", lua_nearest}, {"implausible", lua_implausible}, {NULL, NULL},
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
