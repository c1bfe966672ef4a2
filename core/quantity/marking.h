/* marking.h - codes printed on parts, with the tolerance letter they may end in. */
#ifndef HEATLEDGER_MARKING_H
#define HEATLEDGER_MARKING_H

#include <stdbool.h>
#include <stddef.h>

#include "quantity/unit.h"

/* A code and nothing else: "4R7", "473K". */
bool marking_code(const char *text, size_t length, const unit *wanted, double *value, double *tolerance,
                  char *why, size_t size);

/* A code, or a quantity with its unit, as hl_marking_read; *tolerance gets the relative tolerance of a final
 * letter, 0 without one. */
bool marking_read(const char *text, size_t length, const char *wanted, double *value, double *tolerance,
                  char *why, size_t size);

#endif
