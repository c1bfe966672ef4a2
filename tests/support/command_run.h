/* command_run.h - run the built heatledger command and look at what it says. */
#ifndef COMMAND_RUN_H
#define COMMAND_RUN_H

#include <stddef.h>

typedef struct command_output {
    int code;    /* exit code; 128 + signal when killed */
    char *out;   /* standard output, NUL-ended */
    char *error; /* standard error */
} command_output;

/* arguments: NULL-ended, without the program's name.  Fails the test when it cannot start. */
command_output command_run(const char *const arguments[]);
/* The same for any program by path. */
command_output program_run(const char *path, const char *const arguments[]);
void command_free(command_output *output);

#endif
