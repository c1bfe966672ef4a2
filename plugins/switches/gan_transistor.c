/* gan_transistor.c - gallium-nitride field-effect transistor, or the same in a cascode taken as one.
 *
 * No stored charge, so no reverse recovery.  In reverse the channel itself conducts: the drop from source to
 * drain is the threshold plus whatever negative voltage the driver holds, and the slope is the on-resistance.
 * Trapped charge makes the on-resistance under switching larger than the data sheet's dc figure: the dynamic
 * factor.  source: A. Lidow et al., GaN Transistors for Efficient Power Conversion, ch. 2 (from memory);
 * the size of the dynamic factor is measured per type, no general source.  docs/theory/switches.md */
#include "transistor_loss.h"

enum { DYNAMIC_RESISTANCE_FACTOR = TRANSISTOR_PARAMETERS, PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    TRANSISTOR_ROWS(6, 1.4, 2.3, "source_drain_voltage", 1.7, 0, 0, "drop from source to drain at 25 degC, gate at 0 V, small current; a negative gate_off_voltage adds to it"),
    ROW("dynamic_resistance_factor", "1", HL_DEFAULT, 1.1, 1, 4, "on-resistance while switching over the dc value", "double-pulse measurement; maker's reliability report"),
};
/* clang-format on */

/* 2.2 to 2.4 times the on-resistance at 150 degC, two-dimensional electron gas; output charge of a lateral
 * device between constant and depletion capacitance: common practice, no source. */
static const transistor_kind usual = {0.6, 2.4};

static size_t state_size(const hl_value *values)
{
    return transistor_size(values);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    transistor *t = state;
    if (!transistor_prepare(t, values, usual, reason)) return false;
    t->channel_factor = values[DYNAMIC_RESISTANCE_FACTOR].number;
    t->reverse_voltage -= values[GATE_OFF_VOLTAGE].number;
    t->reverse_follows_channel = !values[REVERSE_RESISTANCE].given;
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
    .name = "gan_transistor",
    .title = "gallium-nitride transistor",
    .source =
        "A. Lidow et al., GaN Transistors for Efficient Power Conversion; B. J. Baliga, Fundamentals of "
        "Power Semiconductor Devices",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("gan_transistor", "0.1.0", "heatledger", "MIT", &model);
