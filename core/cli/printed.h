/* printed.h - what commands print: counted words, JSON, and whether it arrived. */
#ifndef HEATLEDGER_PRINTED_H
#define HEATLEDGER_PRINTED_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

/* A document as JSON to stdout; released here, also when it fails.  `order` is JSON_SORT_KEYS for one whose
 * keys have none.  false, and errno: no document for want of memory, or it did not arrive; printed_whole says
 * so. */
bool printed_json(json_t *document, size_t order);

/* "s" of so many things, "" of one. */
const char *printed_plural(size_t n);

/* At the end of a command: all that was printed has arrived, and what was `good` so far stays it.  Otherwise
 * stderr says why not. */
bool printed_whole(bool good);

#endif
