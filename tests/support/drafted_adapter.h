/* drafted_adapter.h - a whole adapter drawn up call by call, with all shipped models, for tests.  Whatever is
 * refused fails the running test with its message. */
#ifndef DRAFTED_ADAPTER_H
#define DRAFTED_ADAPTER_H

#include "heatledger/heatledger.h"

enum { DRAFTED_SETTINGS_MAX = 2000 };

typedef struct drafted_adapter {
    hl_host *host;
    hl_catalogue *catalogue;
    hl_draft *draft;
    hl_design *design;       /* from drafted_finish on */
    hl_workspace *workspace; /* the same */
    hl_diagnostics *said;
    double settings[DRAFTED_SETTINGS_MAX]; /* the same: defaults */
} drafted_adapter;

/* The parts as a part file's text. */
void drafted_begin(drafted_adapter *a, const char *parts);
void drafted_end(drafted_adapter *a);
void drafted_must(drafted_adapter *a, hl_status status);

void drafted_source(drafted_adapter *a, double voltage, double frequency);
void drafted_stage(drafted_adapter *a, const char *stage, const char *model, const char *fed_by);
void drafted_set(drafted_adapter *a, const char *stage, const char *name, double value);
void drafted_choose(drafted_adapter *a, const char *stage, const char *name, const char *word);
void drafted_fill(drafted_adapter *a, const char *stage, const char *slot, const char *part);
void drafted_bus_capacitor(drafted_adapter *a, const char *stage, const char *name, const char *part);
void drafted_port(drafted_adapter *a, const char *port, const char *fed_by, double voltage, double current);
/* A link of so many W/K to the surroundings. */
void drafted_cool(drafted_adapter *a, const char *place, double conductance);

void drafted_finish(drafted_adapter *a);
/* The index of a setting. */
size_t drafted_setting(const drafted_adapter *a, const char *name);
/* Finishes when it is not yet, solves at the settings, and checks the book of power to 1e-9. */
void drafted_solve(drafted_adapter *a);

#endif
