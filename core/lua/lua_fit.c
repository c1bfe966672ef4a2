/* lua_fit.c - fits, from Lua and as a document. */
#include "lua/lua_fit.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lua/binding.h"
#include "lua/json_tree.h"
#include "lua/script_path.h"

static const double kelvin = 273.15;

enum { VALUES_MOST = 32, READINGS_MOST = 1024 };

static double shift_of(const char *unit)
{
    return strcmp(unit, "degC") ? 0 : kelvin;
}

static json_t *values_of(const hl_bench *bench, const hl_fit_result *result)
{
    json_t *list = json_array();
    for (size_t k = 0; k < hl_fit_values(result); k++) {
        const hl_fit_estimate *e = hl_fit_estimate_of(result, k);
        const hl_fit_value *v = hl_bench_value(bench, k);
        const char *unit = hl_bench_value_unit(bench, k);
        list = tree_append(list, json_pack("{s:s, s:s, s:o, s:o, s:o, s:b, s:b, s:b}", "value", v->name,
                                           "unit", unit, "start", tree_number(v->start - shift_of(unit)),
                                           "estimate", tree_number(e->value - shift_of(unit)),
                                           "standard_error", tree_number(e->u), "at_bound", e->at_bound,
                                           "at_edge", e->at_edge, "told", e->told));
    }
    return list;
}

static json_t *correlations_of(const hl_fit_result *result)
{
    json_t *rows = json_array();
    for (size_t a = 0; a < hl_fit_values(result); a++) {
        json_t *row = json_array();
        for (size_t b = 0; b < hl_fit_values(result); b++)
            row = tree_append(row, tree_number(hl_fit_correlation(result, a, b)));
        rows = tree_append(rows, row);
    }
    return rows;
}

static json_t *readings_of(const hl_bench *bench, const hl_fit_result *result)
{
    json_t *list = json_array();
    for (size_t i = 0; i < hl_fit_readings(result); i++) {
        const hl_fit_residual *r = hl_fit_residual_of(result, i);
        const char *unit;
        size_t point;
        const hl_fit_reading *reading = hl_bench_reading(bench, i, &unit, &point, NULL);
        list = tree_append(list, json_pack("{s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:b, s:b}", "point",
                                           hl_bench_point_name(bench, point), "of", reading->name, "unit",
                                           unit, "read", tree_number(reading->value - shift_of(unit)),
                                           "uncertainty", tree_number(reading->u), "predicted",
                                           tree_number(r->predicted - shift_of(unit)), "normalised",
                                           tree_number(r->normalised), "deleted", tree_number(r->deleted),
                                           "disagrees", r->disagrees, "unchecked", r->alone));
    }
    return list;
}

static json_t *blinds_of(const hl_bench *bench, const hl_fit_result *result)
{
    json_t *list = json_array();
    for (size_t i = 0; i < hl_fit_blinds(result); i++) {
        const hl_fit_blind *blind = hl_fit_blind_of(result, i);
        json_t *names = json_array();
        for (size_t k = 0; k < blind->n; k++)
            names = tree_append(names, json_string(hl_bench_value(bench, blind->value[k])->name));
        list =
            tree_append(list, json_pack("{s:o, s:o}", "values", names, "spread", tree_number(blind->spread)));
    }
    return list;
}

json_t *fit_document(const hl_design *design, const hl_bench *bench, const hl_fit_result *result)
{
    double freedom, chi = hl_fit_chi_square(result, &freedom);
    return json_pack("{s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o}", "schema", "heatledger.fit/1", "design",
                     hl_design_name(design), "values", values_of(bench, result), "correlations",
                     correlations_of(result), "readings", readings_of(bench, result), "not_told",
                     blinds_of(bench, result), "sum_of_squares", tree_number(chi), "degrees_of_freedom",
                     tree_number(freedom));
}

/* fit(design, file, overlay or nil) -> table as in heatledger.fit/1.  The file lies below the script's
 * folder. */
static int lua_fit(lua_State *L)
{
    bound_design *bound = luaL_checkudata(L, 1, BINDING_DESIGN);
    char path[PATH_MAX];
    script_path(L, "bench file", luaL_checkstring(L, 2), path);
    hl_diagnostics *said = hl_diagnostics_create();
    if (!said) return luaL_error(L, "memory ran out; close other programs");
    hl_fit_result *result = NULL;
    hl_bench *bench = hl_bench_read_file(bound->design, path, said);
    json_t *document = NULL;
    if (bench && hl_bench_fit(bench, NULL, &result, said) == HL_OK)
        document = fit_document(bound->design, bench, result);
    hl_fit_destroy(result);
    hl_bench_destroy(bench);
    if (!document) return binding_raise(L, said);
    hl_diagnostics_destroy(said);
    return binding_push_document(L, document);
}

/* ---------------------------------------------- least squares of any function -- */

typedef struct called {
    lua_State *L;
    size_t values, readings;
    bool failed;
} called;

/* f(value, ...) returns an array of what the readings would be.  Function at 1, the error's text kept at 3.
 */
