/* silicon_carbide_schottky.c - silicon-carbide Schottky diode: no stored charge, only the charge of its
 * depletion layer, the same at any current and di/dt.  docs/theory/diodes.md */
#include "diode.h"

enum { PARAMETERS = DIODE_PARAMETERS + CAPACITIVE_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    DIODE_ROWS(-0.0012, 0.006, 15, 1),
    CAPACITIVE_ROWS,
};
/* clang-format on */

/* 1.5 V at the rated current: common practice, no source. */
static const diode_kind usual = {0.95, 0.55};

typedef struct barrier {
    diode diode; /* first: shared functions take the state as a diode */
    charge_piece pieces[];
} barrier;

static size_t state_size(const hl_value *values)
{
    const hl_curve *table = &values[DIODE_PARAMETERS + JUNCTION_CAPACITANCE].curve;
    return sizeof(barrier) + charge_pieces_for(table) * sizeof(charge_piece);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    barrier *b = state;
    return diode_prepare(&b->diode, values, usual, reason) &&
           diode_prepare_charge(&b->diode, values + DIODE_PARAMETERS, b->pieces, reason);
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    diode_present(state, temperature, voltage, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const barrier *b = state;
    diode_conduction(&b->diode, stress, temperature, 1.0, out);
    diode_leakage(&b->diode, stress, temperature, 1.0, out);
    out->watts[HL_OUTPUT_CHARGE] += diode_charge_loss(&b->diode, stress);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    return diode_limits(state, stress, list);
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_DIODE,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
};

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

static const hl_model *const models[] = {&model};

HL_EXPORT const hl_plugin hl_plugin_table = {
    .struct_size = sizeof(hl_plugin),
    .abi = HL_PLUGIN_ABI,
    .name = "silicon_carbide_schottky",
    .version = "0.1.0",
    .author = "heatledger",
    .licence = "MIT",
    .models = models,
    .n_models = 1,
};
