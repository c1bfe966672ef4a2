/* electrolytic_capacitor.c - aluminium capacitor with liquid electrolyte: ESR that falls over frequency and
 * temperature, ripple multipliers, life by the ten-kelvin rule.  docs/theory/capacitors.md */
#include "wet_device.h"

enum { PARAMETERS = WET_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    WET_ROWS(1.5e-8, 10, 5),
};
/* clang-format on */

/* ESR falls to about 0.4 of its value at 20 degC when hot; tan delta 0.15, of it 0.015 the oxide, where
 * nothing is stated: common practice, no source. */
static const wet_kind usual = {0.35, 25.0, 0.15, 0.015};

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    return wet_prepare(state, values, usual, reason);
}

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

HL_PLUGIN_TABLE("electrolytic_capacitor", "0.1.0", "heatledger", "MIT", &model);
