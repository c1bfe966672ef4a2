/* failing_run.h - run the command with calls to the system that fail, by
 * tests/faults/plugins/failing_calls.c.
 */
#ifndef FAILING_RUN_H
#define FAILING_RUN_H

#include <stdbool.h>

#include "command_run.h"
#include "story.h"

enum { FAILING_RUNS = !STORY_SANITIZED }; /* a sanitizer's runtime must be loaded first */

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
