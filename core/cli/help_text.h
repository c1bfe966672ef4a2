/* help_text.h - a command's help, read line by line: man pages and shell completion are made of it, so that
 * the text of --help is the one source.
 *
 * Form: "usage: ..." with indented further lines; a blank line; paragraphs; options as "  --name VALUE
 * meaning" with their further lines indented by six or more; "exit: ...". */
#ifndef HEATLEDGER_HELP_TEXT_H
#define HEATLEDGER_HELP_TEXT_H

#include <stdio.h>

enum { HELP_LINE_MAX = 400 };

typedef enum help_kind {
    HELP_USAGE,
    HELP_BLANK,
    HELP_PROSE,
    HELP_OPTION, /* name, value, text */
    HELP_MORE,   /* further text of the option above */
    HELP_EXIT,
    HELP_END,
} help_kind;

typedef struct help_line {
    help_kind kind;
    char name[40];            /* of the option, with its dashes */
    char value[60];           /* what stands behind it, or empty */
    char text[HELP_LINE_MAX]; /* the line without its indent, or the option's meaning */
} help_line;

/* The line at `at`; returns where the next begins.  `last` is the kind of the line before. */
const char *help_read(const char *at, help_kind last, help_line *line);
/* Print the help within eighty columns. */
void help_print(FILE *to, const char *help);

#endif
