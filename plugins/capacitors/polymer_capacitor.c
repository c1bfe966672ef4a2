/* polymer_capacitor.c - aluminium capacitor with conductive polymer: a low ESR that hardly moves with
 * temperature, and a life that falls to a tenth per 20 K.  docs/theory/capacitors.md */
#include "wet_device.h"

enum { PARAMETERS = WET_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    WET_ROWS(4e-9, 6.02, 5),
};
/* clang-format on */

/* ESR flat over temperature within some ten per cent; tan delta 0.08, of it 0.01 the oxide, where nothing is
 * stated: common practice, no source. */
static const wet_kind usual = {0.95, 60.0, 0.08, 0.01};

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    return wet_prepare(state, values, usual, reason);
}

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "polymer_capacitor",
    .title = "aluminium capacitor, polymer electrolyte",
    .source = "IEC 60384-1; S. G. Parler, IEEE IAS 2002",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("polymer_capacitor", "0.1.0", "heatledger", "MIT", &model);
