/* core_loss.h - a core: loss from its flux waveform, and how near it is to saturation. */
#ifndef CORE_LOSS_H
#define CORE_LOSS_H

#include <stdio.h>

#include "core_parameters.h"
#include "steinmetz.h"

typedef struct magnetic_core {
    double turns, area, volume, path; /* of winding 0; m^2, m^3, m; 0 where unknown */
    steinmetz fit;
    double factor;               /* W per (V^alpha (V s)^(beta - alpha)) at the fit's temperature */
    double ct[3], ct_at_fit;     /* of T in degC */
    double low, high, flux_high; /* range of the fit; 0 and infinity when not stated */
    const hl_curve *saturation;  /* NULL: not stated */
    loss_table table;            /* in place of the fit's k and beta; .curve NULL: none */
    bool has_loss;
} magnetic_core;

static inline double core_number(const hl_value *value, double otherwise)
{
    return value->given && isfinite(value->number) ? value->number : otherwise;
}

/* The loss factor over temperature and its derivative; held at a twentieth where the polynomial falls below.
 * source: form used by ferrite makers, S. A. Mulder, Application note on the design of low profile high
 * frequency transformers, 1990 (from memory); a fit to three temperatures, usual range 20 to 120 degC */
static inline double core_temperature(const magnetic_core *core, double temperature, double *slope,
                                      uint32_t *flags)
{
    double t = temperature - 273.15;
    double factor = (core->ct[0] - core->ct[1] * t + core->ct[2] * t * t) / core->ct_at_fit;
    *slope = (-core->ct[1] + 2.0 * core->ct[2] * t) / core->ct_at_fit;
    if (factor > 0.05) return factor;
    *slope = 0.0;
    *flags |= HL_OUTSIDE_FIT;
    return 0.05;
}

/* What every law of loss needs: the effective core. */
static inline bool core_sized(const magnetic_core *core, hl_reason *reason)
{
    if (core->area > 0.0 && core->volume > 0.0 && core->turns > 0.0) return true;
    snprintf(reason->text, sizeof reason->text,
             "core loss needs turns, core_area and core_volume (or core_path_length)");
    return false;
}

static inline bool core_read_table(magnetic_core *core, const hl_value *row, hl_reason *reason)
{
    double alpha = core_number(&row[CORE_ALPHA], 0.0), f = core_number(&row[CORE_LOSS_FREQUENCY], 0.0);
    const char *what;
    if (!(alpha > 0.0 && f > 0.0)) {
        snprintf(reason->text, sizeof reason->text,
                 "loss_over_flux needs loss_frequency, the frequency it was read at, and steinmetz_alpha");
        return false;
    }
    if (!loss_table_sound(&row[CORE_LOSS_CURVE].curve, &what)) {
        snprintf(reason->text, sizeof reason->text, "loss_over_flux: %s", what);
        return false;
    }
    if (!core_sized(core, reason)) return false;
    core->table.curve = &row[CORE_LOSS_CURVE].curve;
    core->fit = (steinmetz){alpha, alpha, steinmetz_ki(pow(f, -alpha), alpha, alpha)};
    core->factor = core->volume * core->fit.ki / pow(core->turns * core->area, alpha);
    core->has_loss = isfinite(core->factor);
    if (!core->has_loss) snprintf(reason->text, sizeof reason->text, "loss_over_flux is no loss");
    return core->has_loss;
}

static inline bool core_read_fit(magnetic_core *core, const hl_value *row, hl_reason *reason)
{
    double alpha = core_number(&row[CORE_ALPHA], 0.0), beta = core_number(&row[CORE_BETA], 0.0);
    double k = core_number(&row[CORE_K], NAN), density = core_number(&row[CORE_LOSS_DENSITY], NAN);
    if (row[CORE_LOSS_CURVE].given) return core_read_table(core, row, reason);
    if (!row[CORE_K].given && !row[CORE_LOSS_DENSITY].given) return true;
    if (!(alpha > 0.0 && beta > 0.0)) {
        snprintf(reason->text, sizeof reason->text,
                 "core loss needs steinmetz_alpha and steinmetz_beta beside steinmetz_k or loss_density");
        return false;
    }
    if (!row[CORE_K].given) {
        double f = core_number(&row[CORE_LOSS_FREQUENCY], 0.0), b = core_number(&row[CORE_LOSS_FLUX], 0.0);
        if (!(f > 0.0 && b > 0.0)) {
            snprintf(reason->text, sizeof reason->text,
                     "loss_density needs loss_frequency and loss_flux, the point it was read at");
            return false;
        }
        k = density / (pow(f, alpha) * pow(b, beta));
    }
    if (!core_sized(core, reason)) return false;
    core->fit = (steinmetz){alpha, beta, steinmetz_ki(k, alpha, beta)};
    core->factor = core->volume * core->fit.ki / pow(core->turns * core->area, beta);
    core->has_loss = k >= 0.0 && isfinite(core->factor);
    if (!core->has_loss) snprintf(reason->text, sizeof reason->text, "steinmetz_k %g is no loss factor", k);
    return core->has_loss;
}

