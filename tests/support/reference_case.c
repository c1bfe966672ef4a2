#include "reference_case.h"

#include "story.h"

json_t *reference_open(const char *file)
{
    char path[512];
    json_error_t error;
    snprintf(path, sizeof path, "%s/reference/%s", HL_TEST_SOURCE, file);
    json_t *root = json_load_file(path, 0, &error);
    ck_assert_msg(root != NULL, "%s: %s", path, error.text);
    return root;
}

json_t *reference_at(json_t *object, const char *key)
{
    json_t *found = json_object_get(object, key);
    ck_assert_msg(found != NULL, "no '%s' in the reference", key);
    return found;
}

double reference_number(json_t *object, const char *key)
{
    json_t *value = reference_at(object, key);
    ck_assert_msg(json_is_number(value), "'%s' in the reference is no number", key);
    return json_number_value(value);
}

json_t *reference_output(json_t *one_case, const char *key)
{
    return reference_at(reference_at(reference_at(one_case, "outputs"), key), "value");
}

void reference_numbers(json_t *array, size_t n, double list[])
{
    ck_assert_uint_eq(json_array_size(array), n);
    for (size_t i = 0; i < n; i++) list[i] = json_number_value(json_array_get(array, i));
}
