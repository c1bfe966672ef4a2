/* command.h - one entry of the heatledger command; one file in core/cli/commands each. */
#ifndef HEATLEDGER_COMMAND_H
#define HEATLEDGER_COMMAND_H

/* Exit codes, the same for every command. */
enum { EXIT_GOOD = 0, EXIT_BAD_INPUT = 1, EXIT_LIMIT_BROKEN = 2, EXIT_NO_SOLUTION = 3 };

typedef struct command {
    const char *name;
    const char *summary;               /* one line for the list of commands */
    const char *help;                  /* usage and options, printed by --help */
    int (*run)(int argc, char **argv); /* argv[0] is the command's name */
} command;

/* NULL-ended, in name order; made by the build from the files in commands/. */
extern const command *const commands[];

#endif
