/* manual_page.c - `heatledger --manual-page [COMMAND]`: man(7) source made of the help text. */
#include "cli/manual_page.h"

#include <ctype.h>
#include <string.h>

#include "cli/help_text.h"

/* One line of text: what troff would read as a request or an escape is told as it stands. */
static void print_escaped(FILE *to, const char *text)
{
    if (*text == '.' || *text == '\'') fputs("\\&", to);
    for (; *text; text++) {
        if (*text == '\\')
            fputs("\\e", to);
        else if (*text == '-')
            fputs("\\-", to);
        else
            fputc(*text, to);
    }
}

static void print_line(FILE *to, const char *text)
{
    print_escaped(to, text);
    fputc('\n', to);
}

static void print_head(FILE *to, const char *name, const char *summary)
{
    fputs(".TH ", to);
    for (const char *c = name; *c; c++) fputc(toupper((unsigned char)*c), to);
    fprintf(to, " 1 \"%s\" \"heatledger %s\" \"heatledger\"\n.SH NAME\n", HL_RELEASE_DATE, HL_VERSION);
    print_escaped(to, name);
    fputs(" \\- ", to);
    print_line(to, summary);
}

static void print_section(FILE *to, const char **section, const char *wanted)
{
    if (*section == wanted) return;
    *section = wanted;
    fprintf(to, ".SH %s\n", wanted);
}

static void print_option(FILE *to, const help_line *line)
{
    fputs(".TP\n\\fB", to);
    print_escaped(to, line->name);
    fputs("\\fR", to);
    if (*line->value) {
        fputs(" \\fI", to);
        print_escaped(to, line->value);
        fputs("\\fR", to);
    }
    fputc('\n', to);
    if (*line->text) print_line(to, line->text);
}

static void print_help(FILE *to, const char *help)
{
    static const char synopsis[] = "SYNOPSIS", description[] = "DESCRIPTION", options[] = "OPTIONS",
                      status[] = "EXIT STATUS", notes[] = "NOTES";
    const char *section = NULL;
    bool gap = false;
    help_line line = {.kind = HELP_BLANK};
    help_kind last = HELP_BLANK;
    for (const char *at = help; at = help_read(at, last, &line), line.kind != HELP_END; last = line.kind) {
        const char *before = section;
        switch (line.kind) {
        case HELP_USAGE:
            print_section(to, &section, synopsis);
            print_line(to, line.text);
            if (last == HELP_USAGE || *at == ' ') fputs(*at == ' ' ? ".br\n" : "", to);
            break;
        case HELP_OPTION:
            print_section(to, &section, options);
            print_option(to, &line);
            break;
        case HELP_MORE:
            print_line(to, line.text);
            break;
        case HELP_EXIT:
            print_section(to, &section, status);
            print_line(to, line.text);
            break;
        case HELP_PROSE:
            print_section(to, &section,
                          section == options || section == status || section == notes ? notes : description);
            if (gap && section == before) fputs(".PP\n", to);
            print_line(to, line.text);
            break;
        default:
            break;
        }
        gap = line.kind == HELP_BLANK;
    }
}

static void print_also(FILE *to, const command *of)
{
    fputs(".SH SEE ALSO\n", to);
    const char *separator = "";
    if (of) {
        fputs(".BR heatledger (1)", to);
        separator = ",\n";
    }
    for (const command *const *c = commands; *c; c++) {
        if (*c == of) continue;
        fprintf(to, "%s.BR heatledger\\-%s (1)", separator, (*c)->name);
        separator = ",\n";
    }
    fputs("\n.SH CAUTIONS\n"
          "Mains voltage and charged capacitors kill.\n"
          "An opened adapter is not isolated: discharge and verify before touching.\n"
          "Estimates replace neither measurement nor a safety assessment; local codes and qualified people "
          "decide.\n",
          to);
}

static void print_overview(FILE *to)
{
    print_head(to, "heatledger", "where the lost watts of a mains adapter go, and how hot it gets");
    fputs(".SH SYNOPSIS\nheatledger COMMAND [OPTIONS]\n.br\n"
          "heatledger \\-\\-help | \\-\\-version | \\-\\-completion bash | zsh\n.SH DESCRIPTION\n"
          "An adapter is described by its parts in YAML and by how they are joined in a short Lua script.\n"
          "heatledger solves the waveforms of every stage, books every lost watt to a part and a mechanism,\n"
          "and follows it to the surface of the case.\n.SH COMMANDS\n",
          to);
    for (const command *const *c = commands; *c; c++) {
        fprintf(to, ".TP\n\\fB%s\\fR\n", (*c)->name);
        print_line(to, (*c)->summary);
    }
    fputs(".SH EXIT STATUS\n0 good, 1 bad input, 2 a limit is broken (with \\-\\-strict), 3 no solution.\n"
          ".SH ENVIRONMENT\n.TP\n\\fBHEATLEDGER_LIBRARY\\fR\n"
          "Folder of the Lua library, where it is not beside the installed one.\n",
          to);
}

void manual_page(FILE *to, const command *of)
{
    if (of) {
        char name[80];
        snprintf(name, sizeof name, "heatledger-%s", of->name);
        print_head(to, name, of->summary);
        print_help(to, of->help);
    } else {
        print_overview(to);
    }
    print_also(to, of);
}
