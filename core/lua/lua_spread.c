/* lua_spread.c - the spread of a design, from Lua and as a document. */
#include "lua/lua_spread.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lua/binding.h"
#include "lua/json_tree.h"

static const double kelvin = 273.15;

enum { LEVELS_MOST = 16, ABOUT_MOST = 32 };

/* What stands between the kelvin of a temperature and the degrees shown. */
static double shift_of(const hl_figure *figure)
{
    return strcmp(figure->unit, "degC") ? 0 : kelvin;
}

static json_t *unknowns_of(const hl_design *design, const hl_spread *spread)
{
    json_t *list = json_array();
    for (size_t k = 0; k < hl_spread_unknowns(spread); k++) {
        const hl_unknown *unknown = hl_spread_unknown(spread, k);
        json_t *settings = json_array();
        for (size_t i = 0; i < unknown->n; i++)
            settings =
                tree_append(settings, json_string(hl_design_setting_name(design, unknown->settings[i])));
        list = tree_append(list, json_pack("{s:s, s:o}", "unknown", unknown->name, "settings", settings));
    }
    return list;
}

static json_t *figure_of(const hl_spread *spread, size_t index, const double levels[], size_t n_levels)
{
    const hl_figure *figure = hl_figures_get(hl_spread_figures(spread), index);
    size_t n;
    const double *sorted = hl_spread_sorted(spread, index, &n);
    double shift = shift_of(figure);
    json_t *quantiles = json_array();
    size_t of = n;
    for (size_t k = 0; k < n_levels; k++)
        quantiles =
            tree_append(quantiles, tree_number(hl_spread_quantile(spread, index, levels[k], &of) - shift));
    return json_pack("{s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:I}", "figure", figure->name, "title",
                     hl_figures_title(hl_spread_figures(spread), index), "unit", figure->unit, "central",
                     tree_number(hl_spread_central(spread, index) - shift), "mean",
                     tree_number(hl_mean(n, sorted) - shift), "deviation",
                     tree_number(hl_deviation(n, sorted)), "quantiles", quantiles, "quantiles_of",
                     (json_int_t)of);
}

static json_t *limit_of(const hl_spread *spread, size_t index)
{
    const hl_figure *figure = hl_figures_get(hl_spread_figures(spread), index);
    size_t n;
    const double *sorted = hl_spread_sorted(spread, index, &n);
    return json_pack("{s:s, s:o}", "limit", figure->name + strlen("used "), "broken",
                     tree_number(hl_share_above(n, sorted, 1)));
}

static json_t *driver_of(const hl_spread *spread, const hl_driver *driver)
{
    const hl_unknown *unknown = hl_spread_unknown(spread, driver->unknown);
    return json_pack("{s:s, s:o, s:o, s:o, s:o}", "unknown", unknown ? unknown->name : "all others", "first",
                     tree_number(driver->first), "total", tree_number(driver->total), "noise",
                     tree_number(driver->noise), "deviation_left", tree_number(driver->left));
}

static json_t *drivers_of(const hl_spread *spread, const hl_spread_options *options)
{
    json_t *list = json_array();
    for (size_t a = 0; a < options->n_about; a++) {
        json_t *drivers = json_array();
        for (size_t k = 0; k < hl_spread_drivers(spread, a); k++)
            drivers = tree_append(drivers, driver_of(spread, hl_spread_driver(spread, a, k)));
        const hl_figure *figure = hl_figures_get(hl_spread_figures(spread), options->about[a]);
        list = tree_append(list, json_pack("{s:s, s:o}", "figure", figure->name, "drivers", drivers));
    }
    return list;
}

static json_t *separators_of(const hl_spread *spread)
{
    json_t *list = json_array();
    for (size_t k = 0; k < hl_spread_separators(spread); k++) {
        const hl_separator *s = hl_spread_separator(spread, k);
        list = tree_append(list, json_pack("{s:s, s:f, s:I, s:I}", "unknown",
                                           hl_spread_unknown(spread, s->unknown)->name, "area", s->area,
                                           "middle", (json_int_t)s->middle, "middle_unsolved",
                                           (json_int_t)s->middle_unsolved));
    }
    return list;
}

static json_t *unsolved_of(const hl_spread *spread)
{
    json_t *list = json_array();
    for (size_t k = 0; k < hl_spread_reasons(spread); k++) {
        size_t count;
        hl_outcome outcome;
        const char *reason = hl_spread_reason(spread, k, &count, &outcome);
        list = tree_append(list, json_pack("{s:s, s:o, s:I}", "status",
                                           outcome == HL_RAN_AWAY ? "runaway" : "infeasible", "reason",
                                           tree_text(reason), "count", (json_int_t)count));
    }
    return list;
}

json_t *spread_document(const hl_design *design, const hl_spread *spread, const hl_spread_options *options,
                        const double levels[], size_t n_levels)
{
    json_t *figures = json_array(), *limits = json_array(), *shown = json_array();
    const hl_figures *all = hl_spread_figures(spread);
    for (size_t i = 0; i < hl_figures_count(all); i++) {
        figures = tree_append(figures, figure_of(spread, i, levels, n_levels));
        if (hl_figures_get(all, i)->kind == HL_FIGURE_USED) limits = tree_append(limits, limit_of(spread, i));
    }
    for (size_t k = 0; k < n_levels; k++) shown = tree_append(shown, json_real(levels[k]));
    return json_pack("{s:s, s:s, s:I, s:I, s:f, s:I, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "schema",
                     "heatledger.spread/1", "design", hl_design_name(design), "samples",
                     (json_int_t)hl_spread_samples(spread), "solved", (json_int_t)hl_spread_solved(spread),
                     "unsolved_share",
                     1 - (double)hl_spread_solved(spread) / (double)hl_spread_samples(spread), "seed",
                     (json_int_t)options->seed, "quantiles", shown, "unknowns", unknowns_of(design, spread),
                     "figures", figures, "limits", limits, "drivers", drivers_of(spread, options), "unsolved",
                     unsolved_of(spread), "separators", separators_of(spread));
}

