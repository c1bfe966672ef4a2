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
} session_options;

typedef struct session {
    sandbox *box;
    bound_design *bound; /* design, workspace, settings with --set applied */
} session;

/* Run the script and finish its adapter.  false: the reasons are on stderr. */
bool session_open(session *opened, const session_options *options);
void session_close(session *opened);

/* Folder that holds heatledger/init.lua: HEATLEDGER_LIBRARY, or beside the shared library. */
const char *session_library(void);
/* Print all diagnostics of at least this severity to stderr. */
void session_print(const hl_diagnostics *diagnostics, hl_severity least);

#endif
