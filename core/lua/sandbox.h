/* sandbox.h - a Lua state for scripts that are not trusted. */
#ifndef HEATLEDGER_SANDBOX_H
#define HEATLEDGER_SANDBOX_H

#include <lua.h>
#include <stdbool.h>
#include <stddef.h>

typedef struct sandbox_limits {
    size_t memory;   /* bytes the script may hold */
    long long steps; /* virtual-machine instructions it may take */
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

#endif
