/* spreader_charger.h - the parts of the desk charger with every item on one heat spreader, and points to
 * solve it at: some far apart, some neighbours that differ in the last digits. */
#ifndef SPREADER_CHARGER_H
#define SPREADER_CHARGER_H

#include "heatledger/heatledger.h"

enum { SETTINGS_MAX = 2000, POINTS = 12 };

typedef struct charger {
    hl_host *host;
    hl_catalogue *catalogue;
    hl_draft *draft;
    hl_design *design;
    hl_diagnostics *said;
    double point[POINTS][SETTINGS_MAX];
} charger;

/* Fails the running test with its message when it cannot. */
charger *charger_begin(void);
void charger_end(charger *c);

#endif
