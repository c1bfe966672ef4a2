/* help_text.c - the lines of a command's help. */
#include "cli/help_text.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static size_t indent_of(const char *line)
{
    return strspn(line, " ");
}

/* "  --name VALUE  meaning": the name ends at a space, the value at two. */
static void split_option(const char *line, help_line *out)
{
    const char *name = line + indent_of(line);
    size_t name_length = strcspn(name, " ");
    snprintf(out->name, sizeof out->name, "%.*s", (int)name_length, name);
    const char *rest = name + name_length;
    const char *value = rest + (*rest == ' ');
    const char *gap = *value == ' ' || !*value ? value : strstr(value, "  ");
    size_t length = gap ? (size_t)(gap - value) : strlen(value);
    /* One space only between a long "--name VALUE" and its meaning: the value is the word in capitals. */
    if (!gap && strchr(value, ' ')) length = strcspn(value, " ");
    snprintf(out->value, sizeof out->value, "%.*s", (int)length, value);
    const char *text = value + length;
    snprintf(out->text, sizeof out->text, "%s", text + indent_of(text));
}

const char *help_read(const char *at, help_kind last, help_line *out)
{
    char line[HELP_LINE_MAX];
    memset(out, 0, sizeof *out);
    if (!*at) {
        out->kind = HELP_END;
        return at;
    }
    size_t length = strcspn(at, "\n");
    snprintf(line, sizeof line, "%.*s", (int)length, at);
    size_t indent = indent_of(line);
    bool in_option = last == HELP_OPTION || last == HELP_MORE;
    snprintf(out->text, sizeof out->text, "%s", line + indent);
    if (!line[indent])
        out->kind = HELP_BLANK;
    else if (!strncmp(line, "usage: ", 7) || (last == HELP_USAGE && indent))
        out->kind = HELP_USAGE;
    else if (!strncmp(line, "exit: ", 6) || (last == HELP_EXIT && indent))
        out->kind = HELP_EXIT;
    else if (indent == 2 && !strncmp(line + 2, "--", 2))
        out->kind = HELP_OPTION;
    else if (in_option && indent >= 6)
        out->kind = HELP_MORE;
    else
        out->kind = HELP_PROSE;
    if (out->kind == HELP_OPTION) split_option(line, out);
    if (!strncmp(out->text, "usage: ", 7)) memmove(out->text, out->text + 7, strlen(out->text + 7) + 1);
    if (!strncmp(out->text, "exit: ", 6)) memmove(out->text, out->text + 6, strlen(out->text + 6) + 1);
    return at + length + (at[length] == '\n');
}
