#include "json_entry.h"

#include <check.h>
#include <string.h>

const json_t *json_entry(const json_t *document, const char *list, const char *key, const char *name)
{
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(document, list), i, entry)
    {
        if (!strcmp(json_string_value(json_object_get(entry, key)), name)) return entry;
    }
    ck_abort_msg("no %s %s in %s", key, name, list);
}

double json_figure(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    ck_assert_msg(json_is_number(value), "no number '%s'", key);
    return json_number_value(value);
}
