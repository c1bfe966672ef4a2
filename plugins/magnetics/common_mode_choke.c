/* common_mode_choke.c - two equal windings on one core, the line current in both, its flux cancelled.
 *
 * What the line sees is the leakage inductance of both windings in series and their resistance. The core
 * carries the common-mode flux of flux_voltage, and the part of the leakage flux that closes through it:
 * B = leakage I / (2 N A), an upper bound since part of it closes through air (common practice, no source).
 */
#include <string.h>

#include "core_loss.h"
#include "permeability_check.h"
#include "value_check.h"
#include "winding_loss.h"

enum { WINDINGS = 2 };
enum {
    INDUCTANCE,
    LEAKAGE,
    RATED_CURRENT,
    WINDING,
    CORE = WINDING + WINDING_ROWS,
    PARAMETERS = CORE + CORE_ROWS
};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"inductance", "H", HL_NUMBER, HL_REQUIRED, 0, 1e-7, 10, NULL, NULL, "common-mode inductance, one winding with the other open", "data sheet, or LCR meter"},
    {"leakage_inductance", "H", HL_NUMBER, 0, 0, 0, 0.1, NULL, NULL, "differential, both windings in series; 1 % of the inductance when not stated", "LCR meter, the far ends of both windings joined"},
    {"rated_current", "A", HL_NUMBER, 0, 0, 1e-3, 1e3, NULL, NULL, "rms current by heating", "data sheet"},
    WINDING_TABLE(HL_NUMBER, HL_CHOICE),
    CORE_TABLE(0),
};
/* clang-format on */

typedef struct choke {
    double inductance, leakage, rated_current, window_area;
    bool guessed; /* the leakage */
    harmonic_series series;
    magnetic_core core;
    coil winding; /* each of the two */
} choke;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(choke);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    choke *c = state;
    memset(c, 0, sizeof *c);
    if (!values_finite(v, parameters, PARAMETERS, reason)) return false;
    winding_spec spec = winding_spec_of(&v[WINDING], 0);
    conductor wire;
    if (!winding_prepare(&c->winding, &spec, 0, &wire, reason)) return false;
    if (!core_read(&c->core, &v[CORE], spec.turns, reason)) return false;
    wire.along = winding_mean_square(&wire, c->winding.layers / c->winding.portions);
    winding_tabulate(&c->winding, &wire);
    harmonic_series_prepare(&c->series, core_number(&v[WINDING + ROW_HARMONICS], 40.0), false);
    c->window_area = core_number(&v[WINDING + ROW_WINDOW_AREA], 0.0);
    c->rated_current = core_number(&v[RATED_CURRENT], 0.0);
    c->inductance = v[INDUCTANCE].number;
    if (!permeability_fits(&c->core, "inductance", c->inductance, metal_permeability, reason)) return false;
    c->guessed = !v[LEAKAGE].given;
    c->leakage = core_number(&v[LEAKAGE], 0.01 * c->inductance);
    if (c->inductance > 0.0 && c->leakage >= 0.0) return true;
    snprintf(reason->text, sizeof reason->text,
             "inductance %.3g H must be above zero, leakage_inductance %.3g H not below", c->inductance,
             c->leakage);
    return false;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    const choke *c = state;
    (void)voltage;
    terminal->inductance = c->inductance;
    terminal->leakage = c->leakage;
    terminal->turns_ratio = 1.0;
    terminal->windings = WINDINGS;
    for (int w = 0; w < WINDINGS; w++)
        terminal->winding_resistance[w] =
            c->winding.resistance * copper_ratio(c->winding.coefficient, temperature);
    terminal->resistance = terminal->winding_resistance[0];
    terminal->rated_current = c->rated_current;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const choke *c = state;
    core_loss(&c->core, stress, temperature, out);
    hl_loss each = {.struct_size = sizeof each};
    for (size_t w = 0; w < WINDINGS; w++) {
        hl_stress one = *stress; /* both windings have one table */
        bool twin = w > 0 && stress->winding_current[w] == stress->winding_current[0];
        one.windings = stress->windings > w;
        one.winding_current[0] = one.windings ? stress->winding_current[w] : NULL;
        if (stress->windings && !one.windings) continue;
        if (!twin) {
            each = (hl_loss){.struct_size = sizeof each};
            windings_loss(&c->winding, 1, NULL, &c->series, false, &one, temperature, &each);
        }
        for (int m = 0; m < HL_MECHANISMS; m++) out->watts[m] += each.watts[m];
        out->slope += each.slope;
        out->flags |= each.flags;
    }
    if (c->guessed) out->flags |= HL_FALLBACK;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit limit[])
{
    const choke *c = state;
    size_t n = 0;
    if (c->rated_current > 0.0)
        limit[n++] = (hl_limit){"rated current", "A", fabs(stress->total_rms), c->rated_current};
    double linkage = 0.5 * c->leakage * fabs(stress->total_peak) + core_peak_linkage(stress);
    n += core_limit(&c->core, linkage, temperature, limit + n);
    return n + window_limit(WINDINGS * c->winding.copper_area, c->window_area, limit + n);
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
    .name = "common_mode_choke",
    .title = "common-mode choke with two windings",
    .source = "P. L. Dowell, Proc. IEE 113(8), 1966 (winding); K. Venkatachalam et al., COMPEL 2002 (core)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("common_mode_choke", "0.1.0", "heatledger", "MIT", &model);
