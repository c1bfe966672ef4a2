/* json_tree.h - a tree of JSON that is whole or none: what memory ran out for leaves no gap in it. */
#ifndef HEATLEDGER_JSON_TREE_H
#define HEATLEDGER_JSON_TREE_H

#include <jansson.h>

/* A number that JSON can hold: null for what is not finite. */
json_t *tree_number(double value);
/* Texts name files, whose names need not be UTF-8 as JSON's texts must: other bytes are shown as '?'. */
json_t *tree_text(const char *said);

/* The object with one key more, the list with one entry more; NULL when either side is NULL for want of
 * memory, and then the other side is let go. The value is taken in any case. */
json_t *tree_put(json_t *object, const char *key, json_t *value);
json_t *tree_append(json_t *list, json_t *value);

#endif
