/* film_capacitor.c - polypropylene or polyester film: a loss factor of the film, a resistance of the metal.
 * Temperature is left out: both move by some ten per cent over the working range.  docs/theory/capacitors.md
 */
#include "film.h"

enum { PARAMETERS = FILM_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    FILM_ROWS(HL_REQUIRED, 0),
};
/* clang-format on */

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(film_capacitor);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    return film_prepare(state, values, reason);
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)temperature;
    (void)voltage;
    film_present(state, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    (void)temperature;
    film_loss(state, stress, out);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    return film_limits(state, stress, list);
}

static void impedance(const void *state, double temperature, double voltage, double frequency, double *real,
                      double *imaginary)
{
    (void)temperature;
    (void)voltage;
    film_impedance(state, frequency, real, imaginary);
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_CAPACITOR,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
    .impedance = impedance,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "film_capacitor",
    .title = "film capacitor",
    .source = "IEC 60384-1; IEC 60384-16",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

static const hl_model *const models[] = {&model};

HL_EXPORT const hl_plugin hl_plugin_table = {
    .struct_size = sizeof(hl_plugin),
    .abi = HL_PLUGIN_ABI,
    .name = "film_capacitor",
    .version = "0.1.0",
    .author = "heatledger",
    .licence = "MIT",
    .models = models,
    .n_models = 1,
};
