/* main.c - `heatledger COMMAND ...`: find the command and run it. */
#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "heatledger/quantity.h"

static void print_commands(FILE *to)
{
    fputs("heatledger: where the lost watts of a mains adapter go, and how hot it gets\n\n"
          "usage: heatledger COMMAND [OPTIONS]\n\ncommands:\n",
          to);
    for (const command *const *c = commands; *c; c++) fprintf(to, "  %-10s %s\n", (*c)->name, (*c)->summary);
    fputs("\n`heatledger COMMAND --help` tells more.\n\n"
          "Mains voltage and charged capacitors kill. An opened adapter is not isolated: discharge\n"
          "and verify before touching. Estimates replace neither measurement nor a safety\n"
          "assessment; local codes and qualified people decide.\n",
          to);
}

static int unknown(const char *name)
{
    const char *words[64] = {0};
    for (size_t i = 0; i < 63 && commands[i]; i++) words[i] = commands[i]->name;
    const char *near = hl_nearest_word(name, words);
    fprintf(stderr, "heatledger: no command '%s'; ", name);
    if (near)
        fprintf(stderr, "did you mean '%s'?\n", near);
    else
        fprintf(stderr, "`heatledger --help` lists them\n");
    return EXIT_BAD_INPUT;
}

int main(int argc, char **argv)
{
    setlocale(LC_ALL, "C");
    if (argc < 2) {
        print_commands(stderr);
        return EXIT_BAD_INPUT;
    }
    if (!strcmp(argv[1], "--help") || !strcmp(argv[1], "-h") || !strcmp(argv[1], "help")) {
        print_commands(stdout);
        return EXIT_GOOD;
    }
    if (!strcmp(argv[1], "--version")) {
        printf("heatledger %s\n", HL_VERSION);
        return EXIT_GOOD;
    }
    for (const command *const *c = commands; *c; c++) {
        if (strcmp((*c)->name, argv[1])) continue;
        if (argc > 2 && (!strcmp(argv[2], "--help") || !strcmp(argv[2], "-h"))) {
            fputs((*c)->help, stdout);
            return EXIT_GOOD;
        }
        return (*c)->run(argc - 1, argv + 1);
    }
    return unknown(argv[1]);
}
