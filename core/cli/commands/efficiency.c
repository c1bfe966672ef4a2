/* efficiency.c - `heatledger efficiency`: efficiency over load at both mains voltages, and the laws.
 * The points and the rules are scripts/heatledger/efficiency.lua and law.lua; this prints what they find. */
#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "cli/lua_json.h"
#include "cli/options.h"
#include "cli/printed.h"

static const char help[] =
    "usage: heatledger efficiency FILE.lua [--set NAME=VALUE]... [--nameplate POWER] [--json | --csv]\n"
    "\n"
    "Solve the adapter that FILE.lua returns at 10, 25, 50, 75 and 100 % of its ports' stated\n"
    "currents and without load, at 115 V, 60 Hz and at 230 V, 50 Hz.  Show the averages as the\n"
    "efficiency laws form them, and what each law requires.  This is no certificate.\n"
    "\n"
    "  --nameplate POWER  output power on the label, such as '100 W'; without it the sum of the\n"
    "                     ports' voltages times currents.  Ports that state more together are\n"
    "                     all drawn down to it\n"
    "  --law NAME         judge by this law only; may be repeated\n"
    "  --set NAME=VALUE   change a setting for this run; may be repeated.  load and the mains are\n"
    "                     set by the test\n"
    "  --json             print the figures in the schema heatledger.efficiency/1\n"
    "  --csv              one row for each mains and load\n"
    "  --strict           exit with 2 when a law that binds is not met\n" OPTION_HELP_SCRIPT
    "  --quiet            errors only: no warnings, no progress\n"
    "\n"
    "exit: 0 good, 1 bad input, 2 a law is not met (with --strict), 3 a load has no solution\n";

typedef struct choices {
    session_options session;
    const char *nameplate; /* NULL: the sum of the ports */
    option_list law;
    bool json, csv, strict;
} choices;

static bool parse(int argc, char **argv, choices *chosen)
{
    memset(chosen, 0, sizeof *chosen);
    const own_option own[] = {{"nameplate", OWN_TEXT, &chosen->nameplate}, {"law", OWN_LIST, &chosen->law},
                              {"json", OWN_FLAG, &chosen->json},           {"csv", OWN_FLAG, &chosen->csv},
                              {"strict", OWN_FLAG, &chosen->strict},       {NULL, OWN_FLAG, NULL}};
    return options_read("efficiency", argc, argv, &chosen->session, own);
}

/* The library's module on the stack. */
static void push_module(lua_State *L)
{
    lua_getglobal(L, "require");
    lua_pushliteral(L, "heatledger.efficiency");
    lua_call(L, 1, 1);
}

static void push_options(lua_State *L, const choices *chosen)
{
    lua_newtable(L);
    session_push_settings(L, &chosen->session);
    lua_setfield(L, -2, "settings");
    lua_pushstring(L, chosen->nameplate);
    lua_setfield(L, -2, "nameplate");
    if (chosen->law.n == 0) return;
    lua_newtable(L);
    for (size_t i = 0; i < chosen->law.n; i++) {
        lua_pushstring(L, chosen->law.text[i]);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, "laws");
}

/* Protected: (design, choices) -> figures, text, number of shortfalls, of loads unsolved */
static int find(lua_State *L)
{
    const choices *chosen = lua_touserdata(L, 2);
    push_module(L); /* 3 */
    lua_getfield(L, 3, "of");
    lua_pushvalue(L, 1);
    push_options(L, chosen);
    lua_call(L, 2, 1); /* 4 */
    lua_getfield(L, 3, chosen->csv ? "csv" : "text");
    lua_pushvalue(L, 4);
    lua_call(L, 1, 1);
    lua_getfield(L, 4, "shortfalls");
    lua_getfield(L, 4, "unsolved");
    return 4;
}

static bool print_json(lua_State *L, int index)
{
    json_t *document = lua_json(L, index);
    if (!document) {
        fprintf(stderr, "the figures cannot be told as JSON\n");
        return false;
    }
    return printed_whole(printed_json(document, JSON_SORT_KEYS));
}

static int print_found(lua_State *L, const choices *chosen)
{
    lua_Integer shortfalls = lua_tointeger(L, -2), unsolved = lua_tointeger(L, -1);
    if (!chosen->json)
        fputs(lua_tostring(L, -3), stdout);
    else if (!print_json(L, lua_gettop(L) - 3))
        return EXIT_BAD_INPUT;
    if (!printed_whole(true)) return EXIT_BAD_INPUT;
    if (chosen->strict && shortfalls > 0) return EXIT_LIMIT_BROKEN;
    return unsolved > 0 ? EXIT_NO_SOLUTION : EXIT_GOOD;
}

static int run(int argc, char **argv)
{
    choices chosen;
    if (!parse(argc, argv, &chosen)) return EXIT_BAD_INPUT;
    session opened;
    int code = EXIT_BAD_INPUT;
    if (session_open(&opened, &chosen.session)) {
        lua_State *L = sandbox_state(opened.box); /* the design is on top */
        lua_pushcfunction(L, find);
        lua_pushvalue(L, -2);
        lua_pushlightuserdata(L, &chosen);
        if (session_call(L, 2, 4)) code = print_found(L, &chosen);
    }
    session_close(&opened);
    return code;
}

extern const command command_efficiency;
const command command_efficiency = {"efficiency", "efficiency over load, and what the laws require", help,
                                    run};
