/* completion.c - `heatledger --completion bash` or `zsh`: what the shell offers at the tab key, made of the
 * help text. */
#include <string.h>

#include "cli/help_text.h"
#include "cli/manual_page.h"
#include "diagnostic/joined.h"

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

static void bash_completion(FILE *to)
{
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
    fputs("        --completion) options=\"bash zsh\" ;;\n    esac\n"
          "    case $word in -*)\n        mapfile -t COMPREPLY < <(compgen -W \"$options\" -- \"$word\")\n"
          "        return ;;\n    esac\n"
          "    case \"$command $before\" in\n        --completion*",
          to);
    for (const command *const *c = commands; *c; c++) print_options(to, *c, true);
    fputs(")\n            return ;;\n    esac\n"
          "    mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n}\n"
          "complete -o filenames -F _heatledger heatledger\n",
          to);
}

/* ------------------------------------------------------------------- zsh -- */

/* Text inside single quotes of a zsh word that is split at colons and ends an explanation at a bracket. */
static void zsh_text(FILE *to, const char *text)
{
    for (; *text; text++) {
        if (*text == '\'')
            fputs("'\\''", to);
        else if (strchr(":[]\\", *text))
            fprintf(to, "\\%c", *text);
        else
            fputc(*text, to);
    }
}

/* The meaning of an option up to its first semicolon or stop; *repeats when it may be named again. */
static void meaning_of(const char *at, const help_line *first, char *text, size_t size, bool *repeats)
{
    help_line line;
    char whole[2 * HELP_LINE_MAX];
    snprintf(whole, sizeof whole, "%s", first->text);
    for (help_kind last = HELP_OPTION; at = help_read(at, last, &line), line.kind == HELP_MORE;
         last = HELP_MORE)
        join_word(whole, sizeof whole, " ", line.text);
    *repeats = strstr(whole, "may be repeated") != NULL;
    size_t end = strcspn(whole, ";");
    const char *stop = strstr(whole, ".  ");
    if (stop && (size_t)(stop - whole) < end) end = (size_t)(stop - whole);
    snprintf(text, size, "%.*s", (int)end, whole);
}

static void zsh_options(FILE *to, const command *of)
{
    help_line line;
    help_kind last = HELP_BLANK;
    for (const char *at = of->help; at = help_read(at, last, &line), line.kind != HELP_END;
         last = line.kind) {
        if (line.kind != HELP_OPTION) continue;
        char meaning[HELP_LINE_MAX];
        bool repeats;
        meaning_of(at, &line, meaning, sizeof meaning, &repeats);
        fprintf(to, " \\\n                '%s%s[", repeats ? "*" : "", line.name);
        zsh_text(to, meaning);
        fputc(']', to);
        if (*line.value) {
            fputc(':', to);
            zsh_text(to, line.value);
            fputs(names_a_file(line.value) ? ":_files" : ": ", to);
        }
        fputc('\'', to);
    }
}

static void zsh_completion(FILE *to)
{
    fputs("#compdef heatledger\n"
          "# Made by `heatledger --completion zsh` from the commands' own help.\n"
          "_heatledger()\n{\n"
          "    local -a names\n"
          "    if (( CURRENT == 2 )); then\n        names=(",
          to);
    for (const command *const *c = commands; *c; c++) {
        fprintf(to, "\n            '%s:", (*c)->name);
        zsh_text(to, (*c)->summary);
        fputc('\'', to);
    }
    fputs(")\n        _describe command names\n        compadd -- --help --version --completion\n        "
          "return\n    fi\n"
          "    local command=$words[2]\n    shift words\n    (( CURRENT-- ))\n    case $command in\n",
          to);
    for (const command *const *c = commands; *c; c++) {
        fprintf(to, "        %s)\n            _arguments", (*c)->name);
        zsh_options(to, *c);
        fputs(" \\\n                '--help[print what it takes and exit]' '*:file:_files' ;;\n", to);
    }
    fputs("        --completion) compadd -- bash zsh ;;\n    esac\n}\n"
          "_heatledger \"$@\"\n",
          to);
}

bool shell_completion(FILE *to, const char *shell)
{
    if (!strcmp(shell, "bash"))
        bash_completion(to);
    else if (!strcmp(shell, "zsh"))
        zsh_completion(to);
    else
        return false;
    return true;
}
