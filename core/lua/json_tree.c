/* json_tree.c - numbers, keys and entries of a tree that is whole or none. */
#include "lua/json_tree.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

json_t *tree_number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *tree_text(const char *said)
{
    json_t *plain = json_string(said);
    char *copy = plain ? NULL : strdup(said);
    if (!copy) return plain;
    for (char *c = copy; *c; c++)
        if ((unsigned char)*c >= 0x80) *c = '?';
    plain = json_string(copy);
    free(copy);
    return plain;
}

json_t *tree_put(json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new(object, key, value) == 0) return object;
    json_decref(object);
    return NULL;
}

json_t *tree_append(json_t *list, json_t *value)
{
    if (json_array_append_new(list, value) == 0) return list;
    json_decref(list);
    return NULL;
}
