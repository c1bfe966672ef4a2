/* session.h - what every command that reads an adapter script does first. */
#ifndef HEATLEDGER_SESSION_H
#define HEATLEDGER_SESSION_H

#include "heatledger/heatledger.h"
#include "lua/binding.h"
#include "lua/sandbox.h"

enum { SESSION_LIST_MAX = 256 };

/* Options shared by the commands. */
typedef struct session_options {
    const char *script;
    const char *set[SESSION_LIST_MAX]; /* NAME=VALUE */
    size_t n_set;
    const char *plugins[SESSION_LIST_MAX]; /* files or folders the user names */
    size_t n_plugins;
    bool trusted;
    bool quiet;          /* errors only */
    const char *network; /* "rule" or "field" in place of what the script says; NULL: as it says */
    const char *bands;   /* end of all bands the settings begin at: low, typical or high; NULL: typical */
} session_options;

typedef struct session {
    sandbox *box;
    bound_design *bound; /* design, workspace, settings with --set applied */
} session;

/* Run the script and finish its adapter.  false: the reasons are on stderr. */
bool session_open(session *opened, const session_options *options);
void session_close(session *opened);
/* The same up to the script's value, left on the stack of the session's state: for a command that still has
 * to tell the adapter something before it is finished. */
bool session_run(session *opened, const session_options *options);
/* Put the --set values into the settings of a design.  false: the reasons are on stderr. */
bool session_apply(bound_design *bound, const session_options *options);

/* A protected call of the function below its arguments on the stack.  false: why is on stderr. */
bool session_call(lua_State *L, int arguments, int results);

/* NAME=VALUE of --set, and --bands as bands, as a Lua table on the stack; session_apply has read each of them
 * once already. */
void session_push_settings(lua_State *L, const session_options *options);

/* For a command without a script: the shipped models and those of --plugins. */
hl_status session_load_plugins(hl_host *host, const session_options *options, hl_diagnostics *diagnostics);

/* Folder that holds heatledger/init.lua: HEATLEDGER_LIBRARY, or beside the shared library. */
const char *session_library(void);
/* Print all diagnostics of at least this severity to stderr. */
void session_print(const hl_diagnostics *diagnostics, hl_severity least);
/* The least severity the user wants to see: warnings, or with --quiet errors alone. */
hl_severity session_least(const session_options *options);

#endif
