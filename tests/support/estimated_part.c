#include "estimated_part.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "story.h"

hl_host *estimated_host;
hl_diagnostics *estimated_said;
hl_catalogue *estimated_catalogue;

void estimated_load(void)
{
    hl_diagnostics *said = hl_diagnostics_create();
    estimated_host = hl_host_create();
    bool good = hl_host_load_folder(estimated_host, HL_TEST_PLUGINS, said) == HL_OK;
    hl_diagnostics_destroy(said);
    if (good) return;
    fputs("the models cannot be loaded\n", stderr);
    abort();
}

void estimated_unload(void)
{
    hl_host_destroy(estimated_host);
}

void estimated_begin_bare(void)
{
    estimated_said = hl_diagnostics_create();
    estimated_catalogue = hl_catalogue_create(estimated_host);
}

void estimated_begin(void)
{
    estimated_begin_bare();
    ck_assert_int_eq(hl_catalogue_read_rules_folder(estimated_catalogue, ESTIMATED_RULES, estimated_said),
                     HL_OK);
}

void estimated_end(void)
{
    hl_catalogue_destroy(estimated_catalogue);
    hl_diagnostics_destroy(estimated_said);
}

const hl_part *estimated_part(const char *fields)
{
    char text[1200];
    snprintf(text, sizeof text, "parts:\n  x: { %s }\n", fields);
    hl_status status =
        hl_catalogue_read_text(estimated_catalogue, "x.yaml", text, strlen(text), estimated_said);
    ck_assert_msg(status == HL_OK, "%s: %s", fields,
                  hl_diagnostics_count(estimated_said) ? hl_diagnostics_text(estimated_said, 0) : "?");
    return hl_catalogue_find(estimated_catalogue, "x");
}

size_t estimated_index(const hl_part *part, const char *name)
{
    const hl_model *model = hl_part_model(part);
    for (size_t i = 0; i < model->n_parameters; i++)
        if (!strcmp(hl_model_parameter(model, i)->name, name)) return i;
    for (size_t i = 0; i < HL_COMMONS; i++)
        if (!strcmp(hl_common_parameter(i)->name, name)) return model->n_parameters + i;
    ck_abort_msg("%s has no %s", model->name, name);
}

const hl_value *estimated_value(const hl_part *part, size_t i)
{
    size_t n = hl_part_model(part)->n_parameters;
    return i < n ? &hl_part_values(part)[i] : &hl_part_commons(part)[i - n];
}

const hl_band *estimated_band(const hl_part *part, size_t i)
{
    size_t n = hl_part_model(part)->n_parameters;
    return i < n ? &hl_part_bands(part)[i] : &hl_part_common_bands(part)[i - n];
}

double estimated_number(const hl_part *part, const char *name)
{
    const hl_value *value = estimated_value(part, estimated_index(part, name));
    ck_assert_msg(value->given, "%s is not known", name);
    return value->number;
}
