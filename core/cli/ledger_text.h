/* ledger_text.h - a result as aligned text for a terminal of eighty columns. */
#ifndef HEATLEDGER_LEDGER_TEXT_H
#define HEATLEDGER_LEDGER_TEXT_H

#include <stdio.h>

#include "heatledger/heatledger.h"

/* Print the point `workspace` solved last. */
void ledger_text(FILE *to, const hl_design *design, hl_workspace *workspace);

/* Number of limits that are used beyond 100 %. */
size_t ledger_broken(const hl_design *design, const hl_workspace *workspace);

/* A used share of a limit as it is told in whole percent: one that is broken never reads 100 %. */
double ledger_told_share(double used);

#endif
