/* json_entry.h - pieces of a document; without them the running test fails. */
#ifndef JSON_ENTRY_H
#define JSON_ENTRY_H

#include <jansson.h>

/* The entry of a list of objects whose `key` is `name`. */
const json_t *json_entry(const json_t *document, const char *list, const char *key, const char *name);
/* An object's number. */
double json_figure(const json_t *object, const char *key);

#endif
