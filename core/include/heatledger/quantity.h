/* quantity.h - text with a unit to SI and back.
 * Part of the host interface: include heatledger.h. */
#ifndef HEATLEDGER_QUANTITY_H
#define HEATLEDGER_QUANTITY_H

#include <stdbool.h>
#include <stddef.h>

#include "heatledger/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Exponents of kg, m, s, A, K; what makes two units comparable. */
typedef struct hl_dimension {
    signed char mass, length, time, current, temperature;
} hl_dimension;

/* Dimension of a unit text such as "ohm", "K/W", "W/(m K)", "1", "A^2 s".
 * false: not a unit. */
HL_EXPORT bool hl_dimension_of(const char *unit, hl_dimension *dimension);

/* Read `text` ("150 mohm", "0.33 uF", "25 degC", "45 %"; a marking such as "4k7" is none: see
 * hl_marking_read) as a quantity comparable with `unit`; *value in SI, degC as kelvin.
 *   text   UTF-8, need not end in NUL; length bytes
 *   false  *why (size bytes) gets one sentence: what is wrong and what would do
 * A bare number is accepted only when the unit has no dimension. Independent of the locale. */
HL_EXPORT bool hl_quantity_read(const char *text, size_t length, const char *unit, double *value, char *why,
                                size_t size);

/* Read values joined by x, "88 x 60 x 31 mm"; each may have its unit.  At most `room` values.
 * Returns the number read, 0 on failure. */
HL_EXPORT size_t hl_quantity_read_product(const char *text, size_t length, const char *unit, double values[],
                                          size_t room, char *why, size_t size);

/* IEC 60062 marking code: "4R7" ohm, "2n2" F, "R15", "470" with unit -> plain number. */
HL_EXPORT bool hl_marking_read(const char *text, size_t length, const char *unit, double *value, char *why,
                               size_t size);

/* Print value (SI) with a sensible prefix and `digits` significant digits: "150 mohm",
 * "23.4 degC" for unit "degC" (value in kelvin).  Never fails; truncates at size. */
HL_EXPORT void hl_quantity_print(double value, const char *unit, int digits, char *text, size_t size);

/* Print so that hl_quantity_read gives the same bits back. */
HL_EXPORT void hl_quantity_print_exact(double value, const char *unit, char *text, size_t size);

/* A bare number for tables of figures: the fewest digits that read back to the same bits, at most 17; with a
 * point in every locale. 32 bytes hold any number; truncates at size. */
HL_EXPORT void hl_number_print(double value, char *text, size_t size);

/* Check against the plausible range; false: *why says what was read, what is usual and the nearest
 * reading that would fit ("150 Mohm is outside 0.5 mohm … 20 ohm; did you mean 150 mohm?").
 * `text` is what the user wrote, for the message; low == high: anything finite passes. */
HL_EXPORT bool hl_quantity_plausible(const char *text, size_t length, double value, const char *unit,
                                     double low, double high, char *why, size_t size);

/* Nearest of the NULL-ended words by edit distance, NULL when none is near. */
HL_EXPORT const char *hl_nearest_word(const char *word, const char *const *words);

#ifdef __cplusplus
}
#endif
#endif
