/* failing_run.h - run the command with calls to the system that fail, by
 * tests/faults/plugins/failing_calls.c.
 */
#ifndef FAILING_RUN_H
#define FAILING_RUN_H

#include <stdbool.h>

#include "command_run.h"

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
enum { FAILING_RUNS = 0 }; /* their runtimes must be loaded first */
#else
enum { FAILING_RUNS = 1 };
#endif

enum { FAILING_WRITES, FAILING_OPENS, FAILING_THREADS, FAILING_PROCESSES, FAILING_KINDS };

typedef struct failing {
    int kind;   /* one of those above */
    long after; /* so many calls of that kind succeed; -1: all */
    bool only;  /* one fails, later ones succeed */
} failing;

extern const char *const failing_names[FAILING_KINDS];

/* With its cache in the scratch folder; calls (may be NULL): how many of each kind there were. */
command_output failing_run(const char *const arguments[], failing how, long calls[FAILING_KINDS]);

#endif
