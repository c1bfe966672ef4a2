/* wrapped.h - long sentences and names within the eighty columns of a terminal. */
#ifndef HEATLEDGER_WRAPPED_H
#define HEATLEDGER_WRAPPED_H

#include <stdio.h>

/* Print `lead` and `text` as one line, going on in lines indented by `rest` columns. */
void wrapped_print(FILE *to, const char *lead, size_t rest, const char *text);

/* A name in the column of a table that begins at `at`, where the line stands, and is `width` wide; a longer
 * name ends its line, and what follows goes on below. */
void wrapped_name(FILE *to, size_t at, size_t width, const char *name);

#endif
