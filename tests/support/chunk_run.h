/* chunk_run.h - a few lines of Lua run by the command inside its sandbox, for tests. */
#ifndef CHUNK_RUN_H
#define CHUNK_RUN_H

#include "command_run.h"

/* `hl` is the library; what the chunk prints comes first on standard output. The caller frees the output. */
command_output chunk_run(const char *chunk);
/* The chunk must succeed, and what it prints must begin with the expected text. */
void chunk_says(const char *chunk, const char *expected);

#endif
