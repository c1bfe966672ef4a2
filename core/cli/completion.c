/* completion.c - `heatledger --completion bash`: what the shell offers at the tab key, made of the help text.
 */
#include <string.h>

#include "cli/help_text.h"
#include "cli/manual_page.h"

/* Options whose value is no file: nothing is offered behind them. */
static bool names_a_file(const char *value)
{
    return strstr(value, "FILE") || strstr(value, "PATH") || strstr(value, "FOLDER");
}

static void print_options(FILE *to, const command *of, bool with_plain_value)
{
    help_line line;
    help_kind last = HELP_BLANK;
    for (const char *at = of->help; at = help_read(at, last, &line), line.kind != HELP_END;
         last = line.kind) {
        if (line.kind != HELP_OPTION) continue;
        if (with_plain_value && (!*line.value || names_a_file(line.value))) continue;
        if (with_plain_value)
            fprintf(to, "|\"%s %s\"", of->name, line.name);
        else
            fprintf(to, " %s", line.name);
    }
}

bool shell_completion(FILE *to, const char *shell)
{
    if (strcmp(shell, "bash") != 0) return false;
    fputs("# Made by `heatledger --completion bash` from the commands' own help.\n"
          "_heatledger()\n{\n"
          "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} options=\n"
          "    local command=${COMP_WORDS[1]}\n"
          "    COMPREPLY=()\n"
          "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n        mapfile -t COMPREPLY < <(compgen -W \"",
          to);
    for (const command *const *c = commands; *c; c++) fprintf(to, "%s ", (*c)->name);
    fputs("--help --version --completion\" -- \"$word\")\n        return\n    fi\n    case $command in\n",
          to);
    for (const command *const *c = commands; *c; c++) {
        fprintf(to, "        %s) options=\"", (*c)->name);
        print_options(to, *c, false);
        fputs(" --help\" ;;\n", to);
    }
    fputs("        --completion) options=bash ;;\n    esac\n"
          "    case $word in -*)\n        mapfile -t COMPREPLY < <(compgen -W \"$options\" -- \"$word\")\n"
          "        return ;;\n    esac\n"
          "    case \"$command $before\" in\n        --completion*",
          to);
    for (const command *const *c = commands; *c; c++) print_options(to, *c, true);
    fputs(")\n            return ;;\n    esac\n"
          "    mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n}\n"
          "complete -o filenames -F _heatledger heatledger\n",
          to);
    return true;
}
