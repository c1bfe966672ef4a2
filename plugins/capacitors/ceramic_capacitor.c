/* ceramic_capacitor.c - multilayer ceramic: capacitance over bias, a loss factor of the dielectric, a small
 * resistance of the electrodes.
 *
 * Without a table the bias law of a class 2 dielectric is C = C0 / (1 + (v / v_half)^2), v_half where half is
 * left: common practice for barium titanate (after P. Johnson's formula for its permittivity, whose exponent
 * is 1/3; from memory), flagged as a rougher law.  docs/theory/capacitors.md */
#include "spectrum.h"

enum {
    CAPACITANCE,
    RATED_VOLTAGE,
    DIELECTRIC,
    BIAS_FACTOR,
    HALF_VOLTAGE,
    TEMPERATURE_FACTOR,
    LOSS_FACTOR,
    ESR,
    SERIES_INDUCTANCE,
    RATED_RIPPLE_CURRENT,
    PARAMETERS
};

enum { CLASS_1, CLASS_2 };
static const char *const dielectrics[] = {"class_1", "class_2", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    ROW("capacitance", "F", HL_REQUIRED, 0, 1e-13, 1e-3, "capacitance without bias", "marking, or measured"),
    ROW("rated_voltage", "V", HL_REQUIRED, 0, 2, 10000, "rated dc voltage", "data sheet, or size and guess"),
    {"dielectric", "1", HL_CHOICE, HL_DEFAULT, CLASS_2, 0, 0, NULL, dielectrics, "class_1: C0G, NP0; class_2: X5R, X7R and the like", "marking, or measured over temperature"},
    CURVE_ROW("bias_factor", "1", 0.01, 1.5, "V", "capacitance over dc voltage, 1 without bias", "data sheet: capacitance over dc bias"),
    ROW("half_voltage", "V", 0, 0, 0.5, 10000, "bias that leaves half the capacitance, where there is no bias_factor; 0.6 of the rated voltage else", "data sheet, or measured"),
    CURVE_ROW("temperature_factor", "1", 0.05, 1.5, "degC", "capacitance over temperature, 1 at 25 degC", "data sheet"),
    ROW("loss_factor", "1", 0, 0, 1e-5, 0.2, "tan delta at 1 kHz; else 0.001 class 1, 0.025 class 2", "data sheet"),
    ROW("esr", "ohm", HL_DEFAULT, 0.004, 1e-4, 10, "series resistance at resonance", "impedance curve"),
    ROW("series_inductance", "H", HL_DEFAULT, 8e-10, 0, 1e-8, "ESL", "impedance above resonance, case size"),
    ROW("rated_ripple_current", "A", 0, 0, 0.01, 100, "rms current for the allowed rise", "data sheet"),
};
/* clang-format on */

typedef struct ceramic {
    double capacitance, rated_voltage, half_voltage; /* half_voltage 0: no bias effect */
    double loss_factor, resistance, inductance, rated_ripple;
    hl_curve bias, temperature;
} ceramic;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(ceramic);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    ceramic *c = state;
    bool class_2 = v[DIELECTRIC].number == CLASS_2;
    c->capacitance = v[CAPACITANCE].number;
    c->rated_voltage = v[RATED_VOLTAGE].number;
    c->bias = v[BIAS_FACTOR].curve;
    c->temperature = v[TEMPERATURE_FACTOR].curve;
    c->half_voltage = class_2 ? given_or(&v[HALF_VOLTAGE], 0.6 * c->rated_voltage) : 0.0;
    c->loss_factor = given_or(&v[LOSS_FACTOR], class_2 ? 0.025 : 0.001);
    c->resistance = v[ESR].number;
    c->inductance = v[SERIES_INDUCTANCE].number;
    c->rated_ripple = given_or(&v[RATED_RIPPLE_CURRENT], 0.0);
    return capacitor_sound(c->capacitance, c->rated_voltage, reason);
}

/* F at bias and temperature; slope: relative, 1/K. Never below a hundredth of the unbiased value. */
static double capacitance_at(const ceramic *c, double temperature, double voltage, double *slope,
                             bool *outside)
{
    double v = fabs(voltage), factor = 1.0, warm = 1.0, rate = 0.0;
    if (c->bias.n)
        factor = hl_curve_at(&c->bias, v, NULL, outside);
    else if (c->half_voltage > 0.0)
        factor = 1.0 / (1.0 + v * v / (c->half_voltage * c->half_voltage));
    if (c->temperature.n) warm = hl_curve_at(&c->temperature, temperature, &rate, outside);
    double all = factor * warm;
    *slope = all > 0.01 ? rate / warm : 0.0;
    return c->capacitance * fmax(all, 0.01);
}

static series_circuit circuit_at(const ceramic *c, double temperature, double voltage, bool *outside)
{
    double slope, farads = capacitance_at(c, temperature, voltage, &slope, outside);
    return (series_circuit){.capacitance = farads,
                            .resistance = c->resistance,
                            .loss_factor = c->loss_factor,
                            .loss_factor_slope = -c->loss_factor * slope}; /* 1/C falls as C rises */
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    const ceramic *c = state;
    double slope;
    terminal->capacitance = capacitance_at(c, temperature, voltage, &slope, NULL);
    terminal->resistance = c->resistance;
    terminal->series_inductance = c->inductance;
    terminal->rated_voltage = c->rated_voltage;
}

static void impedances(const void *state, double temperature, double voltage, const double frequency[],
                       size_t n, double real[], double imaginary[])
{
    const ceramic *c = state;
    series_circuit z = circuit_at(c, temperature, voltage, NULL);
    series_impedances(&z, c->inductance, frequency, n, real, imaginary);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const ceramic *c = state;
    bool outside = false;
    series_circuit z = circuit_at(c, temperature, stress->voltage_dc, &outside);
    series_loss(&z, stress, out);
    bool ripple = out->watts[HL_DIELECTRIC] > 0.0;
    if (ripple && outside) out->flags |= HL_OUTSIDE_CURVE;
    if (ripple && !c->bias.n && c->half_voltage > 0.0) out->flags |= HL_FALLBACK;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    const ceramic *c = state;
    size_t n = 0;
    list[n++] = (hl_limit){"capacitor voltage", "V", highest_voltage(stress), c->rated_voltage};
    if (c->rated_ripple > 0.0)
        list[n++] = (hl_limit){"ripple current", "A", ripple_rms(stress), c->rated_ripple};
    return n;
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_CAPACITOR,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
    IMPEDANCES,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "ceramic_capacitor",
    .title = "multilayer ceramic capacitor",
    .source = "IEC 60384-1; IEC 60384-21 and 60384-22",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("ceramic_capacitor", "0.1.0", "heatledger", "MIT", &model);