static bool call(void *context, const double values[], double predicted[])
{
    called *c = context;
    lua_State *L = c->L;
    if (c->failed) return false;
    lua_pushvalue(L, 1);
    for (size_t k = 0; k < c->values; k++) lua_pushnumber(L, values[k]);
    if (lua_pcall(L, (int)c->values, 1, 0) != LUA_OK) {
        lua_replace(L, 3);
        c->failed = true;
        return false;
    }
    bool good = lua_istable(L, -1);
    for (size_t i = 0; good && i < c->readings; i++) {
        int is_number;
        lua_rawgeti(L, -1, (lua_Integer)i + 1);
        predicted[i] = lua_tonumberx(L, -1, &is_number);
        good = is_number != 0;
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
    return good;
}

static double field(lua_State *L, const char *name, double otherwise)
{
    lua_getfield(L, -1, name);
    double value = luaL_optnumber(L, -1, otherwise);
    lua_pop(L, 1);
    return value;
}

static size_t length_of(lua_State *L, const char *name, size_t most)
{
    if (lua_getfield(L, 2, name) != LUA_TTABLE) luaL_error(L, "%s: an array of tables is wanted", name);
    size_t n = (size_t)lua_rawlen(L, -1);
    if (n < 1 || n > most) luaL_error(L, "%s: 1 to %d", name, (int)most);
    return n;
}

static void push_fit(lua_State *L, const hl_fit_result *result)
{
    double freedom, chi = hl_fit_chi_square(result, &freedom);
    lua_createtable(L, 0, 5);
    lua_pushnumber(L, chi);
    lua_setfield(L, -2, "sum_of_squares");
    lua_pushnumber(L, freedom);
    lua_setfield(L, -2, "degrees_of_freedom");
    lua_createtable(L, (int)hl_fit_values(result), 0);
    lua_createtable(L, (int)hl_fit_values(result), 0);
    for (size_t a = 0; a < hl_fit_values(result); a++) {
        const hl_fit_estimate *e = hl_fit_estimate_of(result, a);
        lua_createtable(L, 0, 2);
        lua_pushnumber(L, e->value);
        lua_setfield(L, -2, "estimate");
        lua_pushnumber(L, e->u);
        lua_setfield(L, -2, "standard_error");
        lua_rawseti(L, -3, (lua_Integer)a + 1);
        lua_createtable(L, (int)hl_fit_values(result), 0);
        for (size_t b = 0; b < hl_fit_values(result); b++) {
            lua_pushnumber(L, hl_fit_correlation(result, a, b));
            lua_rawseti(L, -2, (lua_Integer)b + 1);
        }
        lua_rawseti(L, -2, (lua_Integer)a + 1);
    }
    lua_setfield(L, -3, "correlations");
    lua_setfield(L, -2, "values");
    lua_createtable(L, (int)hl_fit_readings(result), 0);
    for (size_t i = 0; i < hl_fit_readings(result); i++) {
        const hl_fit_residual *r = hl_fit_residual_of(result, i);
        lua_createtable(L, 0, 3);
        lua_pushnumber(L, r->predicted);
        lua_setfield(L, -2, "predicted");
        lua_pushnumber(L, r->deleted);
        lua_setfield(L, -2, "deleted");
        lua_pushboolean(L, r->disagrees);
        lua_setfield(L, -2, "disagrees");
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, "readings");
}

/* least_squares(f, { values = { { start, low, high, prior, prior_u } }, readings = { { value, u } } }) */
static int lua_least_squares(lua_State *L)
{
    static const char *const words[] = {"values", "readings", NULL},
                             *const value_words[] = {"start", "low", "high", "prior", "prior_u", NULL},
                             *const reading_words[] = {"value", "u", NULL};
    hl_fit_value values[VALUES_MOST];
    luaL_checktype(L, 1, LUA_TFUNCTION);
    luaL_checktype(L, 2, LUA_TTABLE);
    lua_settop(L, 2);
    lua_pushnil(L);
    binding_known(L, 2, "least_squares", words);
    size_t n = length_of(L, "values", VALUES_MOST);
    for (size_t k = 0; k < n; k++) {
        if (lua_rawgeti(L, -1, (lua_Integer)k + 1) != LUA_TTABLE)
            return luaL_error(L, "values: { start=, low=, high= }");
        binding_known(L, -1, "values", value_words);
        values[k] = (hl_fit_value){.name = "",
                                   .start = field(L, "start", NAN),
                                   .low = field(L, "low", NAN),
                                   .high = field(L, "high", NAN),
                                   .prior = field(L, "prior", 0),
                                   .prior_u = field(L, "prior_u", 0)};
        lua_pop(L, 1);
    }
    size_t m = length_of(L, "readings", READINGS_MOST);
    hl_fit_reading *readings = lua_newuserdatauv(L, m * sizeof *readings, 0);
    lua_insert(L, -2);
    for (size_t i = 0; i < m; i++) {
        if (lua_rawgeti(L, -1, (lua_Integer)i + 1) != LUA_TTABLE)
            return luaL_error(L, "readings: { value=, u= }");
        binding_known(L, -1, "readings", reading_words);
        readings[i] = (hl_fit_reading){"", field(L, "value", NAN), field(L, "u", NAN)};
        lua_pop(L, 1);
    }
    called c = {L, n, m, false};
    hl_fit_problem problem = {
        .n_values = n, .n_readings = m, .values = values, .readings = readings, .model = call, .context = &c};
    hl_fit_result *result;
    hl_status status = hl_fit(&problem, &result);
    if (c.failed) {
        hl_fit_destroy(result);
        lua_pushvalue(L, 3);
        return lua_error(L);
    }
    if (status != HL_OK) return luaL_error(L, "no fit: %s", hl_status_text(status));
    push_fit(L, result);
    hl_fit_destroy(result);
    return 1;
}

/* After binding_open_statistics: least_squares stands among the statistics. */
void binding_open_fit(lua_State *L)
{
    lua_pushcfunction(L, lua_fit);
    lua_setfield(L, -2, "fit");
    lua_getfield(L, -1, "statistics");
    lua_pushcfunction(L, lua_least_squares);
    lua_setfield(L, -2, "least_squares");
    lua_pop(L, 1);
}
