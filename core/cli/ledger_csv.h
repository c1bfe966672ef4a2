/* ledger_csv.h - a solved point as comma-separated rows. */
#ifndef HEATLEDGER_LEDGER_CSV_H
#define HEATLEDGER_LEDGER_CSV_H

#include <stdio.h>

#include "heatledger/heatledger.h"

/* One row for each part: count, watts, temperature, the limit it uses most, watts by mechanism. */
void ledger_csv(FILE *to, const hl_design *design, const hl_workspace *workspace);

#endif
