/* main.c - `heatledger COMMAND ...`: find the command and run it. */
#include <locale.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "cli/help_text.h"
#include "cli/last_words.h"
#include "cli/manual_page.h"
#include "heatledger/quantity.h"
#include "prove/allocations.h"

static void print_commands(FILE *to)
{
    fputs("heatledger: where the lost watts of a mains adapter go, and how hot it gets\n\n"
          "usage: heatledger COMMAND [OPTIONS]\n\ncommands:\n",
          to);
    for (const command *const *c = commands; *c; c++) fprintf(to, "  %-11s %s\n", (*c)->name, (*c)->summary);
    fputs("\n`heatledger COMMAND --help` tells more.\n\n"
          "Mains voltage and charged capacitors kill. An opened adapter is not isolated:\n"
          "discharge and verify before touching. Estimates replace neither measurement nor\n"
          "a safety assessment; local codes and qualified people decide.\n",
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

static const command *find(const char *name)
{
    for (const command *const *c = commands; *c; c++)
        if (!strcmp((*c)->name, name)) return *c;
    return NULL;
}

static int print_completion(const char *shell)
{
    if (shell && shell_completion(stdout, shell)) return EXIT_GOOD;
    fputs("heatledger: --completion wants the shell's name, bash or zsh: heatledger --completion bash\n",
          stderr);
    return EXIT_BAD_INPUT;
}

/* What begins with a dash instead of a command. */
static int answer(const char *option, const char *more)
{
    if (!strcmp(option, "--version")) {
        printf("heatledger %s\n", HL_VERSION);
        return EXIT_GOOD;
    }
    if (!strcmp(option, "--completion")) return print_completion(more);
    if (!strcmp(option, "--manual-page") && (!more || find(more))) {
        manual_page(stdout, more ? find(more) : NULL);
        return EXIT_GOOD;
    }
    return unknown(more && !strcmp(option, "--manual-page") ? more : option);
}

static bool is_help(const char *word)
{
    return !strcmp(word, "--help") || !strcmp(word, "-h") || !strcmp(word, "help");
}

static int help_on(const char *name)
{
    const command *of = find(name);
    if (!of) return unknown(name);
    help_print(stdout, of->help);
    return EXIT_GOOD;
}

/* Where memory ran out on the way, something may be missing that nobody else noticed, or another reason may
 * have been named. */
static int all_told(int code)
{
    if (allocations_refused() == 0) return code;
    fputs(
        "heatledger: memory ran out on the way, so what is said here may lack parts; close other programs\n",
        stderr);
    return code == EXIT_GOOD || code == EXIT_LIMIT_BROKEN ? EXIT_BAD_INPUT : code;
}

int main(int argc, char **argv)
{
    setlocale(LC_ALL, "C");
    if (argc < 2) {
        print_commands(stderr);
        return EXIT_BAD_INPUT;
    }
    if (is_help(argv[1])) {
        if (argc > 2) return help_on(argv[2]);
        print_commands(stdout);
        return EXIT_GOOD;
    }
    const command *of = find(argv[1]);
    if (!of) return answer(argv[1], argc > 2 ? argv[2] : NULL);
    for (int i = 2; i < argc && strcmp(argv[i], "--"); i++)
        if (!strcmp(argv[i], "--help") || !strcmp(argv[i], "-h")) return help_on(of->name);
    last_words_prepare();
    return all_told(of->run(argc - 1, argv + 1));
}
