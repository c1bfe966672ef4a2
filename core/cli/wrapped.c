/* wrapped.c - break at the last space that fits; a word longer than a line stands alone. */
#include "cli/wrapped.h"

#include <string.h>

enum { COLUMNS = 80 };

/* Columns of UTF-8 text: bytes that begin a character. */
static size_t columns_of(const char *text, size_t bytes)
{
    size_t n = 0;
    for (size_t i = 0; i < bytes; i++) n += (text[i] & 0xC0) != 0x80;
    return n;
}

static size_t fitting(const char *text, size_t room)
{
    size_t best = 0, length = strlen(text);
    for (size_t i = 0; i <= length && columns_of(text, i) <= room; i++)
        if (i == length || text[i] == ' ') best = i;
    return best ? best : strcspn(text, " ");
}

void wrapped_print(FILE *to, const char *lead, size_t rest, const char *text)
{
    size_t used = columns_of(lead, strlen(lead));
    fputs(lead, to);
    do {
        size_t length = fitting(text, used < COLUMNS ? COLUMNS - used : 1);
        fprintf(to, "%.*s\n", (int)length, text);
        text += length;
        text += strspn(text, " ");
        used = rest;
        if (*text) fprintf(to, "%*s", (int)rest, "");
    } while (*text);
}

void wrapped_name(FILE *to, size_t at, size_t width, const char *name)
{
    size_t columns = columns_of(name, strlen(name));
    if (columns > width)
        fprintf(to, "%s\n%*s", name, (int)(at + width), "");
    else
        fprintf(to, "%s%*s", name, (int)(width - columns), "");
}