/* -------------------------------------------------------------------- Lua -- */

static size_t whole_number(lua_State *L, int table, const char *name, size_t otherwise)
{
    lua_getfield(L, table, name);
    lua_Integer value = luaL_optinteger(L, -1, (lua_Integer)otherwise);
    lua_pop(L, 1);
    if (value < 0) luaL_error(L, "%s: a count is not negative", name);
    return (size_t)value;
}

/* Percent to shares: { 5, 50, 95 } */
static size_t read_levels(lua_State *L, int table, double levels[])
{
    static const double usual[] = {0.05, 0.5, 0.95};
    size_t n = 0;
    if (lua_getfield(L, table, "quantiles") == LUA_TTABLE) {
        for (; n < LEVELS_MOST && lua_rawgeti(L, -1, (lua_Integer)n + 1) != LUA_TNIL; n++) {
            levels[n] = luaL_checknumber(L, -1) / 100;
            if (!(levels[n] >= 0 && levels[n] <= 1)) luaL_error(L, "quantiles: percent, 0 to 100");
            lua_pop(L, 1);
        }
        lua_pop(L, 1); /* the nil behind the last, or nothing more is read */
    }
    lua_settop(L, table);
    if (n) return n;
    memcpy(levels, usual, sizeof usual);
    return sizeof usual / sizeof *usual;
}

/* Names in options.about, whose table stays on the stack, or efficiency and the hottest of the case. */
static size_t read_names(lua_State *L, int table, const char *names[])
{
    size_t n = 0;
    if (lua_getfield(L, table, "about") != LUA_TTABLE) {
        names[n++] = "efficiency";
        names[n++] = "case hottest";
        return n;
    }
    for (; n < ABOUT_MOST && lua_rawgeti(L, table + 1, (lua_Integer)n + 1) == LUA_TSTRING; n++) {
        names[n] = lua_tostring(L, -1);
        lua_pop(L, 1);
    }
    lua_settop(L, table + 1);
    return n;
}

/* Figures are those of the point solved here.  A design may have no case; what is asked for must be there. */
static size_t read_about(lua_State *L, bound_design *bound, int table, size_t about[])
{
    const char *names[ABOUT_MOST], *unknown = NULL;
    if (hl_solve(bound->workspace, bound->settings) != HL_OK ||
        hl_result_outcome(bound->workspace) != HL_SOLVED)
        luaL_error(L, "the central point has no solution: %s", hl_result_reason(bound->workspace));
    size_t asked = read_names(L, table, names), n = 0;
    bool named = lua_istable(L, -1);
    hl_figures *figures =
        hl_figures_create(bound->design, bound->workspace); /* held over no call that raises */
    for (size_t i = 0; figures && i < asked; i++) {
        about[n] = hl_figures_find(figures, names[i], NULL);
        if (about[n] != SIZE_MAX)
            n++;
        else if (named && !unknown)
            unknown = names[i];
    }
    bool made = figures != NULL;
    hl_figures_destroy(figures);
    if (!made) luaL_error(L, "memory ran out; close other programs");
    if (unknown)
        luaL_error(L, "about: no figure is named '%s'; without about the result names them all", unknown);
    lua_settop(L, table);
    return n;
}

/* spread(design, options) -> table as in heatledger.spread/1 */
static int lua_spread(lua_State *L)
{
    bound_design *bound = luaL_checkudata(L, 1, BINDING_DESIGN);
    if (lua_isnoneornil(L, 2)) {
        lua_settop(L, 1);
        lua_newtable(L);
    }
    static const char *const words[] = {"samples",   "seed",  "workers",  "totals",
                                        "quantiles", "about", "settings", NULL};
    luaL_checktype(L, 2, LUA_TTABLE);
    lua_settop(L, 2);
    binding_known(L, 2, "spread", words);
    double levels[LEVELS_MOST];
    size_t about[ABOUT_MOST], n_levels = read_levels(L, 2, levels);
    lua_getfield(L, 2, "settings");
    binding_settle(L, bound, 3);
    lua_pushvalue(L, 2);
    int table = lua_gettop(L); /* last on the stack, so that what reads it can clear what it pushed */
    hl_spread_options options = {.samples = whole_number(L, table, "samples", 1000),
                                 .seed = whole_number(L, table, "seed", 1),
                                 .workers = whole_number(L, table, "workers", 0),
                                 .total_base = whole_number(L, table, "totals", 0),
                                 .base = bound->settings,
                                 .known = bound->known,
                                 .about = about};
    options.n_about = read_about(L, bound, table, about);
    hl_diagnostics *said = hl_diagnostics_create();
    if (!said) return luaL_error(L, "memory ran out; close other programs");
    hl_spread *spread;
    if (hl_spread_design(bound->design, &options, &spread, said) != HL_OK) return binding_raise(L, said);
    hl_diagnostics_destroy(said);
    json_t *document = spread_document(bound->design, spread, &options, levels, n_levels);
    hl_spread_destroy(spread);
    return binding_push_document(L, document);
}

void binding_open_spread(lua_State *L)
{
    lua_pushcfunction(L, lua_spread);
    lua_setfield(L, -2, "spread");
}
