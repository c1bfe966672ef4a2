/* leaky_buck.h - a diode buck whose silicon Schottky rectifier leaks: leakage doubles every 10 K, and the
 * diode's only way out is one link of known resistance. */
#ifndef LEAKY_BUCK_H
#define LEAKY_BUCK_H

#include "drafted_adapter.h"

enum { LEAKY_RATED_VOLTS = 60, LEAKY_DOUBLING = 10, LEAKY_TEXT = 1600 };

/* Its parts as the text of a part file: high, coil, diode; the diode's heat capacity as below. */
void leaky_buck_parts(double capacity, char text[LEAKY_TEXT]);

/* The diode's resistance to the surroundings in K/W and its heat capacity in J/K; 0: none stated. End with
 * drafted_end. */
void leaky_buck_open(drafted_adapter *b, double resistance, double capacity);
/* The same, and `more` states what else there is before the design is finished. */
void leaky_buck_open_with(drafted_adapter *b, double resistance, double capacity,
                          void (*more)(drafted_adapter *b));
/* The diode's item. */
size_t leaky_buck_diode(const drafted_adapter *b);
/* Solve at this ambient, degC. */
hl_outcome leaky_buck_at(drafted_adapter *b, double celsius);

#endif
