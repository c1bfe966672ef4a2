/* row_table.h - rows of a store as an aligned table within eighty columns. */
#ifndef HEATLEDGER_ROW_TABLE_H
#define HEATLEDGER_ROW_TABLE_H

#include <stdbool.h>
#include <stdio.h>

#include "heatledger/heatledger.h"

typedef struct row_table row_table;

/* Rows ordered by a column, the best first; `by` NULL: in the order of points.  NULL: no memory. */
row_table *row_table_create(size_t most, const char *by, bool highest);
void row_table_destroy(row_table *table);
/* An hl_row; the context is the table.  Keeps a copy of the row while it is among the `most` shown. */
bool row_table_add(void *table, size_t columns, const char *const names[], const char *const values[],
                   const bool is_text[]);
/* The table, its header in as many lines as its names need; columns without room are counted below it. */
void row_table_print(const row_table *table, FILE *to);

#endif
