/* csv_text.h - words in comma-separated values that no spreadsheet takes for a formula. */
#ifndef HEATLEDGER_CSV_TEXT_H
#define HEATLEDGER_CSV_TEXT_H

#include <stdio.h>

/* Text in quotes, as RFC 4180 wants it; an apostrophe stands in front of what would be a formula. */
void csv_text(FILE *to, const char *text);
/* The same, without quotes where none are needed. */
void csv_field(FILE *to, const char *text);

#endif
