/* resistor.c - shunt, bleeder, discharge resistor: R(T), rated power with its derating. */
#include "ohmic.h"

enum {
    RESISTANCE,
    TEMPERATURE_COEFFICIENT,
    CONNECTION,
    RATED_POWER,
    RATED_TEMPERATURE,
    ZERO_POWER_TEMPERATURE,
    RATED_VOLTAGE,
    PARAMETERS
};

/* How it is fed: by the current that passes it, or by the dc voltage it stands across. */
enum { SERIES, ACROSS };
static const char *const connections[] = {"series", "across", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    ROW("resistance", "ohm", HL_REQUIRED, 0, 1e-5, 1e9, "resistance at 25 degC", "marking"),
    ROW("temperature_coefficient", "1/K", HL_DEFAULT, 0, -0.01, 0.01, "relative change per kelvin from 25 degC", "data sheet"),
    {"connection", "1", HL_CHOICE, HL_DEFAULT, SERIES, 0, 0, NULL, connections, "series: heated by the stage's current; across: by the dc voltage of its place", "circuit"},
    ROW("rated_power", "W", 0, 0, 0.01, 500, "rated power in air up to rated_temperature", "data sheet, size"),
    ROW("rated_temperature", "degC", HL_DEFAULT, 343.15, 298.15, 473.15, "air about the part up to which rated_power holds (its terminal, where the sheet says so)", "data sheet: derating"),
    ROW("zero_power_temperature", "degC", HL_DEFAULT, 428.15, 323.15, 673.15, "air at which nothing is allowed: the highest its hot spot may be", "data sheet: derating"),
    ROW("rated_voltage", "V", 0, 0, 1, 20000, "largest working voltage", "data sheet, size"),
};
/* clang-format on */

typedef struct resistor {
    double resistance, coefficient, rated_power, full_until, zero_at, rated_voltage;
    bool across;
} resistor;

static const double reference_temperature = 298.15; /* K */

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(resistor);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    resistor *r = state;
    r->resistance = v[RESISTANCE].number;
    r->coefficient = v[TEMPERATURE_COEFFICIENT].number;
    r->across = v[CONNECTION].number == ACROSS;
    r->rated_power = given_or(&v[RATED_POWER], 0.0);
    r->full_until = v[RATED_TEMPERATURE].number;
    r->zero_at = v[ZERO_POWER_TEMPERATURE].number;
    r->rated_voltage = given_or(&v[RATED_VOLTAGE], 0.0);
    if (r->resistance > 0.0) return true;
    snprintf(reason->text, sizeof reason->text, "resistance %.3g ohm must be positive", r->resistance);
    return false;
}

static double resistance_at(const resistor *r, double temperature, double *slope)
{
    double factor = linear_factor(r->coefficient, temperature, reference_temperature, slope);
    *slope *= r->resistance;
    return r->resistance * factor;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    const resistor *r = state;
    double slope;
    terminal->resistance = resistance_at(r, temperature, &slope);
    terminal->rated_voltage = r->rated_voltage;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const resistor *r = state;
    double slope, ohms = resistance_at(r, temperature, &slope);
    if (!r->across) {
        joule_loss(ohms, slope, stress, out);
        return;
    }
    double watts = stress->voltage_dc * stress->voltage_dc / ohms;
    out->watts[HL_CONDUCTION] += watts;
    out->slope -= watts * slope / ohms;
}

/* Power the resistor may take where it is as hot as `temperature` while it takes `watts`.
 *
 * A data sheet's derating line (IEC 60115-1, from memory) is drawn over the air about the part, T_air: all of
 * P_rated up to T_rated, nothing at T_zero, straight between.  On it the hot spot T stands at T_zero:
 *
 *   T = T_air + P theta      theta = (T_zero - T_rated) / P_rated
 *
 * The temperature here is the part's own, so T_air = T - P theta is the air that would make it as hot, and
 *
 *   P_allowed = min(P_rated, (T_zero - T_air) / theta) = min(P_rated, P + (T_zero - T) / theta)
 *
 * Over the terminal in place of the air (IEC 60115-8, chips) the same holds.  Range: steady heat, rise in
 * proportion to power.  Above T_zero less than P is allowed; a hundredth at least, so that the share has a
 * figure.  docs/theory/resistors.md */
static double allowed_power(const resistor *r, double watts, double temperature)
{
    if (!(r->zero_at > r->full_until)) return r->rated_power;
    double theta = (r->zero_at - r->full_until) / r->rated_power;
    double allowed = fmin(r->rated_power, watts + (r->zero_at - temperature) / theta);
    return fmax(allowed, fmax(0.01 * watts, 1e-12 * r->rated_power));
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    const resistor *r = state;
    size_t n = 0;
    double slope, ohms = resistance_at(r, temperature, &slope);
    double voltage = r->across ? fabs(stress->voltage_dc) : fabs(stress->total_peak) * ohms;
    double watts = r->across ? voltage * voltage / ohms : ohms * mean_square_current(stress);
    if (r->rated_power > 0.0)
        list[n++] = (hl_limit){"resistor power", "W", watts, allowed_power(r, watts, temperature)};
    if (r->rated_voltage > 0.0) list[n++] = (hl_limit){"resistor voltage", "V", voltage, r->rated_voltage};
    return n;
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_RESISTOR,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "resistor",
    .title = "resistor: shunt, bleeder, discharge",
    .source = "Joule's law",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("resistor", "0.1.0", "heatledger", "MIT", &model);
