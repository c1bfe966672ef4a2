/* lua_statistics.c - the statistics of a spread on any Lua function. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/spread.h"
#include "lua/binding.h"

enum { INPUTS_MOST = 64, OUTPUTS_MOST = 32, SAMPLES_MOST = 2000000 };

static const char *const shapes[] = {"fixed",     "uniform",  "triangular",      "normal", "log_normal",
                                     "student_t", "arc_sine", "inexact_uniform", NULL};

/* A Lua function as a function of numbers: called with its inputs, returns its outputs. */
typedef struct called {
    lua_State *L;
    int function; /* stack index */
    size_t inputs, outputs;
    const hl_distribution *shape; /* unit numbers become values of these; NULL: handed on as they are */
    bool failed;                  /* the error's text is kept on the stack at `said` */
    int said;
} called;

/* Leaves the error's text at `said` and answers no more once it failed. */
static bool call(called *c, const double x[], double y[])
{
    lua_State *L = c->L;
    if (c->failed) return false;
    lua_pushvalue(L, c->function);
    for (size_t i = 0; i < c->inputs; i++) lua_pushnumber(L, x[i]);
    if (lua_pcall(L, (int)c->inputs, (int)c->outputs, 0) != LUA_OK) {
        lua_replace(L, c->said);
        c->failed = true;
        return false;
    }
    bool good = true;
    for (size_t k = 0; k < c->outputs; k++) {
        int is_number;
        y[k] = lua_tonumberx(L, (int)k - (int)c->outputs, &is_number);
        good &= is_number && isfinite(y[k]);
    }
    lua_pop(L, (int)c->outputs);
    return good;
}

static bool call_measurement(void *context, const double x[], double y[])
{
    return call(context, x, y);
}

static bool call_unit(void *context, size_t worker, const double p[], double y[])
{
    called *c = context;
    double x[INPUTS_MOST];
    (void)worker; /* there is one: a Lua state has one thread */
    for (size_t i = 0; i < c->inputs; i++)
        x[i] = c->shape ? hl_distribution_quantile(&c->shape[i], p[i]) : p[i];
    return call(c, x, y);
}

static int raise_kept(const called *c)
{
    lua_pushvalue(c->L, c->said);
    return lua_error(c->L);
}

/* Numbers of the array in field `name` into values[]; how many. */
static size_t numbers(lua_State *L, int table, const char *name, double values[], size_t room)
{
    size_t n = 0;
    if (lua_getfield(L, table, name) == LUA_TTABLE) {
        n = (size_t)lua_rawlen(L, -1);
        if (n > room) luaL_error(L, "%s: more than %d numbers", name, (int)room);
        for (size_t i = 0; i < n; i++) {
            lua_rawgeti(L, -1, (lua_Integer)i + 1);
            values[i] = luaL_checknumber(L, -1);
            lua_pop(L, 1);
        }
    }
    lua_pop(L, 1);
    return n;
}

