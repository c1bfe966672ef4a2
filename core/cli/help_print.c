/* help_print.c - a command's help, filled to eighty columns however its lines were written. */
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "cli/help_text.h"
#include "diagnostic/joined.h"

enum { COLUMNS = 79, PARAGRAPH_MAX = 4000 };

typedef struct filler {
    FILE *to;
    char text[PARAGRAPH_MAX];
    size_t first, rest; /* columns before the first line, and before the others */
    char lead[120];     /* printed at the beginning, within `first` */
} filler;

/* Where to break: at the last space that fits; in a usage before a bracket rather than inside one. */
static size_t fitting(const char *text, size_t room)
{
    size_t length = strlen(text);
    if (length <= room) return length;
    size_t best = 0;
    int depth = 0;
    for (size_t i = 0; i <= room && text[i]; i++) {
        depth += (text[i] == '[') - (text[i] == ']');
        if (text[i] == ' ' && depth <= 0) best = i;
    }
    return best ? best : strcspn(text, " ");
}

static void flush(filler *f)
{
    const char *text = f->text;
    if (!*text && !*f->lead) return;
    size_t indent = f->first;
    fprintf(f->to, "%-*s", (int)f->first, f->lead);
    while (*text) {
        size_t length = fitting(text, COLUMNS - indent);
        size_t shown = length; /* two spaces end a sentence, but no line */
        while (shown > 0 && text[shown - 1] == ' ') shown--;
        fprintf(f->to, "%.*s\n", (int)shown, text);
        text += length;
        text += strspn(text, " ");
        indent = f->rest;
        if (*text) fprintf(f->to, "%*s", (int)indent, "");
    }
    if (!*f->text) fputc('\n', f->to);
    f->text[0] = f->lead[0] = '\0';
}

static void begin(filler *f, const char *lead, size_t rest)
{
    flush(f);
    snprintf(f->lead, sizeof f->lead, "%s", lead);
    f->first = strlen(lead) + 1 > rest ? strlen(lead) + 2 : rest;
    f->rest = rest;
}

void help_print(FILE *to, const char *help)
{
    filler f = {.to = to};
    help_line line = {.kind = HELP_BLANK};
    help_kind last = HELP_BLANK;
    for (const char *at = help; at = help_read(at, last, &line), line.kind != HELP_END; last = line.kind) {
        char lead[120];
        switch (line.kind) {
        case HELP_USAGE:
            if (last != HELP_USAGE) begin(&f, "usage:", 11), f.first = 7;
            join_word(f.text, sizeof f.text, " ", line.text);
            break;
        case HELP_OPTION:
            snprintf(lead, sizeof lead, "  %s%s%s", line.name, *line.value ? " " : "", line.value);
            begin(&f, lead, 21);
            join_word(f.text, sizeof f.text, " ", line.text);
            break;
        case HELP_BLANK:
            flush(&f);
            fputc('\n', to);
            break;
        case HELP_EXIT:
            if (last != HELP_EXIT) begin(&f, "exit:", 6);
            join_word(f.text, sizeof f.text, " ", line.text);
            break;
        case HELP_PROSE:
            if (last != HELP_PROSE) begin(&f, "", 0), f.first = 0;
            join_word(f.text, sizeof f.text, " ", line.text);
            break;
        default:
            join_word(f.text, sizeof f.text, " ", line.text);
        }
    }
    flush(&f);
}
