/* permeability_check.h - can this core give that inductance? For slips of unit: 450 mH for 450 uH.
 *
 * The turns, the core and the inductance imply a permeability
 *   mu = L path / (mu0 N^2 A)
 * which a gap only lowers, so it cannot exceed that of the material. Nor is it below 1, since what lies in
 * the core's place carries no less flux than air. source: Ampere's law over the mean path; the highest
 * permeabilities are common practice, from memory: power ferrite 2000 to 3500, ferrite for filters and
 * signals up to 15000; nanocrystalline, amorphous and nickel iron up to 150000, all of which saturate above
 * 0.55 T where no ferrite reaches it; pressed powder up to 550. A third or more is left above each. */
#ifndef PERMEABILITY_CHECK_H
#define PERMEABILITY_CHECK_H

#include "copper.h"
#include "core_loss.h"

static const double ferrite_permeability = 20e3, metal_permeability = 200e3, powder_permeability = 2000.0;
static const double ferrite_saturation = 0.55; /* T, the highest */

/* Of a core whose material is known by its stated permeability (0: not stated), or by where it saturates. */
static inline double permeability_limit(const magnetic_core *core, double stated)
{
    double most = ferrite_permeability;
    for (size_t i = 0; core->saturation && i < core->saturation->n; i++)
        if (core->saturation->y[i] > ferrite_saturation) most = metal_permeability;
    return fmax(most, 2.0 * stated); /* tolerance of a material, shape to shape and batch to batch */
}

typedef struct shown_inductance {
    char text[16];
} shown_inductance;

static inline shown_inductance inductance_shown(double henry)
{
    static const char *const unit[] = {"H", "mH", "uH", "nH"};
    shown_inductance shown = {""};
    size_t i = 0;
    for (; i < 3 && fabs(henry) < 0.9995; i++) henry *= 1e3;
    snprintf(shown.text, sizeof shown.text, "%.4g %s", henry, unit[i]);
    return shown;
}

/* "did you mean ...": the inductance a thousand or a million times off in the direction of `step`. */
static inline void permeability_hint(char hint[48], double inductance, double permeability, double limit,
                                     double step)
{
    hint[0] = '\0';
    for (double factor = step; factor > 0.9e-6 && factor < 1.1e6; factor *= step)
        if (permeability * factor >= 5.0 && permeability * factor <= limit) {
            snprintf(hint, 48, "did you mean %s? else ", inductance_shown(inductance * factor).text);
            return;
        }
}

/* The parameter `name`, as stated, against turns and core; true where these are not all known. */
static inline bool permeability_fits(const magnetic_core *core, const char *name, double inductance,
                                     double limit, hl_reason *reason)
{
    double path = core->path > 0.0 ? core->path : core->volume / core->area;
    double air = vacuum_permeability * core->turns * core->turns * core->area / path; /* H */
    if (!(path > 0.0 && air > 0.0 && isfinite(air) && inductance > 0.0)) return true;
    double permeability = inductance / air;
    char hint[48], why[100];
    if (permeability >= 1.0 && permeability <= limit) return true;
    permeability_hint(hint, inductance, permeability, limit, permeability < 1.0 ? 1e3 : 1e-3);
    if (permeability < 1.0)
        snprintf(why, sizeof why, "less than in air, %s", inductance_shown(air).text);
    else
        snprintf(why, sizeof why, "permeability %.0f, where %s has %g at most and a gap lowers it",
                 fmin(permeability, 1e9), limit == ferrite_permeability ? "ferrite" : "such a core", limit);
    const char *metal =
        limit == ferrite_permeability && permeability > limit ? ", or state saturation_flux" : "";
    snprintf(reason->text, sizeof reason->text,
             "%.17s %.10s of %.4g turns on %.4g mm^2, path %.4g mm: %.84s; %.30scheck turns and core%s", name,
             inductance_shown(inductance).text, core->turns, 1e6 * core->area, 1e3 * path, why, hint, metal);
    return false;
}

#endif
