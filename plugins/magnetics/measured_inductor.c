/* measured_inductor.c - an inductor known by what an instrument said: inductance, resistance, saturation.
 *
 * Winding loss by dc resistance and, when stated, a measured curve of ac over dc resistance; core loss when
 * a Steinmetz fit with turns, area and volume is stated. With the required values alone it is an ideal
 * inductor and a copper resistance: an honest lower bound, flagged as such where it carries ripple. */
#include <string.h>

#include "core_loss.h"
#include "permeability_check.h"
#include "value_check.h"
#include "winding_loss.h"

enum {
    INDUCTANCE,
    RESISTANCE,
    RATIO,
    MEASURED_AT,
    SATURATION_CURRENT,
    RATED_CURRENT,
    COEFFICIENT,
    HARMONICS,
    TURNS,
    CORE,
    PARAMETERS = CORE + CORE_ROWS
};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"inductance", "H", HL_NUMBER, HL_REQUIRED, 0, 1e-9, 10, NULL, NULL, "at working current and frequency", "LCR meter, or data sheet"},
    {"dc_resistance", "ohm", HL_NUMBER, HL_REQUIRED, 0, 1e-6, 10e3, NULL, NULL, "of the winding at 20 degC", "measured with four wires, or data sheet"},
    {"resistance_ratio", "1", HL_CURVE, 0, 0, 0.9, 10e3, "Hz", NULL, "ac over dc resistance over frequency, without core loss", "LCR meter, core removed; or data sheet"},
    {"resistance_temperature", "degC", HL_NUMBER, 0, 0, 223.15, 473.15, NULL, NULL, "at which that curve was measured; 25 degC when not stated", "thermometer"},
    {"saturation_current", "A", HL_CURVE, 0, 0, 1e-3, 10e3, "degC", NULL, "peak current the core must stay below, over temperature", "data sheet, or the knee of a current ramp"},
    {"rated_current", "A", HL_NUMBER, 0, 0, 1e-3, 10e3, NULL, NULL, "rms current by heating", "data sheet"},
    {"temperature_coefficient", "1/K", HL_NUMBER, 0, 0, 1e-3, 1e-2, NULL, NULL, "of the resistance at 20 degC; copper 0.00393 / K when not stated", "IEC 60028"},
    {"harmonics", "1", HL_NUMBER, 0, 0, 1, 400, NULL, NULL, "harmonics the ac loss counts; 40 when not stated", "period over rise time, divided by 3"},
    {"turns", "1", HL_NUMBER, 0, 0, 0.5, 5000, NULL, NULL, "turns, for core loss", "counted"},
    CORE_TABLE(0),
};
/* clang-format on */

typedef struct inductor {
    double inductance, rated_current;
    const hl_curve *saturation_current;
    bool bare; /* nothing beyond the required values */
    harmonic_series series;
    magnetic_core core;
    coil winding;
} inductor;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(inductor);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    inductor *l = state;
    memset(l, 0, sizeof *l);
    if (!values_finite(v, parameters, PARAMETERS, reason)) return false;
    l->inductance = v[INDUCTANCE].number;
    l->winding.resistance = v[RESISTANCE].number;
    if (!(l->inductance > 0.0 && l->winding.resistance >= 0.0)) {
        snprintf(reason->text, sizeof reason->text,
                 "inductance %.3g H and dc_resistance %.3g ohm must be above zero", l->inductance,
                 l->winding.resistance);
        return false;
    }
    l->winding.coefficient = core_number(&v[COEFFICIENT], copper_coefficient);
    l->winding.measured = v[RATIO].given ? &v[RATIO].curve : NULL;
    l->winding.measured_ratio = copper_ratio(l->winding.coefficient, core_number(&v[MEASURED_AT], 298.15));
    l->saturation_current = v[SATURATION_CURRENT].given ? &v[SATURATION_CURRENT].curve : NULL;
    l->rated_current = core_number(&v[RATED_CURRENT], 0.0);
    harmonic_series_prepare(&l->series, core_number(&v[HARMONICS], 40.0), false);
    if (!core_read(&l->core, &v[CORE], core_number(&v[TURNS], 0.0), reason)) return false;
    if (!permeability_fits(&l->core, "inductance", l->inductance, permeability_limit(&l->core, 0.0), reason))
        return false;
    l->bare = !l->winding.measured || !l->core.has_loss;
    return true;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    const inductor *l = state;
    (void)voltage;
    terminal->inductance = l->inductance;
    terminal->windings = 1.0;
    terminal->winding_resistance[0] =
        l->winding.resistance * copper_ratio(l->winding.coefficient, temperature);
    terminal->resistance = terminal->winding_resistance[0];
    terminal->rated_current = l->rated_current;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const inductor *l = state;
    core_loss(&l->core, stress, temperature, out);
    windings_loss(&l->winding, 1, NULL, &l->series, false, stress, temperature, out);
    if (l->bare && stress->flux_voltage) out->flags |= HL_FALLBACK;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit limit[])
{
    const inductor *l = state;
    size_t n = 0;
    if (l->saturation_current)
        limit[n++] = (hl_limit){"saturation current", "A", fabs(stress->total_peak),
                                hl_curve_at(l->saturation_current, temperature, NULL, NULL)};
    if (l->rated_current > 0.0)
        limit[n++] = (hl_limit){"rated current", "A", fabs(stress->total_rms), l->rated_current};
    double linkage = l->inductance * fabs(stress->total_peak);
    return n + core_limit(&l->core, linkage, temperature, limit + n);
}

static const hl_device device = {
    .struct_size = sizeof device,
    .family = HL_FAMILY_MAGNETIC,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
};

static const hl_model model = {
    .struct_size = sizeof model,
    .name = "measured_inductor",
    .title = "inductor by measured values",
    .source = "IEC 60028 (copper); K. Venkatachalam et al., COMPEL 2002 (core)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("measured_inductor", "0.1.0", "heatledger", "MIT", &model);
