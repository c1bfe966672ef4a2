/* series.h - values that come in rows: curves, lists of numbers, lists of words. */
#ifndef HEATLEDGER_SERIES_H
#define HEATLEDGER_SERIES_H

#include "catalogue/value.h"

/* Each sets value->curve, and number, minimum and maximum to its first entry. */
bool curve_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value,
                hl_band *band);
/* Rows [[x, y], ...] alone. */
bool table_read(value_reader *reader, const hl_parameter *parameter, const node *table, hl_value *value);
bool list_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value);
bool choices_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value);

/* A curve of one point, good for every x. */
bool curve_flat(arena *memory, double y, hl_value *value);

/* Index of the word at a node, -1 when it is none of the parameter's. */
int choice_read(value_reader *reader, const hl_parameter *parameter, const node *from);

#endif
