/* bridge.c - a package of four diodes, stressed by the current of the package: mean and rms of the rectified
 * line current, and by the mean voltage across each, half of what stands behind the bridge (voltage_dc; 0:
 * the line's own).
 *
 *   P = 2 (V0 <|i|> + r <i^2>) + k V I_leak(V),  V = peak voltage_off
 * Leakage ~ v^p loses ~ v^(p+1) = v^n.  With W(n) the mean of |sin x|^n,
 *   before a stage that follows the line two conduct and two block |v|, 1/pi V in the mean of each:  k = 2
 * W(n) on a stiff bulk capacitor none conducts but at the crest, and the two of a leg share the bus V, one (V
 * + v) / 2 and one (V - v) / 2 by equal leakage, 1/2 V in the mean:                               k = 4 W(2
 * n) as (1 +- sin x) / 2 are squares of sine and cosine of half an angle.  Between the two by the mean
 * voltage, which is exact for p = 0.  source: Kirchhoff; W(n) = Gamma((n + 1) / 2) / (pi^1/2 Gamma(n / 2 +
 * 1)), NIST Digital Library of Mathematical Functions 5.12.2.  docs/theory/diodes.md The terminal shows one
 * diode, as bridge_rectifier expects. */
#include "diode.h"

enum { PARAMETERS = DIODE_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    DIODE_ROWS(-0.0015, 0.001, 10, 0.5),
};
/* clang-format on */

/* 1.0 V at half the package's rated current: common practice, no source. */
static const diode_kind usual = {0.75, 0.5};
static const double conducting = 2.0, pi = 3.14159265358979324;

typedef struct package {
    diode diode;           /* one of the four, all alike */
    double follows, holds; /* k with the line alone, and with a stiff bus */
} package;

/* W(n): mean of |sin x|^n. */
static double sine_power_mean(double n)
{
    return tgamma(0.5 * (n + 1.0)) / (sqrt(pi) * tgamma(0.5 * n + 1.0));
}

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(package);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    package *p = state;
    if (!diode_prepare(&p->diode, values, usual, reason)) return false;
    double n = p->diode.leakage_exponent + 1.0;
    p->follows = 2.0 * sine_power_mean(n);
    p->holds = 4.0 * sine_power_mean(2.0 * n);
    return true;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    diode_present(state, temperature, voltage, terminal);
}

/* k of this stress. */
static double leaking(const package *p, const hl_stress *stress)
{
    double peak = cycle_highest(stress, stress->voltage_off), line = 1.0 / pi;
    double mean = peak > 0.0 ? fabs(stress->voltage_dc) / peak : 0.0;
    double held = cycle_larger(0.0, cycle_smaller((mean - line) / (0.5 - line), 1.0));
    return p->follows + held * (p->holds - p->follows);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const package *p = state;
    diode_conduction(&p->diode, stress, temperature, conducting, out);
    hl_stress always = *stress; /* the four together, whatever the duty of each */
    always.duty = NULL;
    diode_leakage(&p->diode, &always, temperature, leaking(p, stress), out);
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
    .name = "bridge",
    .title = "bridge rectifier package of four diodes",
    .source = "S. M. Sze, Physics of Semiconductor Devices; N. Mohan, T. Undeland, W. Robbins, Power "
              "Electronics, ch. 5",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("bridge", "0.1.0", "heatledger", "MIT", &model);
