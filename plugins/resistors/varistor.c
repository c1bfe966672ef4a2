/* varistor.c - metal-oxide varistor: only its leakage heats it in normal work.
 *
 *   I = I_rated (V / V_rated)^a 2^((T - 25 degC) / d),  P = V I
 * V: rms across it. a: exponent below the knee, far less than the 25 to 50 of the knee itself; 3 and d = 40 K
 * without better figures: common practice, no source.  Range: below the rated voltage. */
#include "ohmic.h"

enum { RATED_VOLTAGE, LEAKAGE_CURRENT, EXPONENT, LEAKAGE_DOUBLING, PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    ROW("rated_voltage", "V", HL_REQUIRED, 0, 10, 1500, "largest continuous voltage, rms", "marking"),
    ROW("leakage_current", "A", HL_DEFAULT, 1e-5, 0, 0.01, "current at rated voltage and 25 degC", "data sheet, or measured"),
    ROW("exponent", "1", HL_DEFAULT, 3, 0, 10, "a of I ~ V^a below the knee", "measured at two voltages"),
    ROW("leakage_doubling", "K", HL_DEFAULT, 40, 8, 200, "rise that doubles the leakage", "data sheet"),
};
/* clang-format on */

typedef struct varistor {
    double rated_voltage, leakage, exponent, rate;
} varistor;

static const double reference_temperature = 298.15; /* K */

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(varistor);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    varistor *r = state;
    r->rated_voltage = v[RATED_VOLTAGE].number;
    r->leakage = v[LEAKAGE_CURRENT].number;
    r->exponent = v[EXPONENT].number;
    r->rate = log(2.0) / v[LEAKAGE_DOUBLING].number;
    if (r->rated_voltage > 0.0) return true;
    snprintf(reason->text, sizeof reason->text, "rated_voltage %.3g V must be positive", r->rated_voltage);
    return false;
}

/* V rms across it: from the peak of a sine, or a dc voltage. */
static double voltage_across(const hl_stress *s)
{
    return fmax(fabs(s->voltage_peak) / sqrt(2.0), fabs(s->voltage_dc));
}

static double leakage_at(const varistor *r, double voltage, double temperature, double *slope)
{
    double exponent = r->rate * (temperature - reference_temperature);
    double current =
        r->leakage * pow(fmin(voltage / r->rated_voltage, 2.0), r->exponent) * exp(fmin(exponent, 30.0));
    *slope = exponent < 30.0 ? current * r->rate : 0.0;
    return current;
}

/* What carries the leakage at the voltage asked, as a resistance. */
static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    const varistor *r = state;
    double slope, v = fabs(voltage) > 0.0 ? fabs(voltage) : r->rated_voltage;
    double current = leakage_at(r, v, temperature, &slope);
    terminal->resistance = current > 0.0 ? v / current : 1e12;
    terminal->rated_voltage = r->rated_voltage;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const varistor *r = state;
    double slope, v = voltage_across(stress);
    out->watts[HL_LEAKAGE] += v * leakage_at(r, v, temperature, &slope);
    out->slope += v * slope;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    const varistor *r = state;
    list[0] = (hl_limit){"varistor voltage", "V", voltage_across(stress), r->rated_voltage};
    return 1;
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_RESISTOR,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
    .kinds = HL_KINDS("varistor"),
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "varistor",
    .title = "varistor across the mains",
    .source = "IEC 61643-331 (definition of the coefficient)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("varistor", "0.1.0", "heatledger", "MIT", &model);
