/* json_entry.h - the entry of a list of objects whose `key` is `name`; without one the running test fails. */
#ifndef JSON_ENTRY_H
#define JSON_ENTRY_H

#include <jansson.h>

const json_t *json_entry(const json_t *document, const char *list, const char *key, const char *name);

#endif
