/* unit.h - unit text taken apart: "mm^2", "W/(m K)", "ppm/K". */
#ifndef HEATLEDGER_UNIT_H
#define HEATLEDGER_UNIT_H

#include <stdbool.h>
#include <stddef.h>

#include "heatledger/quantity.h"

/* One value in this unit is multiple / divisor * 10^exponent in SI (then + 273.15 for celsius).
 * Powers of ten stay apart so that "150 mohm" reads as the double nearest to 0.150. */
typedef struct unit {
    hl_dimension dimension;
    int exponent;
    double multiple, divisor; /* exact small integers: 60, 3600, 254 */
    bool celsius;             /* degC standing alone: counted from 273.15 K */
    bool composed;            /* more than one symbol, or a power */
    bool prefixed;            /* the first symbol carries a prefix */
    size_t prefix_length;     /* bytes of it */
    size_t symbol_start;      /* where the first symbol begins, prefix included */
} unit;

/* length bytes of UTF-8.  false: *bad and *bad_length (may be NULL) point at what is no unit. */
bool unit_parse(const char *text, size_t length, unit *parsed, const char **bad, size_t *bad_length);

/* An SI prefix at the start of text: its bytes, 0 for none; *exponent gets the power of ten. */
size_t prefix_at(const char *text, size_t length, int *exponent);

/* Symbols (without prefix) in table order, NULL at the end: for suggestions. */
const char *unit_symbol(size_t index);

bool dimension_equal(hl_dimension a, hl_dimension b);
bool dimension_none(hl_dimension dimension);

/* "a voltage", "a resistance"; NULL when the dimension has no name of its own. */
const char *dimension_name(hl_dimension dimension);

/* Bytes of white space at the start of text, counting no-break and thin spaces. */
size_t space_at(const char *text, size_t length);

#endif
