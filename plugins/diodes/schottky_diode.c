/* schottky_diode.c - silicon Schottky diode: low drop, and a leakage that doubles every 10 to 15 K.
 *
 * Its leakage loss grows with its own temperature; the slope handed to the host is what finds the run-away.
 * docs/theory/diodes.md */
#include "barrier.h"

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    DIODE_ROWS(-0.0012, 0.002, 12, 1),
    CAPACITIVE_ROWS,
};
/* clang-format on */

/* 0.6 V at the rated current: common practice, no source. */
static const diode_kind usual = {0.35, 0.25};

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    return barrier_prepare(state, values, usual, reason);
}

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "schottky_diode",
    .title = "silicon Schottky diode",
    .source = "S. M. Sze, Physics of Semiconductor Devices",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("schottky_diode", "0.1.0", "heatledger", "MIT", &model);
