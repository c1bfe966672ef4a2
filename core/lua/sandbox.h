/* sandbox.h - a Lua state for scripts that are not trusted. */
#ifndef HEATLEDGER_SANDBOX_H
#define HEATLEDGER_SANDBOX_H

#include <lua.h>
#include <stdbool.h>
#include <stddef.h>

typedef struct sandbox_limits {
    size_t memory;   /* bytes the script may hold */
    long long steps; /* virtual-machine instructions it may take; work in C and memory moved count too */
    double seconds;  /* of processor time, for what no step counts; 0: ten minutes */
} sandbox_limits;

typedef struct sandbox sandbox;

/* A state with the safe part of the standard library and `require "heatledger"`.
 * trusted: the whole standard library, no limits, part files from anywhere.
 * library: folder that holds heatledger/init.lua.  NULL: memory ran out. */
sandbox *sandbox_create(const sandbox_limits *limits, bool trusted, const char *library);
void sandbox_destroy(sandbox *box);
/* Let the script take its number of steps once more: for a function that is called again and again. */
void sandbox_refresh(sandbox *box);
lua_State *sandbox_state(sandbox *box);

/* Run a script file; leaves its one result on the stack.  false: message (size bytes) says why. */
bool sandbox_run(sandbox *box, const char *path, char *message, size_t size);
/* The same for text in memory; `name` as Lua's chunk names. */
bool sandbox_run_text(sandbox *box, const char *text, size_t length, const char *name, char *message,
                      size_t size);

/* What the error on top of the stack says, or that it says nothing. */
const char *sandbox_message(lua_State *L);

/* For functions of a limited state: pay before doing; raises when the limit is passed. */
enum { SANDBOX_HOOK_EVERY = 2000 };
void sandbox_spend(lua_State *L, long long steps);
/* The limit is passed: no error is to be caught any more. */
bool sandbox_spent(lua_State *L);

#endif