/* The highest flux density before saturation at any temperature: no loss is measured beyond. */
static inline double core_saturation(const magnetic_core *core)
{
    double most = core->saturation ? 0.0 : INFINITY;
    for (size_t i = 0; core->saturation && i < core->saturation->n; i++)
        most = fmax(most, core->saturation->y[i]);
    return most;
}

/* Read the core rows. false: reason says what is missing. */
static inline bool core_read(magnetic_core *core, const hl_value *row, double turns, hl_reason *reason)
{
    core->turns = turns;
    core->area = core_number(&row[CORE_AREA], 0.0);
    core->path = core_number(&row[CORE_PATH], 0.0);
    core->volume = core_number(&row[CORE_VOLUME], core->area * core->path);
    core->low = core_number(&row[CORE_FIT_LOW], 0.0);
    core->high = core_number(&row[CORE_FIT_HIGH], INFINITY);
    core->saturation = row[CORE_SATURATION].given ? &row[CORE_SATURATION].curve : NULL;
    core->flux_high = core_number(&row[CORE_FIT_FLUX], core_saturation(core));
    core->ct[0] = core_number(&row[CORE_CT0], 1.0);
    core->ct[1] = core_number(&row[CORE_CT1], 0.0);
    core->ct[2] = core_number(&row[CORE_CT2], 0.0);
    double t = core_number(&row[CORE_FIT_TEMPERATURE], 373.15) - 273.15;
    core->ct_at_fit = core->ct[0] - core->ct[1] * t + core->ct[2] * t * t;
    if (!(core->ct_at_fit > 0.0)) {
        snprintf(reason->text, sizeof reason->text,
                 "ct0 - ct1 T + ct2 T^2 is %.3g at %.4g degC, where the fit holds; it must be above zero",
                 core->ct_at_fit, t);
        return false;
    }
    return core_read_fit(core, row, reason);
}

static inline double core_linkage(const magnetic_core *core)
{
    return core->turns * core->area;
}

/* Bias counts when it exceeds a tenth of the swing's half: common practice, no source. */
static inline void core_cycle_flags(const magnetic_core *core, double frequency, double swing, double bias,
                                    uint32_t *flags)
{
    double peak = 0.5 * swing / core_linkage(core);
    if (!(frequency >= core->low && frequency <= core->high && peak <= core->flux_high))
        *flags |= HL_OUTSIDE_FIT;
    if (fabs(bias) > 0.05 * swing) *flags |= HL_BIASED_CORE;
}

/* Cycles beyond the table's ends are said when they make more than a hundredth of the loss. */
static inline void core_loss(const magnetic_core *core, const hl_stress *stress, double temperature,
                             hl_loss *loss)
{
    if (!core->has_loss || !stress->flux_voltage) return;
    flux_law law = {core->fit.alpha, core->fit.beta - core->fit.alpha,
                    core->table.curve ? &core->table : NULL, 1.0 / core_linkage(core)};
    double sum = 0.0, beyond = 0.0, slope, cycle[LANES], swing[LANES];
    for (size_t k = 0; k < stress->n; k += LANES) {
        size_t some = stress->n - k < LANES ? stress->n - k : LANES;
        flux_cycles(&stress->flux_voltage[k], some, &law, cycle, swing);
        for (size_t i = 0; i < some; i++) {
            if (!(swing[i] > 0.0)) continue;
            double watts = hl_stress_at(stress->weight, k + i) * cycle[i];
            sum += watts;
            if (law.table && loss_table_outside(law.table, 0.5 * swing[i] * law.flux_per_linkage))
                beyond += watts;
            core_cycle_flags(core, hl_stress_at(stress->frequency, k + i), swing[i], stress->flux_bias,
                             &loss->flags);
        }
    }
    if (beyond > 0.01 * sum) loss->flags |= HL_OUTSIDE_CURVE;
    if (!(sum > 0.0)) return;
    double factor = core_temperature(core, temperature, &slope, &loss->flags);
    loss->watts[HL_CORE] += core->factor * factor * sum;
    loss->slope += core->factor * slope * sum;
}

/* Largest |flux linkage| of winding 0 by the voltages: half swing plus bias, V s. */
static inline double core_peak_linkage(const hl_stress *stress)
{
    double most = 0.0;
    for (size_t k = 0; stress->flux_voltage && k < stress->n; k++)
        most = fmax(most, 0.5 * hl_wave_integral_swing(&stress->flux_voltage[k]));
    return most + fabs(stress->flux_bias);
}

static inline size_t core_limit(const magnetic_core *core, double linkage, double temperature,
                                hl_limit *limit)
{
    if (!core->saturation || !(core_linkage(core) > 0.0)) return 0;
    *limit = (hl_limit){"peak flux density", "T", linkage / core_linkage(core),
                        hl_curve_at(core->saturation, temperature, NULL, NULL)};
    return 1;
}

#endif