/* An array of rows, n x n, in field `name`; false when there is none. */
static bool square(lua_State *L, int table, const char *name, size_t n, double values[])
{
    bool there = lua_getfield(L, table, name) == LUA_TTABLE;
    for (size_t i = 0; there && i < n; i++) {
        if (lua_rawgeti(L, -1, (lua_Integer)i + 1) != LUA_TTABLE)
            luaL_error(L, "%s: %d rows of %d numbers are wanted", name, (int)n, (int)n);
        for (size_t j = 0; j < n; j++) {
            lua_rawgeti(L, -1, (lua_Integer)j + 1);
            values[i * n + j] = luaL_checknumber(L, -1);
            lua_pop(L, 1);
        }
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
    return there;
}

static void push_numbers(lua_State *L, const double values[], size_t n)
{
    lua_createtable(L, (int)n, 0);
    for (size_t i = 0; i < n; i++) {
        lua_pushnumber(L, values[i]);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
}

static size_t count(lua_State *L, int table, const char *name, size_t otherwise, size_t most)
{
    lua_getfield(L, table, name);
    lua_Integer value = luaL_optinteger(L, -1, (lua_Integer)otherwise);
    lua_pop(L, 1);
    if (value < 1 || (size_t)value > most) luaL_error(L, "%s: 1 to %d", name, (int)most);
    return (size_t)value;
}

static hl_shape shape_of(lua_State *L, const char *word)
{
    for (int k = 0; word && shapes[k]; k++)
        if (!strcmp(word, shapes[k])) return (hl_shape)k;
    const char *near = word ? hl_nearest_word(word, shapes) : NULL;
    luaL_error(L, "'%s' is no shape%s%s", word ? word : "nil", near ? "; did you mean " : "",
               near ? near : "");
    return HL_SHAPE_FIXED;
}

/* inputs = { { "normal", 5, 0.1 }, { "uniform", 1, 2 } } */
static size_t read_inputs(lua_State *L, int table, hl_distribution inputs[])
{
    if (lua_getfield(L, table, "inputs") != LUA_TTABLE)
        luaL_error(L, "inputs = { { \"normal\", mean, deviation }, ... }");
    size_t n = (size_t)lua_rawlen(L, -1);
    if (n < 1 || n > INPUTS_MOST) luaL_error(L, "inputs: 1 to %d", INPUTS_MOST);
    for (size_t i = 0; i < n; i++) {
        if (lua_rawgeti(L, -1, (lua_Integer)i + 1) != LUA_TTABLE)
            luaL_error(L, "inputs: each is { shape, numbers }");
        lua_rawgeti(L, -1, 1);
        inputs[i] = (hl_distribution){.shape = shape_of(L, lua_tostring(L, -1))};
        lua_pop(L, 1);
        for (int k = 0; k < 3; k++) {
            lua_rawgeti(L, -1, k + 2);
            inputs[i].p[k] = luaL_optnumber(L, -1, 0);
            lua_pop(L, 1);
        }
        if (isnan(hl_distribution_quantile(&inputs[i], 0.5)))
            luaL_error(L, "input %d: these numbers make no %s distribution", (int)i + 1,
                       shapes[inputs[i].shape]);
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
    return n;
}

/* Stack: function at 1, options at 2, a place for an error's text at 3. */
static called prepare(lua_State *L, const char *what, const char *const *words)
{
    luaL_checktype(L, 1, LUA_TFUNCTION);
    luaL_checktype(L, 2, LUA_TTABLE);
    lua_settop(L, 2);
    binding_known(L, 2, what, words);
    lua_pushnil(L);
    return (called){.L = L, .function = 1, .outputs = count(L, 2, "outputs", 1, OUTPUTS_MOST), .said = 3};
}

/* combine(f, { x, u, freedom, correlations, outputs, second_order }) -> { y, u, freedom, correlations,
 * sensitivity } */
static int lua_combine(lua_State *L)
{
    static const char *const words[] = {"x", "u", "freedom", "correlations", "outputs", "second_order", NULL};
    called c = prepare(L, "combine", words);
    double x[INPUTS_MOST], u[INPUTS_MOST], freedom[INPUTS_MOST], y[OUTPUTS_MOST], uy[OUTPUTS_MOST],
        free_y[OUTPUTS_MOST], ry[OUTPUTS_MOST * OUTPUTS_MOST];
    double *r = lua_newuserdatauv(L, INPUTS_MOST * INPUTS_MOST * sizeof *r, 0);
    double *slope = lua_newuserdatauv(L, INPUTS_MOST * OUTPUTS_MOST * sizeof *slope, 0);
    c.inputs = numbers(L, 2, "x", x, INPUTS_MOST);
    if (numbers(L, 2, "u", u, INPUTS_MOST) != c.inputs)
        return luaL_error(L, "as many uncertainties u as estimates x are wanted");
    size_t n_freedom = numbers(L, 2, "freedom", freedom, INPUTS_MOST);
    if (n_freedom && n_freedom != c.inputs) return luaL_error(L, "freedom: one number for each input");
    bool related = square(L, 2, "correlations", c.inputs, r);
    lua_getfield(L, 2, "second_order");
    hl_combination job = {.inputs = c.inputs,
                          .outputs = c.outputs,
                          .x = x,
                          .u = u,
                          .freedom = n_freedom ? freedom : NULL,
                          .r = related ? r : NULL,
                          .second_order = lua_toboolean(L, -1),
                          .f = call_measurement,
                          .context = &c};
    lua_pop(L, 1);
    hl_combined out = {.y = y, .u = uy, .freedom = free_y, .r = ry, .sensitivity = slope};
    hl_status status = hl_combine(&job, &out);
    if (c.failed) return raise_kept(&c);
    if (status != HL_OK) return luaL_error(L, "%s", hl_status_text(status));
    lua_createtable(L, 0, 5);
    push_numbers(L, y, c.outputs);
    lua_setfield(L, -2, "y");
    push_numbers(L, uy, c.outputs);
    lua_setfield(L, -2, "u");
    push_numbers(L, free_y, c.outputs);
    lua_setfield(L, -2, "freedom");
    lua_createtable(L, (int)c.outputs, 0);
    lua_createtable(L, (int)c.outputs, 0);
    for (size_t k = 0; k < c.outputs; k++) {
        push_numbers(L, &ry[k * c.outputs], c.outputs);
        lua_rawseti(L, -3, (lua_Integer)k + 1);
        push_numbers(L, &slope[k * c.inputs], c.inputs);
        lua_rawseti(L, -2, (lua_Integer)k + 1);
    }
    lua_setfield(L, -3, "sensitivity");
    lua_setfield(L, -2, "correlations");
    return 1;
}

static uint64_t seed_of(lua_State *L)
{
    lua_getfield(L, 2, "seed");
    uint64_t seed = (uint64_t)luaL_optinteger(L, -1, 1);
    lua_pop(L, 1);
    return seed;
}

/* Answers of the function over the sample p, in the order of the points; NaN where it has none. */
static void evaluate(called *c, size_t samples, const double p[], double values[])
{
    double y[OUTPUTS_MOST];
    for (size_t s = 0; s < samples && !c->failed; s++)
        values[s] = call_unit(c, 0, &p[s * c->inputs], y) ? y[0] : NAN;
}

/* sample(f, { inputs, samples, seed, correlations, coverage }) -> { mean, deviation, solved, low, high,
 * shortest_low, shortest_high, quantiles } of its first answer */
static int lua_sample(lua_State *L)
{
    static const char *const words[] = {"inputs",   "samples",   "seed",    "correlations",
                                        "coverage", "quantiles", "outputs", NULL};
    called c = prepare(L, "sample", words);
    hl_distribution inputs[INPUTS_MOST];
    double levels[OUTPUTS_MOST], found[OUTPUTS_MOST];
    c.inputs = read_inputs(L, 2, inputs);
    c.shape = inputs;
    size_t n = count(L, 2, "samples", 10000, SAMPLES_MOST),
           n_levels = numbers(L, 2, "quantiles", levels, OUTPUTS_MOST);
    lua_getfield(L, 2, "coverage");
    double coverage = luaL_optnumber(L, -1, 0.95), low, high;
    lua_pop(L, 1);
    double *p = lua_newuserdatauv(L, n * c.inputs * sizeof *p, 0),
           *y = lua_newuserdatauv(L, n * sizeof *y, 0);
    double *r = lua_newuserdatauv(L, c.inputs * c.inputs * sizeof *r, 0);
    hl_status status = hl_latin_hypercube(seed_of(L), n, c.inputs, p);
    if (status == HL_OK && square(L, 2, "correlations", c.inputs, r))
        status = hl_sample_correlate(n, c.inputs, r, p);
    if (status == HL_BAD_INPUT)
        return luaL_error(L, "correlations: not a correlation matrix, or too few samples");
    if (status != HL_OK) return luaL_error(L, "%s", hl_status_text(status));
    evaluate(&c, n, p, y);
    if (c.failed) return raise_kept(&c);
    size_t good = hl_sort(n, y);
    lua_createtable(L, 0, 8);
    lua_pushinteger(L, (lua_Integer)good);
    lua_setfield(L, -2, "solved");
    lua_pushnumber(L, hl_mean(good, y));
    lua_setfield(L, -2, "mean");
    lua_pushnumber(L, hl_deviation(good, y));
    lua_setfield(L, -2, "deviation");
    hl_interval_symmetric(good, y, coverage, &low, &high);
    lua_pushnumber(L, low);
    lua_setfield(L, -2, "low");
    lua_pushnumber(L, high);
    lua_setfield(L, -2, "high");
    hl_interval_shortest(good, y, coverage, &low, &high);
    lua_pushnumber(L, low);
    lua_setfield(L, -2, "shortest_low");
    lua_pushnumber(L, high);
    lua_setfield(L, -2, "shortest_high");
    for (size_t k = 0; k < n_levels; k++) found[k] = hl_quantile(good, y, levels[k]);
    push_numbers(L, found, n_levels);
    lua_setfield(L, -2, "quantiles");
    return 1;
}

/* The pool runs one worker in a thread of its own while this one waits, so the state is used by one at a
 * time. */
/* indices(f, { inputs, base, seed }) -> { first, total, noise } of its first answer */
static int lua_indices(lua_State *L)
{
    static const char *const words[] = {"inputs", "base", "seed", "outputs", NULL};
    called c = prepare(L, "indices", words);
    hl_distribution inputs[INPUTS_MOST];
    double first[INPUTS_MOST], total[INPUTS_MOST], noise[INPUTS_MOST];
    c.inputs = read_inputs(L, 2, inputs);
    c.shape = inputs;
    c.outputs = 1;
    hl_indices_job job = {.base = count(L, 2, "base", 1024, SAMPLES_MOST / 8),
                          .unknowns = c.inputs,
                          .outputs = 1,
                          .seed = seed_of(L),
                          .workers = 1,
                          .model = call_unit,
                          .context = &c};
    hl_status status = hl_indices(&job, first, total, noise);
    if (c.failed) return raise_kept(&c);
    if (status != HL_OK) return luaL_error(L, "%s", hl_status_text(status));
    lua_createtable(L, 0, 3);
    push_numbers(L, first, c.inputs);
    lua_setfield(L, -2, "first");
    push_numbers(L, total, c.inputs);
    lua_setfield(L, -2, "total");
    push_numbers(L, noise, c.inputs);
    lua_setfield(L, -2, "noise");
    return 1;
}

/* student_quantile(probability, freedom) */
static int lua_student_quantile(lua_State *L)
{
    lua_pushnumber(L, hl_student_quantile(luaL_checknumber(L, 1), luaL_optnumber(L, 2, HUGE_VAL)));
    return 1;
}

void binding_open_statistics(lua_State *L)
{
    static const luaL_Reg functions[] = {
        {"combine", lua_combine},
        {"sample", lua_sample},
        {"indices", lua_indices},
        {"student_quantile", lua_student_quantile},
        {NULL, NULL},
    };
    luaL_newlib(L, functions);
    lua_setfield(L, -2, "statistics");
}
