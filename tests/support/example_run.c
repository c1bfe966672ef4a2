#include "example_run.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "command_json.h"
#include "story.h"

json_t *example_solve(const char *script, const char *voltage, const char *load, const char *ambient)
{
    char path[512], set_voltage[64], set_load[64], set_ambient[64];
    snprintf(path, sizeof path, "%s/%s", HL_PROJECT_SOURCE, script);
    snprintf(set_voltage, sizeof set_voltage, "mains.voltage=%s", voltage);
    snprintf(set_load, sizeof set_load, "load=%s", load);
    snprintf(set_ambient, sizeof set_ambient, "ambient.temperature=%s", ambient);
    const char *arguments[] = {"solve", path,     "--json", "--set",     set_voltage,
                               "--set", set_load, "--set",  set_ambient, NULL};
    return command_json(arguments);
}

double example_figure(const json_t *root, const char *group, const char *name)
{
    const json_t *value = json_object_get(json_object_get(root, group), name);
    ck_assert_msg(json_is_number(value), "no number %s.%s", group, name);
    return json_number_value(value);
}

double example_quantity(const json_t *root, const char *stage, const char *name)
{
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(root, "stages"), i, entry)
    {
        if (strcmp(json_string_value(json_object_get(entry, "stage")), stage)) continue;
        const json_t *value = json_object_get(json_object_get(entry, "quantities"), name);
        ck_assert_msg(value != NULL, "%s has no quantity %s", stage, name);
        return json_number_value(json_object_get(value, "value"));
    }
    ck_abort_msg("no stage %s", stage);
    return NAN;
}

static const json_t *part_in(const json_t *root, const char *stage, const char *slot)
{
    size_t i;
    json_t *part;
    json_array_foreach(json_object_get(root, "parts"), i, part)
    {
        if (!strcmp(json_string_value(json_object_get(part, "stage")), stage) &&
            !strcmp(json_string_value(json_object_get(part, "slot")), slot))
            return part;
    }
    ck_abort_msg("no part %s.%s", stage, slot);
    return NULL;
}

double example_used(const json_t *root, const char *stage, const char *slot, const char *limit)
{
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(part_in(root, stage, slot), "headroom"), i, entry)
    {
        if (!strcmp(json_string_value(json_object_get(entry, "limit")), limit))
            return json_number_value(json_object_get(entry, "used"));
    }
    ck_abort_msg("%s.%s has no limit '%s'", stage, slot, limit);
    return NAN;
}

double example_sum(const json_t *root, const char *list, const char *name)
{
    size_t i;
    double sum = 0;
    json_t *entry;
    json_array_foreach(json_object_get(root, list), i, entry)
    {
        const json_t *value = json_object_get(entry, name);
        ck_assert_msg(json_is_number(value), "no number %s in entry %zu of %s", name, i, list);
        sum += json_number_value(value);
    }
    ck_assert_msg(i > 0, "%s is empty", list);
    return sum;
}

void example_books_close(const json_t *root)
{
    ck_assert_str_eq(json_string_value(json_object_get(root, "status")), "solved");
    double input = example_figure(root, "power", "input_w");
    ck_assert_msg(input > 0, "input power %g W", input);
    ck_near(example_figure(root, "books", "power_imbalance_w"), 0, 0, 1e-9 * input);
    ck_near(example_figure(root, "books", "heat_imbalance_w"), 0, 0, 1e-9 * input);
    ck_near(example_figure(root, "power", "output_w") + example_figure(root, "power", "loss_w"), input, 1e-9,
            0);
}

static double temperature_of(const json_t *root, size_t part)
{
    json_t *entry = json_array_get(json_object_get(root, "parts"), part);
    return json_number_value(json_object_get(entry, "temperature_c"));
}

void example_warms_with_ambient(const char *script, const char *voltage, const char *load)
{
    static const char *const ambients[] = {"0 degC", "25 degC", "40 degC"};
    json_t *before = NULL;
    for (size_t a = 0; a < sizeof ambients / sizeof ambients[0]; a++) {
        json_t *root = example_solve(script, voltage, load, ambients[a]);
        size_t parts = json_array_size(json_object_get(root, "parts"));
        ck_assert_uint_gt(parts, 0);
        for (size_t i = 0; before && i < parts; i++)
            ck_assert_msg(temperature_of(root, i) > temperature_of(before, i),
                          "%s, part %zu: %.3f not above %.3f", script, i, temperature_of(root, i),
                          temperature_of(before, i));
        json_decref(before);
        before = root;
    }
    json_decref(before);
}
