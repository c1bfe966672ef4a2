#include "failing_run.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "scratch_folder.h"

const char *const failing_names[FAILING_KINDS] = {"write", "open", "thread", "process"};

static void read_numbers(const char *path, long number[FAILING_KINDS])
{
    memset(number, 0, FAILING_KINDS * sizeof *number);
    FILE *file = fopen(path, "r");
    for (int k = 0; file && k < FAILING_KINDS; k++)
        if (fscanf(file, "%ld", &number[k]) != 1) number[k] = 0;
    if (file) fclose(file);
}

command_output failing_run(const char *const arguments[], failing how, long calls[FAILING_KINDS])
{
    static const char *const own[] = {"LD_PRELOAD", "CALLS_KIND", "CALLS_AFTER", "CALLS_ONLY", "CALLS_COUNT"};
    char number[32];
    snprintf(number, sizeof number, "%ld", how.after);
    unlink(scratch_file("count"));
    setenv("CALLS_KIND", failing_names[how.kind], 1);
    if (how.after >= 0) setenv("CALLS_AFTER", number, 1);
    if (how.only) setenv("CALLS_ONLY", "1", 1);
    setenv("CALLS_COUNT", scratch_file("count"), 1);
    setenv("HEATLEDGER_CACHE", scratch_file("cache"), 1);
    setenv("LD_PRELOAD", HL_TEST_BUILD "/tests/broken/failing_calls.so", 1);
    command_output out = command_run(arguments);
    for (size_t i = 0; i < sizeof own / sizeof *own; i++) unsetenv(own[i]);
    if (calls) read_numbers(scratch_file("count"), calls);
    return out;
}
