/* wrapped.h - a long sentence within the eighty columns of a terminal. */
#ifndef HEATLEDGER_WRAPPED_H
#define HEATLEDGER_WRAPPED_H

#include <stdio.h>

/* Print `lead` and `text` as one line, going on in lines indented by `rest` columns. */
void wrapped_print(FILE *to, const char *lead, size_t rest, const char *text);

#endif
