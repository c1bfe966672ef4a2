/* estimated_part.h - one part from what is printed on it, completed by the shipped rules, for tests. */
#ifndef ESTIMATED_PART_H
#define ESTIMATED_PART_H

#include "heatledger/heatledger.h"

/* The shipped rules. */
#define ESTIMATED_RULES HL_PROJECT_SOURCE "/scripts/heatledger/estimates"

extern hl_host *estimated_host;
extern hl_diagnostics *estimated_said;
extern hl_catalogue *estimated_catalogue;

/* All models, once for all tests of a program: an unchecked fixture, which ends it when it cannot. */
void estimated_load(void);
void estimated_unload(void);

/* An empty catalogue; and with the shipped rules. */
void estimated_begin_bare(void);
void estimated_begin(void);
void estimated_end(void);

/* The part of these fields, "model: x, resistance: 1 ohm"; fails the test when it is refused. */
const hl_part *estimated_part(const char *fields);
/* A parameter of the part by name, of its model or of all parts; its value and band; its number, which must
 * be known. */
size_t estimated_index(const hl_part *part, const char *name);
const hl_value *estimated_value(const hl_part *part, size_t i);
const hl_band *estimated_band(const hl_part *part, size_t i);
double estimated_number(const hl_part *part, const char *name);

#endif
