/* rivals.c - what the closed forms are measured against. */
#include "rivals.h"

#include <lauxlib.h>
#include <lua.h>
#include <lualib.h>
#include <math.h>
#include <stdio.h>
#include <time.h>

#include "boost_course.h"
#include "heatledger/heatledger.h"
#include "inductor_course.h"
#include "llc_time_domain.h"

double bench_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* The resonant converter of the desk charger near full load. */
double rival_llc_seconds(void)
{
    const llc_bench_circuit circuit = {.input = 392,
                                       .series = 58e-6,
                                       .magnetizing = 342e-6,
                                       .capacitance = 30e-9,
                                       .ratio = 8.25,
                                       .primary_resistance = 0.45,
                                       .secondary_resistance = 0.012,
                                       .output = 24,
                                       .frequency = 118e3,
                                       .dead_time = 220e-9,
                                       .node_capacitance = 200e-12,
                                       .body_drop = 0.9};
    llc_bench_figures figures;
    double began = bench_now();
    bool good = llc_time_domain(&circuit, &figures);
    return good ? bench_now() - began : -1;
}

/* A buck from 24 V with dead times and an output filter. */
static double buck_seconds(double inductance, double capacitance, double load, double voltage)
{
    const double period = 1 / 360e3, dead = 20e-9;
    const course_path on = {24, 0.03, true, 0}, body = {-0.8, 0.02, true, 2}, back = {24.8, 0.03, true, 3},
                      off = {0, 0.03, true, 1};
    const course_circuit circuit = {.inductance = inductance,
                                    .capacitance = capacitance,
                                    .esr = 10e-3,
                                    .load = load,
                                    .voltage = voltage,
                                    .states = 4,
                                    .state = {{on, on, true, 0, 1},
                                              {body, back, false, dead, 0},
                                              {off, back, true, period - 2 * dead, -1},
                                              {body, back, false, dead, 0}}};
    course_result result;
    double began = bench_now();
    course_settle(&circuit, (voltage + 0.03 * load) / 24 * period, 0.9 * load, voltage, &result);
    return bench_now() - began;
}

double rival_buck_seconds(void)
{
    return buck_seconds(4.7e-6, 300e-6, 5, 20);
}

double rival_other_bucks_seconds(void)
{
    return buck_seconds(10e-6, 200e-6, 2.25, 20) + buck_seconds(10e-6, 300e-6, 2.4, 5);
}

/* The boost stage on 230 V, 50 Hz: half a line of switching cycles in boundary conduction, one after another,
 * and the on-time by secant until 170 W reach the bus. */
double rival_boost_seconds(double *cycles, unsigned *half_lines)
{
    const double wanted = 170, pi = 3.14159265358979324;
    const boost_course course = {.inductance = 270e-6,
                                 .rise_resistance = 0.40,
                                 .fall_resistance = 0.30,
                                 .drop = 0.95,
                                 .line_drop = 1.6,
                                 .crest = 325.3,
                                 .omega = 2 * pi * 50,
                                 .output = 392};
    double on = 2 * course.inductance * wanted / (230.0 * 230.0), last_on = 0, last_off = -wanted;
    double began = bench_now();
    for (unsigned k = 1; k <= 20; k++) {
        boost_course_totals totals;
        boost_course_boundary(&course, on, 150e-9, &totals);
        double off = totals.off_charge * course.output / totals.time - wanted;
        *cycles = totals.cycles;
        *half_lines = k;
        if (fabs(off) <= 1e-9 * wanted) return bench_now() - began;
        double next = on - off * (on - last_on) / (off - last_off);
        last_on = on;
        last_off = off;
        on = next;
    }
    return -1;
}

/* ------------------------------------------------------------------- Lua -- */

enum { CALLS = 200000 };

static double fourier_once(double rise)
{
    const hl_segment triangle[2] = {{.duration = 2e-6, .offset = 1, .slope = rise},
                                    {.duration = 1e-6, .offset = 1 + 2e-6 * rise, .slope = -2 * rise}};
    const hl_wave wave = {2, triangle};
    double cosine[12], sine[12];
    hl_wave_fourier(&wave, 12, cosine, sine);
    return cosine[0] + sine[11];
}

static double mean_square_once(double level)
{
    const hl_segment ring = {
        .duration = 3e-6, .offset = level, .decay = 2e4, .omega = 1.1e6, .cosine = 1, .sine = 2};
    const hl_wave wave = {1, &ring};
    return hl_wave_mean_square(&wave);
}

static double plate_once(double surface)
{
    return hl_natural_coefficient(HL_VERTICAL, surface, 298.15, 101325, 0.05, NULL);
}

static const struct {
    const char *name, *lua;
    double (*once)(double);
    double from, step;
} formulas[RIVAL_FORMULAS] = {
    {"12 harmonics of a triangular current", "fourier", fourier_once, 1e6, 1.0},
    {"mean square of a damped ring", "mean_square", mean_square_once, 0.1, 1e-6},
    {"air on a vertical plate", "plate", plate_once, 320, 1e-4},
};

static double per_call(double (*once)(double), double from, double step)
{
    volatile double sink = 0;
    double began = bench_now();
    for (int k = 0; k < CALLS; k++) sink = sink + once(from + step * k);
    return (bench_now() - began) / CALLS;
}

/* The Lua file returns a table of functions; each must give the same figure, or the race is not fair. */
bool rival_formulas(const char *lua_file, rival_formula formula[RIVAL_FORMULAS])
{
    lua_State *lua = luaL_newstate();
    if (!lua) return false;
    luaL_openlibs(lua);
    bool good = luaL_dofile(lua, lua_file) == LUA_OK && lua_istable(lua, -1);
    for (int i = 0; good && i < RIVAL_FORMULAS; i++) {
        double twin = 0;
        lua_getfield(lua, -1, "race");
        lua_getfield(lua, -2, formulas[i].lua); /* race(formula, calls, from, step) */
        lua_pushinteger(lua, CALLS / 20);
        lua_pushnumber(lua, formulas[i].from);
        lua_pushnumber(lua, formulas[i].step);
        good = lua_pcall(lua, 4, 2, 0) == LUA_OK;
        if (!good) break;
        twin = lua_tonumber(lua, -1);
        formula[i] =
            (rival_formula){formulas[i].name, per_call(formulas[i].once, formulas[i].from, formulas[i].step),
                            lua_tonumber(lua, -2)};
        lua_pop(lua, 2);
        double mine = formulas[i].once(formulas[i].from);
        good = fabs(twin - mine) <= 1e-9 * fabs(mine);
        if (!good) fprintf(stderr, "%s: Lua says %.12g, the product %.12g\n", formulas[i].name, twin, mine);
    }
    if (!good && lua_isstring(lua, -1)) fprintf(stderr, "%s\n", lua_tostring(lua, -1));
    lua_close(lua);
    return good;
}
