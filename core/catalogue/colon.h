/* colon.h - what was meant to be "name: value", and has no colon that YAML takes for one. */
#ifndef HEATLEDGER_COLON_H
#define HEATLEDGER_COLON_H

#include <stddef.h>

/* What a line lacks, and how it is written: "no colon after 'resistance'; write 'resistance: 5 ohm'". */
void colon_advice(const char *line, size_t length, char *sentence, size_t size);

/* The word of `words` (NULL-ended) that the text begins with, a blank, a colon or an equals sign and more
 * behind it, as in "resistance 5 ohm"; NULL: none. */
const char *colon_lacks(const char *text, size_t length, const char *const *words);

#endif
