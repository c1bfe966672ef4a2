/* swap.c - `heatledger swap`: what would another part in its place change, and what would it break? */
#include <lauxlib.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/command.h"
#include "cli/ledger_text.h"
#include "cli/lua_json.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/wrapped.h"
#include "heatledger/quantity.h"

static const char help[] =
    "usage: heatledger swap FILE.lua [--slot STAGE.SLOT] [--catalogue] [--parts FILE]... [--by FIGURE]\n"
    "                       [--at NAME=VALUE,...]... [--top N] [--json]\n"
    "\n"
    "Try every part that fits in one place of the adapter, or in all of them, one at a time; rank the "
    "swaps,\n"
    "say what each changes and which limits it breaks.  A tried part takes the place, count and size of the\n"
    "one it replaces, and brings its own thermal resistances.  Swaps that break a limit come after all that\n"
    "break none, whatever they are ranked by.\n"
    "\n"
    "  --slot PLACE      one place, such as pfc.switch or pfc.bulk; all places when not given.  A place\n"
    "                    that is not there is answered with the list of those that are\n"
    "  --catalogue       try the parts of the starter catalogue\n"
    "  --parts FILE      try the parts of a part file; may be repeated\n"
    "  --by FIGURE       rank by this: case_hottest_c (as it is when not given, where there is a case),\n"
    "                    loss_w, headroom_used, efficiency, pfc.switch.temperature_c, or any other\n"
    "                    figure of a point\n"
    "  --at SETTINGS     an operating point, such as mains.voltage='115 V',load=0.5; may be repeated: losses "
    "and\n"
    "                    efficiency are then the mean, temperatures and headroom the worst of all of them\n"
    "  --set NAME=VALUE  change a setting at every one of these points; may be repeated\n"
    "  --top N           show so many swaps, 20 when not given; --json shows all\n"
    "  --json            print the schema heatledger.swap/1\n" OPTION_HELP_SCRIPT
    "  --quiet           errors only: no warnings, no progress\n"
    "\n"
    "exit: 0 good, 1 bad input\n";

typedef struct choices {
    session_options session;
    const char *slot, *by, *top;
    option_list parts, at;
    bool catalogue, json;
} choices;

static void push_list(lua_State *L, const char *name, const char *const text[], size_t n)
{
    lua_createtable(L, (int)n, 0);
    for (size_t i = 0; i < n; i++) {
        lua_pushstring(L, text[i]);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, name);
}

/* Protected: (adapter, choices) -> the result of sweep.swap_command. */
static int ask(lua_State *L)
{
    const choices *chosen = lua_touserdata(L, 2);
    binding_set_root(L,
                     NULL); /* the script has run: part files named on the command line may lie anywhere, */
    binding_set_folder(L, "."); /* and count from where the command runs */
    lua_getglobal(L, "require");
    lua_pushliteral(L, "heatledger.sweep");
    lua_call(L, 1, 1);
    lua_getfield(L, -1, "swap_command");
    lua_pushvalue(L, 1);
    lua_createtable(L, 0, 6);
    if (chosen->slot) {
        lua_pushstring(L, chosen->slot);
        lua_setfield(L, -2, "place");
    }
    lua_pushstring(L, chosen->by);
    lua_setfield(L, -2, "by");
    lua_pushboolean(L, chosen->catalogue);
    lua_setfield(L, -2, "catalogue");
    push_list(L, "files", chosen->parts.text, chosen->parts.n);
    const char *points[OPTION_LIST_MAX]; /* what --set says holds in each */
    size_t n = 0;
    for (; n < chosen->at.n; n++) points[n] = chosen->at.text[n];
    luaL_Buffer shared;
    luaL_buffinit(L, &shared);
    for (size_t i = 0; i < chosen->session.n_set; i++) {
        luaL_addstring(&shared, i ? "," : "");
        luaL_addstring(&shared, chosen->session.set[i]);
    }
    luaL_pushresult(&shared);
    const char *sets = lua_tostring(L, -1);
    if (*sets)
        for (size_t i = 0; i < (n ? n : 1); i++)
            points[i] = lua_pushfstring(L, "%s,%s", sets, n ? points[i] : "");
    if (*sets && !n) n = 1;
    int options = lua_gettop(L);
    while (lua_type(L, options) != LUA_TTABLE) options--;
    lua_pushvalue(L, options);
    push_list(L, "at", points, n);
    lua_settop(L, options);
    lua_call(L, 2, 1);
    return 1;
}

/* ------------------------------------------------------------------ text -- */

static double figure(const json_t *figures, const char *name)
{
    const json_t *value = json_object_get(figures, name);
    return json_is_number(value) ? json_number_value(value) : 0.0;
}

static const char *text(const json_t *row, const char *name)
{
    const char *found = json_string_value(json_object_get(row, name));
    return found ? found : "";
}

/* Share of the limits that is used: infinite, which JSON has no word for, where one leaves no room at all. */
static double used_of(const json_t *figures)
{
    const json_t *value = json_object_get(figures, "headroom_used");
    return json_is_number(value) ? json_number_value(value) : HUGE_VAL;
}

static const char of_the_case[] = "case_hottest_c";

/* The change from `base`, K; an adapter without a case has none. */
static void print_case(const json_t *figures, const json_t *base)
{
    if (json_object_get(figures, of_the_case))
        printf("%+8.2f", figure(figures, of_the_case) - figure(base, of_the_case));
    else
        printf("%8s", "-");
}

static void print_base(const json_t *base)
{
    printf("as it is: ");
    if (json_object_get(base, of_the_case)) printf("case %.2f degC, ", figure(base, of_the_case));
    printf("lost %.3f W, used %.0f %%\n", figure(base, "loss_w"), 100 * ledger_told_share(used_of(base)));
}

