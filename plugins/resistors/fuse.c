/* fuse.c - fuse link: cold resistance, more of it as its own current warms the wire.
 *
 *   R(I, T) = R_cold (1 + a (T - 25 degC)) (1 + (h - 1) (I / I_rated)^2)
 * h: resistance at rated current over the cold one, from the voltage drop printed for rated current.  The
 * square follows from a rise in proportion to the heat (first order): common practice, no source. */
#include "ohmic.h"

enum {
    COLD_RESISTANCE,
    RATED_CURRENT,
    VOLTAGE_DROP,
    TEMPERATURE_COEFFICIENT,
    MELTING_INTEGRAL,
    INRUSH_INTEGRAL,
    RATED_VOLTAGE,
    PARAMETERS
};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    ROW("cold_resistance", "ohm", HL_REQUIRED, 0, 1e-4, 100, "resistance at 25 degC and small current", "data sheet, or measured"),
    ROW("rated_current", "A", HL_REQUIRED, 0, 0.02, 100, "rated current", "marking"),
    ROW("voltage_drop", "V", 0, 0, 0.01, 10, "drop at rated current", "data sheet"),
    ROW("temperature_coefficient", "1/K", HL_DEFAULT, 0.0035, 0, 0.006, "relative change of resistance per kelvin", "metal of the wire"),
    ROW("melting_integral", "A*A*s", 0, 0, 1e-4, 1e6, "melting I2t", "data sheet"),
    ROW("inrush_integral", "A*A*s", 0, 0, 1e-5, 1e6, "I2t of one inrush", "measured, or peak current and time constant"),
    ROW("rated_voltage", "V", 0, 0, 12, 1500, "rated voltage", "marking"),
};
/* clang-format on */

typedef struct fuse {
    double cold, rated_current, heating, coefficient, melting, inrush, rated_voltage;
} fuse;

static const double reference_temperature = 298.15; /* K */

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(fuse);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    fuse *f = state;
    f->cold = v[COLD_RESISTANCE].number;
    f->rated_current = v[RATED_CURRENT].number;
    f->coefficient = v[TEMPERATURE_COEFFICIENT].number;
    f->melting = given_or(&v[MELTING_INTEGRAL], 0.0);
    f->inrush = given_or(&v[INRUSH_INTEGRAL], 0.0);
    f->rated_voltage = given_or(&v[RATED_VOLTAGE], 0.0);
    if (!(f->cold > 0.0) || !(f->rated_current > 0.0)) {
        snprintf(reason->text, sizeof reason->text,
                 "cold_resistance %.3g ohm and rated_current %.3g A must be positive", f->cold,
                 f->rated_current);
        return false;
    }
    double hot = given_or(&v[VOLTAGE_DROP], 0.0) / f->rated_current;
    f->heating = hot > f->cold ? hot / f->cold - 1.0 : 0.0;
    return true;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    const fuse *f = state;
    double slope;
    terminal->resistance =
        f->cold * linear_factor(f->coefficient, temperature, reference_temperature, &slope);
    terminal->rated_current = f->rated_current;
    terminal->rated_voltage = f->rated_voltage;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const fuse *f = state;
    double slope, used = mean_square_current(stress) / (f->rated_current * f->rated_current);
    double own = f->cold * (1.0 + f->heating * fmin(used, 4.0)); /* beyond twice its rating it has opened */
    double factor = linear_factor(f->coefficient, temperature, reference_temperature, &slope);
    joule_loss(own * factor, own * slope, stress, out);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    const fuse *f = state;
    size_t n = 0;
    list[n++] = (hl_limit){"fuse current", "A", fabs(stress->total_rms), f->rated_current};
    if (f->melting > 0.0 && f->inrush > 0.0)
        list[n++] = (hl_limit){"inrush I2t", "A*A*s", f->inrush, f->melting};
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
    .kinds = HL_KINDS("fuse"),
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "fuse",
    .title = "fuse",
    .source = "Joule's law; IEC 60127-1",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("fuse", "0.1.0", "heatledger", "MIT", &model);
