/* measured_transformer.c - a transformer known by what an instrument said: ratio, inductance, leakage, dc
 * resistance of each winding. Ac resistance and core loss when a measured curve and a Steinmetz fit are
 * stated; without them an ideal transformer and copper: an honest lower bound, flagged. */
#include <string.h>

#include "core_loss.h"
#include "permeability_check.h"
#include "value_check.h"
#include "winding_loss.h"

enum {
    RATIO,
    INDUCTANCE,
    LEAKAGE,
    RESISTANCE,
    AC_RATIO,
    MEASURED_AT,
    SATURATION_CURRENT,
    COEFFICIENT,
    HARMONICS,
    TURNS,
    CORE,
    PARAMETERS = CORE + CORE_ROWS
};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"turns_ratio", "1", HL_NUMBER, HL_REQUIRED, 0, 1e-3, 1e3, NULL, NULL, "turns of the first winding over those of the second", "voltage ratio at no load"},
    {"inductance", "H", HL_NUMBER, HL_REQUIRED, 0, 1e-9, 100, NULL, NULL, "magnetizing, seen from the first winding", "LCR meter, others open"},
    {"leakage_inductance", "H", HL_NUMBER, 0, 0, 0, 1, NULL, NULL, "seen from the first winding; none when not stated", "LCR meter, others shorted"},
    {"dc_resistance", "ohm", HL_LIST, HL_REQUIRED, 0, 1e-6, 10e3, NULL, NULL, "of each winding at 20 degC; a centre-tapped one is two", "measured with four wires"},
    {"resistance_ratio", "1", HL_CURVE, 0, 0, 0.9, 10e3, "Hz", NULL, "ac over dc resistance over frequency, taken for every winding", "LCR meter, others shorted"},
    {"resistance_temperature", "degC", HL_NUMBER, 0, 0, 223.15, 473.15, NULL, NULL, "at which that curve was measured; 25 degC when not stated", "thermometer"},
    {"saturation_current", "A", HL_CURVE, 0, 0, 1e-3, 10e3, "degC", NULL, "peak magnetizing current in the first winding the core must stay below", "knee of a current ramp"},
    {"temperature_coefficient", "1/K", HL_NUMBER, 0, 0, 1e-3, 1e-2, NULL, NULL, "of the resistance at 20 degC; copper 0.00393 / K when not stated", "IEC 60028"},
    {"harmonics", "1", HL_NUMBER, 0, 0, 1, 400, NULL, NULL, "harmonics the ac loss counts; 40 when not stated", "period over rise time, divided by 3"},
    {"turns", "1", HL_NUMBER, 0, 0, 0.5, 5000, NULL, NULL, "turns of the first winding, for core loss", "counted"},
    CORE_TABLE(0),
};
/* clang-format on */

typedef struct transformer {
    double ratio, inductance, leakage;
    const hl_curve *saturation_current;
    bool bare; /* nothing beyond the required values */
    harmonic_series series;
    magnetic_core core;
    size_t n;
    coil winding[]; /* n */
} transformer;

static size_t windings_of(const hl_value *v)
{
    size_t n = entries_of(&v[RESISTANCE]);
    return n < HL_WINDINGS_MAX ? n : HL_WINDINGS_MAX;
}

static size_t state_size(const hl_value *values)
{
    return sizeof(transformer) + windings_of(values) * sizeof(coil);
}

static bool prepare_winding(coil *winding, const hl_value *v, size_t w, hl_reason *reason)
{
    memset(winding, 0, sizeof *winding);
    winding->resistance = entry_of(&v[RESISTANCE], w);
    winding->coefficient = core_number(&v[COEFFICIENT], copper_coefficient);
    winding->measured = v[AC_RATIO].given ? &v[AC_RATIO].curve : NULL;
    winding->measured_ratio = copper_ratio(winding->coefficient, core_number(&v[MEASURED_AT], 298.15));
    return winding->resistance >= 0.0 || winding_refuse(reason, w, "dc_resistance must not be negative");
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    transformer *t = state;
    memset(t, 0, sizeof *t);
    if (!values_finite(v, parameters, PARAMETERS, reason)) return false;
    t->ratio = v[RATIO].number;
    t->inductance = v[INDUCTANCE].number;
    t->leakage = core_number(&v[LEAKAGE], 0.0);
    t->n = windings_of(v);
    t->saturation_current = v[SATURATION_CURRENT].given ? &v[SATURATION_CURRENT].curve : NULL;
    if (!(t->ratio > 0.0 && t->inductance > 0.0 && t->leakage >= 0.0)) {
        snprintf(reason->text, sizeof reason->text,
                 "turns_ratio %.3g and inductance %.3g H must be above zero, leakage_inductance %.3g H not "
                 "below",
                 t->ratio, t->inductance, t->leakage);
        return false;
    }
    if (entries_of(&v[RESISTANCE]) > HL_WINDINGS_MAX || t->n < 2) {
        snprintf(reason->text, sizeof reason->text,
                 "dc_resistance lists %zu windings; a transformer has 2 to %d", entries_of(&v[RESISTANCE]),
                 (int)HL_WINDINGS_MAX);
        return false;
    }
    for (size_t w = 0; w < t->n; w++)
        if (!prepare_winding(&t->winding[w], v, w, reason)) return false;
    harmonic_series_prepare(&t->series, core_number(&v[HARMONICS], 40.0), false);
    if (!core_read(&t->core, &v[CORE], core_number(&v[TURNS], 0.0), reason)) return false;
    if (!permeability_fits(&t->core, "inductance", t->inductance, permeability_limit(&t->core, 0.0), reason))
        return false;
    t->bare = !v[AC_RATIO].given || !t->core.has_loss;
    return true;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    const transformer *t = state;
    (void)voltage;
    terminal->inductance = t->inductance;
    terminal->leakage = t->leakage;
    terminal->turns_ratio = t->ratio;
    terminal->windings = (double)t->n;
    for (size_t w = 0; w < t->n; w++)
        terminal->winding_resistance[w] =
            t->winding[w].resistance * copper_ratio(t->winding[w].coefficient, temperature);
    terminal->resistance = terminal->winding_resistance[0];
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const transformer *t = state;
    core_loss(&t->core, stress, temperature, out);
    windings_loss(t->winding, t->n, NULL, &t->series, false, stress, temperature, out);
    if (t->bare && stress->flux_voltage) out->flags |= HL_FALLBACK;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit limit[])
{
    const transformer *t = state;
    double linkage = core_peak_linkage(stress);
    size_t n = 0;
    if (t->saturation_current)
        limit[n++] = (hl_limit){"magnetizing current", "A", linkage / t->inductance,
                                hl_curve_at(t->saturation_current, temperature, NULL, NULL)};
    return n + core_limit(&t->core, linkage, temperature, limit + n);
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
    .name = "measured_transformer",
    .title = "transformer by measured values",
    .source = "IEC 60028 (copper); K. Venkatachalam et al., COMPEL 2002 (core)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("measured_transformer", "0.1.0", "heatledger", "MIT", &model);
