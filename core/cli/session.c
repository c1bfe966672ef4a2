/* session.c - from a script on disk to a design with settings. */
#define _GNU_SOURCE /* dladdr */
#include "cli/session.h"

#include <dlfcn.h>
#include <lauxlib.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/spread.h"

const char *session_library(void)
{
    static char folder[PATH_MAX];
    const char *named = getenv("HEATLEDGER_LIBRARY");
    if (named && *named) return named;
    Dl_info info;
    union {
        const char *(*function)(hl_status);
        void *address;
    } own = {hl_status_text};
    if (!dladdr(own.address, &info) || !info.dli_fname) return ".";
    snprintf(folder, sizeof folder, "%s", info.dli_fname);
    char *slash = strrchr(folder, '/');
    size_t used = slash ? (size_t)(slash - folder) : 0;
    snprintf(folder + used, sizeof folder - used, "%sheatledger/lua", slash ? "/" : "");
    return folder;
}

void session_print(const hl_diagnostics *diagnostics, hl_severity least)
{
    fflush(stdout); /* what was printed before stands before the warning, wherever both go */
    for (size_t i = 0; i < hl_diagnostics_count(diagnostics); i++)
        if (hl_diagnostics_severity(diagnostics, i) >= least)
            fprintf(stderr, "%s%s\n",
                    hl_diagnostics_severity(diagnostics, i) == HL_WARNING ? "warning: " : "",
                    hl_diagnostics_text(diagnostics, i));
}

hl_severity session_least(const session_options *options)
{
    return options->quiet ? HL_ERROR : HL_WARNING;
}

hl_status session_load_plugins(hl_host *host, const session_options *options, hl_diagnostics *diagnostics)
{
    hl_status status = hl_host_load_shipped(host, diagnostics);
    for (size_t i = 0; i < options->n_plugins && status == HL_OK; i++)
        status = binding_load(host, options->plugins[i], diagnostics);
    return status;
}

/* Protected: plugins the user named, before the script runs. */
static int load_plugins(lua_State *L)
{
    const session_options *options = lua_touserdata(L, 1);
    if (options->network) binding_set_network(L, options->network);
    for (size_t i = 0; i < options->n_plugins; i++) binding_add_plugins(L, options->plugins[i]);
    return 0;
}

/* Protected: the script's adapter (value 1), the script's path -> its finished design. */
static int finish(lua_State *L)
{
    if (!lua_istable(L, 1) || lua_getfield(L, 1, "finish") != LUA_TFUNCTION)
        return luaL_error(L,
                          "%s: the script returns no adapter; end it with return and the value of hl.adapter",
                          lua_tostring(L, 2));
    lua_pushvalue(L, 1);
    lua_call(L, 1, 1);
    luaL_checkudata(L, -1, BINDING_DESIGN);
    return 1;
}

bool session_call(lua_State *L, int arguments, int results)
{
    int function = lua_gettop(L) - arguments;
    lua_pushcfunction(L, binding_message);
    lua_insert(L, function);
    int status = lua_pcall(L, arguments, results, function);
    lua_remove(L, function);
    if (status == LUA_OK) return true;
    fprintf(stderr, "%s\n", sandbox_message(L));
    return false;
}

/* spread and fit name a value by its part, settings by its place: say where such a part stands. */
static void tell_places(const hl_design *design, const char *name, const hl_place *place,
                        hl_diagnostics *diagnostics)
{
    size_t length = strcspn(name, ".");
    for (size_t i = 0; i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        const char *part = hl_part_name(item->part);
        char setting[400];
        if (strncmp(part, name, length) != 0 || part[length]) continue;
        snprintf(setting, sizeof setting, "%s%s", item->name, name + length);
        if (hl_design_find_setting(design, setting, NULL) != SIZE_MAX)
            hl_diagnostics_add(diagnostics, HL_ERROR, place, "part '%s' stands at '%s'; set '%s'", part,
                               item->name, setting);
    }
}

