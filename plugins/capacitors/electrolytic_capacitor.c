/* electrolytic_capacitor.c - aluminium capacitor with liquid electrolyte: ESR that falls over frequency and
 * temperature, ripple multipliers, life by the ten-kelvin rule.  docs/theory/capacitors.md */
#include "wet_capacitor.h"

enum { PARAMETERS = WET_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    WET_ROWS(1.5e-8, 10, 5),
};
/* clang-format on */

/* ESR falls to about 0.4 of its value at 20 degC when hot; tan delta 0.15, of it 0.015 the oxide, where
 * nothing is stated: common practice, no source. */
static const wet_kind usual = {0.35, 25.0, 0.15, 0.015};

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(wet_capacitor);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    return wet_prepare(state, values, usual, reason);
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    wet_present(state, temperature, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    wet_loss(state, stress, temperature, out);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    return wet_limits(state, stress, temperature, list);
}

static void impedance(const void *state, double temperature, double voltage, double frequency, double *real,
                      double *imaginary)
{
    (void)voltage;
    wet_impedance(state, temperature, frequency, real, imaginary);
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
    .name = "electrolytic_capacitor",
    .title = "aluminium electrolytic capacitor, liquid electrolyte",
    .source = "IEC 60384-1; S. G. Parler, IEEE IAS 2002",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

static const hl_model *const models[] = {&model};

HL_EXPORT const hl_plugin hl_plugin_table = {
    .struct_size = sizeof(hl_plugin),
    .abi = HL_PLUGIN_ABI,
    .name = "electrolytic_capacitor",
    .version = "0.1.0",
    .author = "heatledger",
    .licence = "MIT",
    .models = models,
    .n_models = 1,
};
