/* csv_text.c - quotes doubled, formulas made text. */
#include "cli/csv_text.h"

#include <stdbool.h>
#include <string.h>

/* A text that begins with one of these is a formula to a spreadsheet: an apostrophe in front makes it text.
 * common practice against formula injection, no source */
static bool is_formula(const char *text)
{
    return *text && strchr("=+-@\t\r", *text) != NULL;
}

void csv_text(FILE *to, const char *text)
{
    fputc('"', to);
    if (is_formula(text)) fputc('\'', to);
    for (; *text; text++) {
        if (*text == '"') fputc('"', to);
        fputc(*text, to);
    }
    fputc('"', to);
}

void csv_field(FILE *to, const char *text)
{
    if (is_formula(text) || strpbrk(text, ",\"\r\n"))
        csv_text(to, text);
    else
        fputs(text, to);
}
