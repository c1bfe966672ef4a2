/* value.h - one value of a part, from the node of a part file or from a lone text. */
#ifndef HEATLEDGER_VALUE_H
#define HEATLEDGER_VALUE_H

#include <stdbool.h>
#include <stddef.h>

#include "catalogue/document.h"
#include "heatledger/catalogue.h"
#include "heatledger/status.h"

typedef struct value_reader {
    arena *memory;  /* of lists and curves; NULL: they are refused */
    arena *scratch; /* of the file being read */
    const char *file;
    hl_diagnostics *diagnostics;
    hl_origin origin; /* where a value comes from that does not say so itself */
    bool starved;     /* memory ran out */
    size_t complaints;
} value_reader;

/* Past so many complaints nothing more is read: each costs a search for what was meant. */
enum { LIST_MAX = 1024, TABLE_MAX = 4096, COMPLAINTS_MAX = 200 };

/* Read `from` as the parameter wants it.  false: the problems are in diagnostics, or reader->starved. */
bool value_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value,
                hl_band *band);

/* The fallback of a parameter as an estimate with a wide band; false when it has none. */
bool value_fallback(const hl_parameter *parameter, arena *memory, hl_value *value, hl_band *band);

/* Plausible range and origin into a band, as its reader wants them. */
void band_finish(const hl_parameter *parameter, const hl_value *value, hl_band *band);

/* marking, datasheet, bench, estimate or stated; HL_ORIGIN_ABSENT: none of them, and reported. */
hl_origin origin_read(value_reader *reader, const char *label, const node *from);

/* "litz, foil, round", ended by "…" when not all fit. */
void words_listed(const char *const *words, char *text, size_t size);

/* Add "label: sentence" at the node's place. */
void value_complain(value_reader *reader, const node *at, const char *label, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

#endif
