/* silicon_carbide_mosfet.c - silicon-carbide MOSFET: flat on-resistance over temperature, a body diode with
 * a high drop and little stored charge, output capacitance of a depletion layer.
 * source: B. J. Baliga, Fundamentals of Power Semiconductor Devices, ch. 6 and 9.  docs/theory/switches.md */
#include "transistor_loss.h"

enum { PARAMETERS = TRANSISTOR_PARAMETERS + RECOVERY_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    TRANSISTOR_ROWS(18, 3, 8, "body_diode_voltage", 2.8, 0, -0.003, "threshold of the body diode at 25 degC"),
    RECOVERY_ROWS,
};
/* clang-format on */

/* About 1.4 times the on-resistance at 150 degC; C ~ v^-1/2: common practice, no source. */
static const transistor_kind usual = {0.5, 1.0};

static size_t state_size(const hl_value *values)
{
    return transistor_size(values);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    if (!transistor_prepare(state, values, usual, reason)) return false;
    transistor_prepare_recovery(state, values + TRANSISTOR_PARAMETERS);
    return true;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    transistor_present(state, temperature, voltage, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    transistor_loss(state, stress, temperature, out);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    return transistor_limits(state, stress, list);
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_SWITCH,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "silicon_carbide_mosfet",
    .title = "silicon-carbide MOSFET",
    .source =
        "B. J. Baliga, Fundamentals of Power Semiconductor Devices; N. Mohan, T. Undeland, W. Robbins, Power "
        "Electronics; P. O. Lauritzen, C. L. Ma, IEEE Trans. Power Electronics 6(2), 1991",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("silicon_carbide_mosfet", "0.1.0", "heatledger", "MIT", &model);
