/* leaky_buck.h - a diode buck whose silicon Schottky rectifier leaks: leakage doubles every 10 K, and the
 * diode's only way out is one link of known resistance. */
#ifndef LEAKY_BUCK_H
#define LEAKY_BUCK_H

#include "heatledger/heatledger.h"

typedef struct leaky_buck {
    hl_host *host;
    hl_catalogue *catalogue;
    hl_draft *draft;
    hl_design *design;
    hl_workspace *workspace;
    hl_diagnostics *said;
    double settings[600];
    double resistance, capacity; /* K/W, J/K of the diode */
} leaky_buck;

enum { LEAKY_RATED_VOLTS = 60, LEAKY_DOUBLING = 10 };

/* capacity 0: none stated */
void leaky_buck_open(leaky_buck *b, double resistance, double capacity);
/* The same, and `more` states what else there is before the design is finished. */
void leaky_buck_open_with(leaky_buck *b, double resistance, double capacity, void (*more)(leaky_buck *b));
void leaky_buck_close(leaky_buck *b);
void leaky_buck_must(leaky_buck *b, hl_status status);
/* The index of a setting; fails the test when there is none. */
size_t leaky_buck_setting(const leaky_buck *b, const char *name);
/* The diode's item. */
size_t leaky_buck_diode(const leaky_buck *b);
/* Solve at this ambient, degC. */
hl_outcome leaky_buck_at(leaky_buck *b, double celsius);

#endif
