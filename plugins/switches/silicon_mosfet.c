/* silicon_mosfet.c - silicon MOSFET, planar, trench or superjunction.
 *
 * A superjunction's output capacitance falls by two decades within the first tens of volts: give it a table
 * output_capacitance, or both output_charge and output_energy, which fix the exponent of its charge law; with
 * neither, the exponent is taken from the voltage class.  docs/theory/switches.md */
#include "transistor_loss.h"

enum { PARAMETERS = TRANSISTOR_PARAMETERS + RECOVERY_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    TRANSISTOR_ROWS(10, 3, 5, "body_diode_voltage", 0.75, 0, -0.002, "threshold of the body diode at 25 degC"),
    RECOVERY_ROWS,
};
/* clang-format on */

/* From this voltage class on, superjunction is what is sold: common practice, no source. Exponents: 1.8 times
 * the on-resistance at 100 degC for a 650 V superjunction (2.6), about 1.45 for a trench type (1.65). */
static const double superjunction_from = 450.0; /* V */
static const transistor_kind superjunction = {0.2, 2.6}, trench = {0.5, 1.65};

static size_t state_size(const hl_value *values)
{
    return transistor_size(values);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    bool high = values[RATED_VOLTAGE].number >= superjunction_from;
    if (!transistor_prepare(state, values, high ? superjunction : trench, reason)) return false;
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
    .name = "silicon_mosfet",
    .title = "silicon MOSFET, superjunction included",
    .source =
        "B. J. Baliga, Fundamentals of Power Semiconductor Devices; N. Mohan, T. Undeland, W. Robbins, Power "
        "Electronics; P. O. Lauritzen, C. L. Ma, IEEE Trans. Power Electronics 6(2), 1991",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("silicon_mosfet", "0.1.0", "heatledger", "MIT", &model);
