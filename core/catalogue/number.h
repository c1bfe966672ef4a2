/* number.h - one quantity: a scalar, or a mapping with a band, a marking, an origin. */
#ifndef HEATLEDGER_NUMBER_H
#define HEATLEDGER_NUMBER_H

#include "catalogue/value.h"

/* Set number, minimum, maximum and, where stated, origin. */
bool number_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value);

/* One scalar as a quantity in this unit, within low … high (equal: not checked). */
bool scalar_read(value_reader *reader, const char *label, const node *from, const char *unit, double low,
                 double high, double *number);

/* Sort the values of a mapping by the NULL-ended words it may have into found[].  Unknown keys are reported
 * with the nearest known one, twins with their first place; false when there was any. */
bool fields_read(value_reader *reader, const char *label, const node *mapping, const char *const *keys,
                 const node *found[]);

#endif
