/* own_fuse.c - a fuse as a stranger writes it: it claims the kind, and a bridged one is none. */
#include <stdio.h>
#include <string.h>

#include "heatledger/plugin.h"

enum { RESISTANCE, LINK, PARAMETERS };
static const char *const links[] = {"melting", "bridged", NULL};

static const hl_parameter parameters[PARAMETERS] = {
    {.name = "resistance",
     .dimension = "ohm",
     .kind = HL_NUMBER,
     .flags = HL_REQUIRED,
     .low = 1e-4,
     .high = 10,
     .meaning = "of the link",
     .source = "bench"},
    {.name = "link",
     .dimension = "1",
     .kind = HL_CHOICE,
     .flags = HL_DEFAULT,
     .choices = links,
     .meaning = "what carries the current",
     .source = "bench"},
};

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(double);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    *(double *)state = values[RESISTANCE].number;
    if (values[RESISTANCE].number > 0) return true;
    snprintf(reason->text, sizeof reason->text, "resistance %g ohm", values[RESISTANCE].number);
    return false;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)temperature, (void)voltage;
    terminal->resistance = *(const double *)state;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    (void)temperature;
    out->watts[HL_CONDUCTION] += *(const double *)state * stress->total_rms * stress->total_rms;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)state, (void)stress, (void)temperature, (void)list;
    return 0;
}

static bool of_kind(const hl_value *values, const char *kind)
{
    return !strcmp(kind, "fuse") && values[LINK].number == 0;
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_RESISTOR,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
    .kinds = HL_KINDS("fuse", "fusible_link"),
    .of_kind = of_kind,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "own_fuse",
    .title = "fuse of a stranger",
    .source = "Joule's law",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("own_fuse", "1", "a stranger", "MIT", &model);