bool session_apply(bound_design *bound, const session_options *options)
{
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    if (!diagnostics) {
        fputs("memory ran out; close other programs\n", stderr);
        return false;
    }
    hl_place place = {"--set", 0, 0}, bands = {"--bands", 0, 0};
    if (options->bands) hl_design_end(bound->design, options->bands, bound->settings, &bands, diagnostics);
    for (size_t i = 0; i < options->n_set; i++) {
        const char *equals = strchr(options->set[i], '=');
        if (!equals) {
            hl_diagnostics_add(diagnostics, HL_ERROR, &place, "'%s' has no '='; write --set NAME=VALUE",
                               options->set[i]);
            continue;
        }
        char name[200];
        snprintf(name, sizeof name, "%.*s", (int)(equals - options->set[i]), options->set[i]);
        if (hl_design_set(bound->design, bound->settings, name, equals + 1, &place, diagnostics) == HL_OK)
            bound->known[hl_design_find_setting(bound->design, name, NULL)] = true;
        else if (hl_design_find_setting(bound->design, name, NULL) == SIZE_MAX)
            tell_places(bound->design, name, &place, diagnostics);
    }
    bool good = hl_diagnostics_errors(diagnostics) == 0;
    session_print(diagnostics, session_least(options));
    hl_diagnostics_destroy(diagnostics);
    return good;
}

void session_push_settings(lua_State *L, const session_options *options)
{
    lua_newtable(L);
    for (size_t i = 0; i < options->n_set; i++) {
        const char *equals = strchr(options->set[i], '=');
        lua_pushlstring(L, options->set[i], (size_t)(equals - options->set[i]));
        lua_pushstring(L, equals + 1);
        lua_settable(L, -3);
    }
    if (!options->bands) return;
    lua_pushstring(L, options->bands);
    lua_setfield(L, -2, "bands");
}

bool session_run(session *opened, const session_options *options)
{
    static const sandbox_limits limits = {(size_t)512 << 20, 2000000000LL, 0};
    static char message[1 << 16];
    memset(opened, 0, sizeof *opened);
    opened->box = sandbox_create(&limits, options->trusted, session_library());
    if (!opened->box) {
        fprintf(stderr, "memory ran out; close other programs\n");
        return false;
    }
    const char *end = strrchr(options->script, '.');
    if (end && (!strcmp(end, ".yaml") || !strcmp(end, ".yml"))) {
        fprintf(stderr,
                "%s: this is a file of parts or readings, not a script; a script reads parts with hl.parts, "
                "and `heatledger parts %s` lists them\n",
                options->script, options->script);
        return false;
    }
    if (options->network && strcmp(options->network, "rule") != 0 && strcmp(options->network, "field") != 0) {
        fprintf(stderr, "--network: '%s' is no network: rule (quick) or field (hottest spots, seconds)\n",
                options->network);
        return false;
    }
    lua_State *L = sandbox_state(opened->box);
    lua_pushcfunction(L, load_plugins);
    lua_pushlightuserdata(L, (void *)options);
    if (!session_call(L, 1, 0)) return false;
    if (!sandbox_run(opened->box, options->script, message, sizeof message)) {
        fprintf(stderr, "%s\n", message);
        return false;
    }
    return true;
}

bool session_open(session *opened, const session_options *options)
{
    if (!session_run(opened, options)) return false;
    lua_State *L = sandbox_state(opened->box);
    lua_pushcfunction(L, finish);
    lua_insert(L, -2);
    lua_pushstring(L, options->script);
    if (!session_call(L, 2, 1)) return false;
    opened->bound = lua_touserdata(L, -1); /* stays on the stack, so it stays alive */
    return session_apply(opened->bound, options);
}

void session_close(session *opened)
{
    sandbox_destroy(opened->box);
    memset(opened, 0, sizeof *opened);
}
