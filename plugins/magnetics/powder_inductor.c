/* powder_inductor.c - a core with its gap spread through the material: permeability falls with bias.
 *
 *   L(I) = mu0 mu_i N^2 A / path * share(H),  H = N I / path
 *   B(H) = mu0 mu_i integral_0^H share dH
 * share is the material's curve of permeability over dc field. The stage solves its waves with L at
 * bias_current (the working current); how much is left at the peak is a limit.
 * source: Ampere's law over the mean path; curve: material data sheet. */
#include <string.h>

#include "core_loss.h"
#include "permeability_check.h"
#include "value_check.h"
#include "winding_loss.h"

enum {
    INDUCTANCE,
    FACTOR,
    PERMEABILITY,
    SHARE,
    BIAS_CURRENT,
    WINDING,
    CORE = WINDING + WINDING_ROWS,
    PARAMETERS = CORE + CORE_ROWS
};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"inductance", "H", HL_NUMBER, 0, 0, 1e-9, 1, NULL, NULL, "without bias; from inductance_factor or permeability when not stated", "LCR meter, or data sheet"},
    {"inductance_factor", "H", HL_NUMBER, 0, 0, 1e-10, 1e-4, NULL, NULL, "per turn squared, without bias", "core data sheet, AL"},
    {"relative_permeability", "1", HL_NUMBER, 0, 0, 4, 2000, NULL, NULL, "initial, of the material", "core data sheet"},
    {"permeability_over_bias", "1", HL_CURVE, 0, 0, 0.005, 1.2, "A/m", NULL, "share of the initial permeability left over dc field strength", "material data sheet"},
    {"bias_current", "A", HL_NUMBER, 0, 0, 0, 1000, NULL, NULL, "current at which the circuit sees the inductance; none when not stated", "mean working current"},
    WINDING_TABLE(HL_NUMBER, HL_CHOICE),
    CORE_TABLE(HL_REQUIRED),
};
/* clang-format on */

typedef struct inductor {
    double initial; /* H without bias */
    double biased;  /* H at the stated current */
    double window_area;
    const hl_curve *share; /* NULL: permeability taken as constant */
    harmonic_series series;
    magnetic_core core;
    coil winding;
} inductor;

/* Half is the usual least: common practice, no source. */
static const double most_permeability_lost = 0.5;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(inductor);
}

static double share_at(const inductor *l, double current)
{
    if (!l->share || !(l->core.path > 0.0)) return 1.0;
    return hl_curve_at(l->share, fabs(current) * l->core.turns / l->core.path, NULL, NULL);
}

/* V s at a current: N A B, with B from the integral of the curve. */
static double linkage_at(const inductor *l, double current)
{
    if (!l->share || !(l->core.path > 0.0)) return l->initial * fabs(current);
    double field = fabs(current) * l->core.turns / l->core.path;
    return l->initial * l->core.path / l->core.turns * hl_curve_integral(l->share, 0.0, field);
}

static double inductance_of(const hl_value *v, const magnetic_core *core)
{
    double square = core->turns * core->turns;
    if (v[INDUCTANCE].given) return v[INDUCTANCE].number;
    if (v[FACTOR].given) return v[FACTOR].number * square;
    double mu = core_number(&v[PERMEABILITY], 0.0);
    return core->path > 0.0 ? vacuum_permeability * mu * square * core->area / core->path : 0.0;
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    inductor *l = state;
    memset(l, 0, sizeof *l);
    if (!values_finite(v, parameters, PARAMETERS, reason)) return false;
    winding_spec spec = winding_spec_of(&v[WINDING], 0);
    conductor wire;
    if (!winding_prepare(&l->winding, &spec, 0, &wire, reason)) return false;
    if (!core_read(&l->core, &v[CORE], spec.turns, reason)) return false;
    wire.along = winding_mean_square(&wire, l->winding.layers / l->winding.portions);
    winding_tabulate(&l->winding, &wire);
    harmonic_series_prepare(&l->series, core_number(&v[WINDING + ROW_HARMONICS], 40.0), false);
    l->window_area = core_number(&v[WINDING + ROW_WINDOW_AREA], 0.0);
    l->share = v[SHARE].given ? &v[SHARE].curve : NULL;
    if (l->share && !(l->core.path > 0.0)) {
        snprintf(reason->text, sizeof reason->text,
                 "permeability_over_bias needs core_path_length, to find the field from the current");
        return false;
    }
    l->initial = inductance_of(v, &l->core);
    if (v[INDUCTANCE].given || v[FACTOR].given) {
        const char *stated = v[INDUCTANCE].given ? "inductance" : "inductance_factor";
        if (!permeability_fits(&l->core, stated, l->initial, powder_permeability, reason)) return false;
    }
    l->biased = l->initial * share_at(l, core_number(&v[BIAS_CURRENT], 0.0));
    if (l->biased > 0.0 && isfinite(l->biased)) return true;
    snprintf(reason->text, sizeof reason->text,
             "state inductance, inductance_factor, or relative_permeability with core_path_length");
    return false;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    const inductor *l = state;
    (void)voltage;
    terminal->inductance = l->biased;
    terminal->windings = 1.0;
    terminal->winding_resistance[0] =
        l->winding.resistance * copper_ratio(l->winding.coefficient, temperature);
    terminal->resistance = terminal->winding_resistance[0];
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const inductor *l = state;
    core_loss(&l->core, stress, temperature, out);
    windings_loss(&l->winding, 1, NULL, &l->series, false, stress, temperature, out);
    if ((!l->core.has_loss || !l->share) && stress->flux_voltage) out->flags |= HL_FALLBACK;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit limit[])
{
    const inductor *l = state;
    size_t n = core_limit(&l->core, linkage_at(l, stress->total_peak), temperature, limit);
    if (l->share)
        limit[n++] = (hl_limit){"permeability lost at peak current", "1",
                                fmax(1.0 - share_at(l, stress->total_peak), 0.0), most_permeability_lost};
    return n + window_limit(l->winding.copper_area, l->window_area, limit + n);
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
    .name = "powder_inductor",
    .title = "inductor on a powder core",
    .source = "P. L. Dowell, Proc. IEE 113(8), 1966 (winding); K. Venkatachalam et al., COMPEL 2002 (core); "
              "Ampere's law (bias)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("powder_inductor", "0.1.0", "heatledger", "MIT", &model);