/* Four significant figures, closing noughts and all: a column is compared by eye. */
static void print_ranked(double value, const char *unit)
{
    char shown[40];
    if (*unit && strcmp(unit, "1") != 0) { /* a setting, in SI: its name does not say the unit */
        hl_quantity_print(value, unit, 4, shown, sizeof shown);
        printf("%15s ", shown);
        return;
    }
    double size = fabs(value);
    if (size > 0 && (size < 1e-3 || size >= 1e6))
        printf("%15.3e ", value);
    else
        printf("%15.*f ",
               size >= 1000              ? 0
               : size >= 100             ? 1
               : size >= 10 || size == 0 ? 2
               : size >= 1               ? 3
                                         : 6,
               value);
}

static void print_lines(const char *lead, const json_t *lines)
{
    size_t i;
    json_t *line;
    json_array_foreach(lines, i, line)
        wrapped_print(stdout, lead, 6, json_string_value(line) ? json_string_value(line) : "");
}

static void print_row(const json_t *row, const json_t *base, const char *by, const char *unit)
{
    const json_t *figures = json_object_get(row, "figures");
    char swap[100];
    snprintf(swap, sizeof swap, "%s: %s", text(row, "place"), text(row, "part"));
    if (json_is_object(figures)) {
        bool long_name = strlen(swap) > 37;
        if (long_name) puts(swap);
        printf("%-37s ", long_name ? "" : swap);
        print_ranked(figure(figures, by), unit);
        print_case(figures, base);
        double used = 100 * (used_of(figures) - used_of(base));
        printf(" %+8.3f ", figure(figures, "loss_w") - figure(base, "loss_w"));
        if (isnan(used)) /* no room with either */
            printf("%6s\n", "-");
        else
            printf(fabs(used) < 99999.5 ? "%+6.0f\n" : "%+6.0e\n", used);
    } else
        printf("%-37s %15s\n", swap, "none");
    print_lines(json_is_object(figures) ? "    breaks: " : "    fails: ", json_object_get(row, "breaks"));
    print_lines("    worsens: ", json_object_get(row, "worsens"));
}

static void print_swaps(const json_t *root, size_t most)
{
    const json_t *base = json_object_get(root, "base");
    const char *by = text(root, "by"), *unit = text(root, "unit"), *of_case = text(root, "case");
    bool narrow = strlen(by) <= 15;
    if (!narrow) printf("ranked by %s\n", by);
    print_base(base);
    print_lines("broken as it is: ", json_object_get(root, "broken"));
    printf("%-37s %15s %24s\n", "", "", "change from as it is");
    printf("%-37s %15s %8s %8s %6s\n", "swap", narrow ? by : "ranked by", "case K", "lost W", "used %");
    printf("%-37s ", "as it is");
    print_ranked(figure(base, by), unit);
    printf("%8s %8s %6s\n", "-", "-", "-");
    size_t i;
    json_t *row;
    json_array_foreach(json_object_get(root, "swaps"), i, row)
    {
        if (i == most) break;
        print_row(row, base, by, unit);
    }
    size_t all = json_array_size(json_object_get(root, "swaps"));
    if (all > most) printf("and %zu more; --top %zu shows all\n", all - most, all);
    if (!all) puts("no part to try fits there");
    if (*of_case) printf("case: %s\n", of_case);
    print_lines("caution: ", json_object_get(root, "cautions"));
}

static bool read_top(const char *text, size_t *most)
{
    char *end;
    *most = 20;
    if (!text) return true;
    unsigned long read = strtoul(text, &end, 10);
    *most = read;
    if (*text >= '0' && *text <= '9' && !*end && read >= 1 && read <= 1000000) return true;
    fprintf(stderr, "heatledger swap: --top: '%s' is no whole number from 1 to 1000000\n", text);
    return false;
}

static int show(lua_State *L, const choices *chosen, size_t most)
{
    json_t *root = lua_json(L, -1);
    if (!root) {
        fputs("memory ran out; close other programs\n", stderr);
        return EXIT_BAD_INPUT;
    }
    bool good = true;
    if (chosen->json) {
        good = printed_json(root, 0);
    } else {
        print_swaps(root, most);
        json_decref(root);
    }
    return printed_whole(good) ? EXIT_GOOD : EXIT_BAD_INPUT;
}

static int run(int argc, char **argv)
{
    choices chosen;
    memset(&chosen, 0, sizeof chosen);
    const own_option own[] = {{"slot", OWN_TEXT, &chosen.slot}, {"by", OWN_TEXT, &chosen.by},
                              {"top", OWN_TEXT, &chosen.top},   {"parts", OWN_LIST, &chosen.parts},
                              {"at", OWN_LIST, &chosen.at},     {"catalogue", OWN_FLAG, &chosen.catalogue},
                              {"json", OWN_FLAG, &chosen.json}, {NULL, OWN_FLAG, NULL}};
    size_t most;
    if (!options_read("swap", argc, argv, &chosen.session, own) || !read_top(chosen.top, &most))
        return EXIT_BAD_INPUT;
    session opened;
    int code = EXIT_BAD_INPUT;
    if (session_run(&opened, &chosen.session)) {
        lua_State *L = sandbox_state(opened.box);
        lua_pushcfunction(L, ask);
        lua_insert(L, -2);
        lua_pushlightuserdata(L, &chosen);
        if (session_call(L, 2, 1)) code = show(L, &chosen, most);
    }
    session_close(&opened);
    return code;
}

extern const command command_swap;
const command command_swap = {"swap", "what another part in its place would change", help, run};
