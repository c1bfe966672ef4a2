/* lua_catalogue.c - part files and parts, seen from Lua. */
#include "lua/binding.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lua/library.h"
#include "lua/script_path.h"

typedef struct bound_catalogue {
    hl_catalogue *catalogue;
} bound_catalogue;

static bound_catalogue *check_catalogue(lua_State *L)
{
    return luaL_checkudata(L, 1, BINDING_CATALOGUE);
}

/* catalogue() -> an empty catalogue */
static int new_catalogue(lua_State *L)
{
    const hl_host *host = binding_host(L);
    bound_catalogue *bound = lua_newuserdatauv(L, sizeof *bound, 0);
    bound->catalogue = NULL;
    luaL_setmetatable(L, BINDING_CATALOGUE);
    bound->catalogue = hl_catalogue_create(host);
    if (!bound->catalogue) return luaL_error(L, "memory ran out; close other programs");
    return 1;
}

static int catalogue_gc(lua_State *L)
{
    bound_catalogue *bound = check_catalogue(L);
    hl_catalogue_destroy(bound->catalogue);
    bound->catalogue = NULL;
    return 0;
}

typedef hl_status read_path(hl_catalogue *catalogue, const char *path, hl_diagnostics *diagnostics);

static int read_by(lua_State *L, read_path *read)
{
    bound_catalogue *bound = check_catalogue(L);
    char full[PATH_MAX];
    script_path(L, "part file", luaL_checkstring(L, 2), full);
    hl_place here = binding_place(L);
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    if (!diagnostics) return luaL_error(L, "memory ran out; close other programs");
    hl_status status = read(bound->catalogue, full, diagnostics);
    if (status == HL_NO_FILE)
        hl_diagnostics_add(diagnostics, HL_ERROR, &here,
                           "names that file; a path counts from the folder of the script");
    if (status != HL_OK) return binding_raise(L, diagnostics);
    hl_diagnostics_destroy(diagnostics);
    return 0;
}

/* catalogue:read(path) -> read a part file; raises all its problems at once */
static int read_file(lua_State *L)
{
    return read_by(L, hl_catalogue_read_file);
}

/* catalogue:read_rules(path) -> read a file of estimate rules, for the part files read after it */
static int read_rules(lua_State *L)
{
    return read_by(L, hl_catalogue_read_rules);
}

/* catalogue:read_estimates() -> read the library's own estimate rules */
static int read_estimates(lua_State *L)
{
    bound_catalogue *bound = check_catalogue(L);
    const char *folder = library_folder(L);
    char path[PATH_MAX];
    if (!folder) return luaL_error(L, "the folder of the library is not known; load it by require");
    int n = snprintf(path, sizeof path, "%s/heatledger/estimates", folder);
    if (n < 0 || (size_t)n >= sizeof path) return luaL_error(L, "the library's path is too long");
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    if (!diagnostics) return luaL_error(L, "memory ran out; close other programs");
    if (hl_catalogue_read_rules_folder(bound->catalogue, path, diagnostics) != HL_OK)
        return binding_raise(L, diagnostics);
    hl_diagnostics_destroy(diagnostics);
    return 0;
}

/* catalogue:read_library("switches") -> read that file of the starter catalogue, wherever the library lies */
static int read_library(lua_State *L)
{
    bound_catalogue *bound = check_catalogue(L);
    const char *name = luaL_checkstring(L, 2), *folder = library_folder(L);
    size_t length = strspn(name, "abcdefghijklmnopqrstuvwxyz_");
    if (!folder || !length || name[length])
        return luaL_error(L, "no part of the library is named '%s'", name);
    char path[PATH_MAX];
    int n = snprintf(path, sizeof path, "%s/heatledger/catalogue/%s.yaml", folder, name);
    if (n < 0 || (size_t)n >= sizeof path) return luaL_error(L, "the path of '%s' is too long", name);
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    if (!diagnostics) return luaL_error(L, "memory ran out; close other programs");
    if (hl_catalogue_read_file(bound->catalogue, path, diagnostics) != HL_OK)
        return binding_raise(L, diagnostics);
    hl_diagnostics_destroy(diagnostics);
    return 0;
}

/* catalogue:read_text(name, text) */
static int read_text(lua_State *L)
{
    bound_catalogue *bound = check_catalogue(L);
    size_t length;
    const char *name = luaL_checkstring(L, 2), *text = luaL_checklstring(L, 3, &length);
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    if (!diagnostics) return luaL_error(L, "memory ran out; close other programs");
    if (hl_catalogue_read_text(bound->catalogue, name, text, length, diagnostics) != HL_OK)
        return binding_raise(L, diagnostics);
    hl_diagnostics_destroy(diagnostics);
    return 0;
}

static void push_part(lua_State *L, const hl_part *part)
{
    bound_part *bound = lua_newuserdatauv(L, sizeof *bound, 1);
    bound->part = part;
    lua_pushvalue(L, 1); /* keeps its catalogue alive */
    lua_setiuservalue(L, -2, 1);
    luaL_setmetatable(L, BINDING_PART);
}

