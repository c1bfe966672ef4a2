/* junction_diode.c - silicon junction diode: forward drop over temperature, leakage, recovery over current,
 * di/dt and temperature, and the charge of its depletion layer where it is stated.  docs/theory/diodes.md */
#include "diode.h"
#include "reverse_recovery.h"

enum {
    RECOVERY_CHARGE = DIODE_PARAMETERS,
    RECOVERY_CURRENT,
    RECOVERY_SLOPE,
    RECOVERY_TEMPERATURE,
    RECOVERY_COEFFICIENT,
    CAPACITIVE,
    PARAMETERS = CAPACITIVE + CAPACITIVE_PARAMETERS
};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    DIODE_ROWS(-0.0015, 0.001, 10, 0.5),
    ROW("recovery_charge", "C", 0, 0, 1e-11, 1e-4, "reverse recovery charge, net of the capacitive charge where that is stated", "data sheet: dynamic characteristics"),
    ROW("recovery_current", "A", 0, 0, 0.05, 1000, "forward current of that test; without it the rated current", "data sheet: test conditions"),
    ROW("recovery_slope", "A/s", HL_DEFAULT | HL_CONDITION, 1e8, 1e6, 2e10, "di/dt of that test", "data sheet: test conditions"),
    ROW("recovery_temperature", "degC", HL_DEFAULT, 298.15, 233.15, 473.15, "junction temperature of that test", "data sheet: test conditions"),
    ROW("recovery_temperature_coefficient", "1/K", HL_DEFAULT, 0.01, 0, 0.03, "growth of the charge per kelvin", "data sheet: charge at two temperatures; common practice without"),
    CAPACITIVE_ROWS,
};
/* clang-format on */

/* 1.25 V at the rated current: common practice, no source. */
static const diode_kind usual = {0.8, 0.45};

typedef struct junction {
    diode diode; /* first: shared functions take the state as a diode */
    recovery recover;
    charge_piece pieces[];
} junction;

static size_t state_size(const hl_value *values)
{
    return sizeof(junction) +
           charge_pieces_for(&values[CAPACITIVE + JUNCTION_CAPACITANCE].curve) * sizeof(charge_piece);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    junction *j = state;
    if (!diode_prepare(&j->diode, values, usual, reason)) return false;
    double current = given_or(&values[RECOVERY_CURRENT], j->diode.rated_current);
    j->recover.slope = values[RECOVERY_SLOPE].number;
    j->recover.temperature = values[RECOVERY_TEMPERATURE].number;
    j->recover.coefficient = values[RECOVERY_COEFFICIENT].number;
    j->recover.life_time =
        recovery_life_time(given_or(&values[RECOVERY_CHARGE], 0.0), current, j->recover.slope);
    return diode_prepare_charge(&j->diode, values + CAPACITIVE, j->pieces, reason);
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    diode_present(state, temperature, voltage, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const junction *j = state;
    double watts = 0.0, rate;
    diode_conduction(&j->diode, stress, temperature, 1.0, out);
    diode_leakage(&j->diode, stress, temperature, 1.0, out);
    for (size_t k = 0; stress->current_off && stress->weight && k < stress->n; k++)
        watts += stress->weight[k] * recovery_power(&j->recover, stress->current_off[k],
                                                    hl_stress_at(stress->slope_off, k),
                                                    fabs(hl_stress_at(stress->voltage_off, k)),
                                                    hl_stress_at(stress->frequency, k));
    double factor = recovery_factor(&j->recover, temperature, &rate);
    out->watts[HL_REVERSE_RECOVERY] += watts * factor;
    out->slope += watts * rate;
    out->watts[HL_OUTPUT_CHARGE] += diode_charge_loss(&j->diode, stress);
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
    .name = "junction_diode",
    .title = "junction diode with reverse recovery",
    .source = "S. M. Sze, Physics of Semiconductor Devices; P. O. Lauritzen, C. L. Ma, IEEE Trans. Power "
              "Electronics "
              "6(2), 1991",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("junction_diode", "0.1.0", "heatledger", "MIT", &model);
