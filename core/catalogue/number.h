/* number.h - one quantity: a scalar, or a mapping with a band, a marking, an origin. */
#ifndef HEATLEDGER_NUMBER_H
#define HEATLEDGER_NUMBER_H

#include "catalogue/value.h"

/* Set number, minimum, maximum and, where stated, origin and band. */
bool number_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value,
                 hl_band *band);

/* One scalar as a quantity in this unit, within low … high (equal: not checked). */
bool scalar_read(value_reader *reader, const char *label, const node *from, const char *unit, double low,
                 double high, double *number);

/* Sort the values of a mapping by the NULL-ended words it may have into found[].  Unknown keys are reported
 * with the nearest known one, twins with their first place; false when there was any. */
bool fields_read(value_reader *reader, const char *label, const node *mapping, const char *const *keys,
                 const node *found[]);

/* Are two entries one value that a decimal comma has cut in two? Then it is told. */
bool comma_refused(value_reader *reader, const char *label, const node *first, const node *second);

/* Where "±", "+-" or "+/-" stands in a scalar: bytes before it, and of it; 0 = nowhere. */
size_t plus_minus_at(const char *text, size_t length, size_t *sign);

/* What a list or a table may say of its band: tolerance, factor, sigma, group, in this order. The band is
 * that of a factor around 1. */
enum { SCALE_TOLERANCE, SCALE_FACTOR, SCALE_SIGMA, SCALE_GROUP, SCALE_FIELDS };
#define SCALE_WORDS "tolerance", "factor", "sigma", "group"
bool scale_read(value_reader *reader, const char *label, const node *const fields[SCALE_FIELDS],
                hl_band *band);

/* "core", or "-core" for what falls as the others of its group rise. */
bool group_read(value_reader *reader, const char *label, const node *from, hl_band *band);

/* The one of factor, tolerance and sigma that is not NULL, for a value to come. */
bool width_read(value_reader *reader, const hl_parameter *parameter, const node *factor,
                const node *tolerance, const node *sigma, hl_band_kind *shape, double *width, bool *share);

#endif
