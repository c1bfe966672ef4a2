/* report.c - `heatledger report`: one HTML file with pictures and tables.
 * What it shows is scripts/heatledger/report.lua; this runs gnuplot for it and writes the file. */
#include <lauxlib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "cli/command.h"
#include "cli/options.h"
#include "cli/plotter.h"
#include "diagnostic/replace_file.h"
#include "prove/allocations.h"

static const char help[] =
    "usage: heatledger report FILE.lua [--to FILE.html] [--set NAME=VALUE]...\n"
    "\n"
    "Write a report of the adapter that FILE.lua returns: where the watts go, losses by part and\n"
    "mechanism, temperatures against their limits, the case, efficiency and loss over load and\n"
    "mains, what gives way first, the efficiency laws, and every input with its origin.  The file\n"
    "opens without a network, prints on A4 and Letter, and reads on a phone.\n"
    "\n"
    "  --to FILE.html     where to write; without it the script's name with .html, in this folder\n"
    "  --what-if TEXT     compare with settings changed, as in 'cool room: ambient.temperature=15 degC,\n"
    "                     load=0.8'; may be repeated\n"
    "  --samples N        points over the bands of all values, for how sure it is (400); 0: leave out\n"
    "  --nameplate POWER  output power on the label, for the laws; without it the sum of the ports\n"
    "  --set NAME=VALUE   change a setting for this report; may be repeated\n"
    "  --quiet            do not name the file that was written\n" OPTION_HELP_SCRIPT "\n"
    "Curves are drawn by gnuplot; without it their tables stand alone, and a warning says so.\n"
    "\n"
    "exit: 0 good, 1 bad input, 3 no solution (the report then says why)\n";

typedef struct choices {
    session_options session;
    const char *to, *nameplate, *samples;
    option_list what_if;
    bool quiet;
    bool warned; /* that gnuplot is missing */
} choices;

typedef struct picture {
    char *svg;
    size_t length;
} picture;

/* Protected: picture -> SVG */
static int push_picture(lua_State *L)
{
    const picture *drawn = lua_touserdata(L, 1);
    lua_pushlstring(L, drawn->svg, drawn->length);
    return 1;
}

/* draw(commands) -> SVG, or nil when there is no gnuplot */
static int draw(lua_State *L)
{
    choices *chosen = lua_touserdata(L, lua_upvalueindex(1));
    size_t n;
    const char *script = luaL_checklstring(L, 1, &n);
    char why[200];
    picture drawn;
    if (!plotter_draw(script, n, &drawn.svg, &drawn.length, why, sizeof why)) {
        if (!chosen->warned) fprintf(stderr, "warning: %s; curves are shown as tables\n", why);
        chosen->warned = true;
        return 0;
    }
    lua_pushcfunction(L, push_picture);
    lua_pushlightuserdata(L, &drawn);
    bool good = lua_pcall(L, 1, 1, 0) == LUA_OK; /* the copy may raise, and the picture is not Lua's */
    free(drawn.svg);
    return good ? 1 : lua_error(L);
}

static void push_date(lua_State *L)
{
    time_t now = time(NULL);
    struct tm day;
    char text[32] = "";
    if (localtime_r(&now, &day)) strftime(text, sizeof text, "%Y-%m-%d", &day);
    lua_pushstring(L, text);
}

/* Protected: design, choices -> HTML, is it solved, why not */
static int make(lua_State *L)
{
    choices *chosen = lua_touserdata(L, 2);
    lua_getglobal(L, "require");
    lua_pushliteral(L, "heatledger.report");
    lua_call(L, 1, 1);
    lua_getfield(L, -1, "html");
    lua_pushvalue(L, 1);
    lua_newtable(L);
    session_push_settings(L, &chosen->session);
    lua_setfield(L, -2, "settings");
    lua_pushstring(L, chosen->nameplate);
    lua_setfield(L, -2, "nameplate");
    if (chosen->samples) {
        if (!lua_stringtonumber(L, chosen->samples) || !lua_isinteger(L, -1) || lua_tointeger(L, -1) < 0 ||
            lua_tointeger(L, -1) > 1000000)
            luaL_error(L, "--samples %s: a whole number up to 1000000 is wanted", chosen->samples);
        lua_setfield(L, -2, "samples");
    }
    lua_createtable(L, (int)chosen->what_if.n, 0);
    for (size_t i = 0; i < chosen->what_if.n; i++) {
        lua_pushstring(L, chosen->what_if.text[i]);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, "what_if");
    push_date(L);
    lua_setfield(L, -2, "date");
    lua_pushlightuserdata(L, chosen);
    lua_pushcclosure(L, draw, 1);
    lua_setfield(L, -2, "draw");
    lua_call(L, 2, 2);
    lua_getfield(L, -1, "result");
    lua_getfield(L, -1, "status");
    lua_pushboolean(L, !strcmp(luaL_checkstring(L, -1), "solved"));
    lua_getfield(L, -3, "reason");
    lua_remove(L, -3);
    lua_remove(L, -3);
    lua_remove(L, -3);
    return 3;
}

/* The script's name without folder and ending, with .html. */
static void default_name(const char *script, char *name, size_t size)
{
    const char *slash = strrchr(script, '/'), *base = slash ? slash + 1 : script;
    const char *dot = strrchr(base, '.');
    int stem = dot && dot != base ? (int)(dot - base) : (int)strlen(base);
    snprintf(name, size, "%.*s.html", stem, base);
}

static int write_page(lua_State *L, const choices *chosen)
{
    char own[300], why[500];
    default_name(chosen->session.script, own, sizeof own);
    const char *to = chosen->to ? chosen->to : own;
    size_t length;
    const char *html = lua_tolstring(L, -3, &length), *reason = lua_tostring(L, -1);
    bool solved = lua_toboolean(L, -2);
    if (allocations_refused()) { /* the page before this one is the better one */
        fprintf(stderr, "heatledger report: memory ran out, nothing was written; close other programs\n");
        return EXIT_BAD_INPUT;
    }
    if (!hl_replace_file(to, html, length, why, sizeof why)) {
        fprintf(stderr, "heatledger report: %s\n", why);
        return EXIT_BAD_INPUT;
    }
    if (!chosen->quiet) printf("%s\n", to);
    if (!solved) fprintf(stderr, "no solution: %s\n", reason ? reason : "");
    return solved ? EXIT_GOOD : EXIT_NO_SOLUTION;
}

static int run(int argc, char **argv)
{
    choices chosen = {0};
    const own_option own[] = {
        {"to", OWN_TEXT, &chosen.to},           {"nameplate", OWN_TEXT, &chosen.nameplate},
        {"what-if", OWN_LIST, &chosen.what_if}, {"quiet", OWN_FLAG, &chosen.quiet},
        {"samples", OWN_TEXT, &chosen.samples}, {NULL, OWN_FLAG, NULL}};
    if (!options_read("report", argc, argv, &chosen.session, own)) return EXIT_BAD_INPUT;
    session opened;
    int code = EXIT_BAD_INPUT;
    if (session_open(&opened, &chosen.session)) {
        lua_State *L = sandbox_state(opened.box); /* the design is on top */
        lua_pushcfunction(L, make);
        lua_pushvalue(L, -2);
        lua_pushlightuserdata(L, &chosen);
        if (session_call(L, 2, 3)) code = write_page(L, &chosen);
    }
    session_close(&opened);
    return code;
}

extern const command command_report;
const command command_report = {"report", "one HTML file: watts, temperatures, case, curves, laws, inputs",
                                help, run};
