/* suggest.h - the unit somebody probably meant. */
#ifndef HEATLEDGER_SUGGEST_H
#define HEATLEDGER_SUGGEST_H

#include <stdbool.h>
#include <stddef.h>

#include "quantity/unit.h"

/* A unit of the wanted dimension whose text is near to what was written, into near[size].
 * typed: letters may differ too, not only their case (for what is no unit at all). */
bool suggest_unit(const char *text, size_t length, const unit *wanted, bool typed, char *near, size_t size);

/* Edits between two words of at most 64 bytes, case ignored. */
size_t word_edits(const char *a, size_t n, const char *b, size_t m);

#endif
