/* store_text.h - what a sweep's store holds, for people and for other programs. */
#ifndef HEATLEDGER_STORE_TEXT_H
#define HEATLEDGER_STORE_TEXT_H

#include <stdio.h>

#include "heatledger/heatledger.h"

/* Counts and a table of rows within eighty columns: the best by what the plan aims at, else the first ones.
 * sweep  NULL: the plan's aim is not known */
void store_summary(FILE *to, hl_store *store, const hl_sweep *sweep, const hl_store_counts *counts,
                   hl_diagnostics *diagnostics);
/* All kept rows: RFC 4180; numbers as they are, texts that a spreadsheet would take for a formula made
 * harmless. */
hl_status store_csv(FILE *to, hl_store *store, hl_diagnostics *diagnostics);
/* Counts and kept rows in the schema heatledger.sweep/1. */
hl_status store_json(FILE *to, hl_store *store, const hl_store_counts *counts, hl_diagnostics *diagnostics);

#endif
