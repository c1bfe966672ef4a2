/* difference.h - how far one quantity is from another. */
#ifndef HEATLEDGER_DIFFERENCE_H
#define HEATLEDGER_DIFFERENCE_H

#include <stdbool.h>
#include <stddef.h>

/* As hl_quantity_read, for a difference of two values in `unit_text`: of temperatures "5 K" and "5 degC" are
 * the same, and neither is a point on the scale. */
bool quantity_difference(const char *text, size_t length, const char *unit_text, double *value, char *why,
                         size_t size);

#endif
