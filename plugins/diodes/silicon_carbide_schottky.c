/* silicon_carbide_schottky.c - silicon-carbide Schottky diode: no stored charge, only the charge of its
 * depletion layer, the same at any current and di/dt.  docs/theory/diodes.md */
#include "barrier.h"

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    DIODE_ROWS(-0.0012, 0.006, 15, 1),
    CAPACITIVE_ROWS,
};
/* clang-format on */

/* 1.5 V at the rated current: common practice, no source. */
static const diode_kind usual = {0.95, 0.55};

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    return barrier_prepare(state, values, usual, reason);
}

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "silicon_carbide_schottky",
    .title = "silicon-carbide Schottky diode",
    .source = "S. M. Sze, Physics of Semiconductor Devices; B. J. Baliga, Fundamentals of Power "
              "Semiconductor Devices",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("silicon_carbide_schottky", "0.1.0", "heatledger", "MIT", &model);