/* catalogue:part(name) -> part, or nil and the nearest name */
static int find_part(lua_State *L)
{
    bound_catalogue *bound = check_catalogue(L);
    const char *name = luaL_checkstring(L, 2);
    const hl_part *part = hl_catalogue_find(bound->catalogue, name);
    if (part) {
        push_part(L, part);
        return 1;
    }
    lua_pushnil(L);
    lua_pushstring(L, hl_catalogue_nearest(bound->catalogue, name));
    return 2;
}

/* catalogue:names() -> array of part names */
static int part_names(lua_State *L)
{
    bound_catalogue *bound = check_catalogue(L);
    size_t n = hl_catalogue_parts(bound->catalogue);
    lua_createtable(L, (int)n, 0);
    for (size_t i = 0; i < n; i++) {
        lua_pushstring(L, hl_part_name(hl_catalogue_part(bound->catalogue, i)));
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    return 1;
}

static int part_text(lua_State *L)
{
    bound_part *bound = luaL_checkudata(L, 1, BINDING_PART);
    lua_pushfstring(L, "part %s (%s)", hl_part_name(bound->part), hl_part_model(bound->part)->name);
    return 1;
}

static int part_name(lua_State *L)
{
    bound_part *bound = luaL_checkudata(L, 1, BINDING_PART);
    lua_pushstring(L, hl_part_name(bound->part));
    return 1;
}

static const hl_part *check_part(lua_State *L)
{
    return ((bound_part *)luaL_checkudata(L, 1, BINDING_PART))->part;
}

static int part_model(lua_State *L)
{
    lua_pushstring(L, hl_part_model(check_part(L))->name);
    return 1;
}

static int part_family(lua_State *L)
{
    lua_pushstring(L, hl_family_name(hl_part_model(check_part(L))->device->family));
    return 1;
}

static int part_description(lua_State *L)
{
    lua_pushstring(L, hl_part_description(check_part(L)));
    return 1;
}

/* One entry of a list or curve: a number, a word, or { x, y }. */
static void push_entry(lua_State *L, const hl_parameter *p, const hl_curve *curve, size_t i)
{
    if (p->kind == HL_CHOICES) {
        lua_pushstring(L, p->choices[(size_t)curve->y[i]]);
        return;
    }
    if (p->kind == HL_LIST) {
        lua_pushnumber(L, curve->y[i]);
        return;
    }
    lua_createtable(L, 2, 0);
    lua_pushnumber(L, curve->x[i]);
    lua_rawseti(L, -2, 1);
    lua_pushnumber(L, curve->y[i]);
    lua_rawseti(L, -2, 2);
}

/* Set field p->name of the table on top; nothing when the value is not known. */
static void set_value(lua_State *L, const hl_parameter *p, const hl_value *value)
{
    if (!value->given) return;
    if (p->kind == HL_CHOICE) {
        lua_pushstring(L, p->choices[(size_t)value->number]);
    } else if (p->kind == HL_NUMBER) {
        lua_pushnumber(L, value->number);
    } else {
        lua_createtable(L, (int)value->curve.n, 0);
        for (size_t i = 0; i < value->curve.n; i++) {
            push_entry(L, p, &value->curve, i);
            lua_rawseti(L, -2, (lua_Integer)i + 1);
        }
    }
    lua_setfield(L, -2, p->name);
}

/* part:values() -> what is known of it by name, in SI: numbers, words, lists, curves as { x, y } rows */
static int part_values(lua_State *L)
{
    const hl_part *part = check_part(L);
    const hl_model *model = hl_part_model(part);
    lua_createtable(L, 0, (int)model->n_parameters);
    for (size_t i = 0; i < model->n_parameters; i++)
        set_value(L, hl_model_parameter(model, i), &hl_part_values(part)[i]);
    for (size_t i = 0; i < HL_COMMONS; i++) set_value(L, hl_common_parameter(i), &hl_part_commons(part)[i]);
    return 1;
}

void binding_open_catalogue(lua_State *L)
{
    static const luaL_Reg methods[] = {
        {"read", read_file},
        {"read_text", read_text},
        {"read_library", read_library},
        {"read_rules", read_rules},
        {"read_estimates", read_estimates},
        {"part", find_part},
        {"names", part_names},
        {NULL, NULL},
    };
    static const luaL_Reg of_part[] = {
        {"name", part_name},     {"model", part_model},
        {"family", part_family}, {"description", part_description},
        {"values", part_values}, {NULL, NULL},
    };
    luaL_newmetatable(L, BINDING_CATALOGUE);
    luaL_newlib(L, methods);
    lua_setfield(L, -2, "__index");
    lua_pushcfunction(L, catalogue_gc);
    lua_setfield(L, -2, "__gc");
    lua_pop(L, 1);

    luaL_newmetatable(L, BINDING_PART);
    luaL_newlib(L, of_part);
    lua_setfield(L, -2, "__index");
    lua_pushcfunction(L, part_text);
    lua_setfield(L, -2, "__tostring");
    lua_pop(L, 1);

    lua_pushcfunction(L, new_catalogue);
    lua_setfield(L, -2, "catalogue");
}
