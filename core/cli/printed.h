/* printed.h - the end of what a command prints: whether it arrived. */
#ifndef HEATLEDGER_PRINTED_H
#define HEATLEDGER_PRINTED_H

#include <jansson.h>
#include <stdbool.h>

/* A document as JSON to stdout; released here, also when it fails.  `order` is JSON_SORT_KEYS for one whose
 * keys have none.  false, and errno: no document for want of memory, or it did not arrive; printed_whole says
 * so. */
bool printed_json(json_t *document, size_t order);

/* At the end of a command: all that was printed has arrived, and what was `good` so far stays it.  Otherwise
 * stderr says why not. */
bool printed_whole(bool good);

#endif
