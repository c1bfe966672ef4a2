/* spectrum.h - loss and impedance of a capacitor from its equivalent circuit, line by line of the ripple:
 *
 *   Z(f) = R_s(f, T) + tan_d / (w C) + j (w L - 1 / (w C))
 *   P    = sum over lines of I_rms^2 (R_s + tan_d / (w C))
 *
 * R_s: metal, electrolyte; tan_d: loss factor of the dielectric, constant over frequency.
 * source: series equivalent circuit, IEC 60384-1 (fixed capacitors, definitions of ESR and tan delta).
 * Never from one lumped rms: the same rms at 100 Hz and at 100 kHz differs in loss by factors. */
#ifndef SPECTRUM_H
#define SPECTRUM_H

#include <math.h>
#include <stdio.h>

#include "../lanes.h"
#include "heatledger/plugin.h"

/* clang-format off */
#define ROW(name, unit, flags, fallback, low, high, meaning, source) \
    {name, unit, HL_NUMBER, flags, fallback, low, high, NULL, NULL, meaning, source}
#define CURVE_ROW(name, unit, low, high, over, meaning, source) \
    {name, unit, HL_CURVE, 0, 0, low, high, over, NULL, meaning, source}
/* clang-format on */

static const double two_pi = 6.283185307179586;
/* Hz: a line below this carries no ripple worth the name; keeps 1 / (w C) finite. */
static const double lowest_frequency = 1e-3;

typedef struct series_circuit {
    double capacitance;             /* F */
    double resistance;              /* ohm, R_s at the temperature asked */
    double resistance_slope;        /* ohm/K */
    double loss_factor;             /* tan_d of the dielectric, at that temperature */
    double loss_factor_slope;       /* 1/K */
    const hl_curve *over_frequency; /* factor of R_s over Hz; NULL or empty: 1 */
    const hl_curve *loss_curve;     /* tan_d over Hz in place of loss_factor; NULL or empty: none */
} series_circuit;

static inline double given_or(const hl_value *value, double otherwise)
{
    return value->given ? value->number : otherwise;
}

static inline double line_at_least(double frequency)
{
    return frequency > lowest_frequency ? frequency : lowest_frequency;
}

/* Is there such a curve? */
static inline bool stated_curve(const hl_curve *curve)
{
    return curve && curve->n;
}

/* Both resistances at f, ohm. */
static inline void series_resistance(const series_circuit *c, double frequency, double *metal,
                                     double *dielectric, bool *outside)
{
    double f = line_at_least(frequency), tangent = c->loss_factor, factor = 1.0;
    if (stated_curve(c->over_frequency)) factor = hl_curve_at(c->over_frequency, f, NULL, outside);
    if (stated_curve(c->loss_curve)) tangent = hl_curve_at(c->loss_curve, f, NULL, outside);
    *metal = c->resistance * factor;
    *dielectric = tangent / (two_pi * f * c->capacitance);
}

/* Mean squares of the lines, A^2, and the same each over its frequency, A^2/Hz. */
typedef struct line_sums {
    double square, by_frequency;
} line_sums;

FOUR_LANES static line_sums lines_sum(const double square[], const double frequency[], size_t n)
{
    const lanes least = {lowest_frequency, lowest_frequency, lowest_frequency, lowest_frequency};
    lanes all = {0.0}, slow = {0.0}, at;
    size_t k = 0;
    for (; k + LANES <= n; k += LANES) {
        lanes own = lanes_load(frequency + k);
        lanes_larger(&own, &least, &at);
        all += lanes_load(square + k);
        slow += lanes_load(square + k) / at;
    }
    line_sums sum = {lanes_total(all), lanes_total(slow)};
    for (; k < n; k++) {
        sum.square += square[k];
        sum.by_frequency += square[k] / line_at_least(frequency[k]);
    }
    return sum;
}

/* Lines beyond a curve's ends are told when they make more than a hundredth of the loss. */
static inline void series_loss(const series_circuit *c, const hl_stress *s, hl_loss *out)
{
    double ohmic = 0.0, lossy = 0.0, outside = 0.0;
    if (!s->line_frequency || !s->line_rms_squared) return;
    if (!stated_curve(c->over_frequency) && !stated_curve(c->loss_curve)) { /* nothing to look up */
        line_sums sum = lines_sum(s->line_rms_squared, s->line_frequency, s->lines);
        ohmic = c->resistance * sum.square;
        lossy = c->loss_factor * sum.by_frequency / (two_pi * c->capacitance);
    } else {
        for (size_t k = 0; k < s->lines; k++) {
            double metal, dielectric;
            bool beyond = false;
            if (!(s->line_rms_squared[k] > 0.0)) continue;
            series_resistance(c, s->line_frequency[k], &metal, &dielectric, &beyond);
            ohmic += s->line_rms_squared[k] * metal;
            lossy += s->line_rms_squared[k] * dielectric;
            if (beyond) outside += s->line_rms_squared[k] * (metal + dielectric);
        }
    }
    out->watts[HL_ESR] += ohmic;
    out->watts[HL_DIELECTRIC] += lossy;
    if (c->resistance > 0.0) out->slope += ohmic * c->resistance_slope / c->resistance;
    if (c->loss_factor > 0.0) out->slope += lossy * c->loss_factor_slope / c->loss_factor;
    if (outside > 0.01 * (ohmic + lossy)) out->flags |= HL_OUTSIDE_CURVE;
}

/* Z at each of n frequencies, ohm, with nothing to look up. */
FOUR_LANES static void plain_impedances(const series_circuit *c, double inductance,
                                        const double *restrict frequency, size_t n, double *restrict real,
                                        double *restrict imaginary)
{
    double capacitance = c->capacitance, resistance = c->resistance, tangent = c->loss_factor;
    for (size_t k = 0; k < n; k++) {
        double w = two_pi * line_at_least(frequency[k]), charged = 1.0 / (w * capacitance);
        real[k] = resistance + tangent * charged;
        imaginary[k] = w * inductance - charged;
    }
}

static inline void series_impedances(const series_circuit *c, double inductance, const double frequency[],
                                     size_t n, double real[], double imaginary[])
{
    plain_impedances(c, inductance, frequency, n, real, imaginary);
    if (!stated_curve(c->over_frequency) && !stated_curve(c->loss_curve)) return;
    for (size_t k = 0; k < n; k++) {
        double metal, dielectric;
        series_resistance(c, frequency[k], &metal, &dielectric, NULL);
        real[k] = metal + dielectric;
    }
}

/* The members of a device that tell it, with `impedances` its own. */
#define IMPEDANCES .impedance = impedance, .impedances = impedances

static void impedances(const void *state, double temperature, double voltage, const double frequency[],
                       size_t n, double real[], double imaginary[]);

static void impedance(const void *state, double temperature, double voltage, double frequency, double *real,
                      double *imaginary)
{
    impedances(state, temperature, voltage, &frequency, 1, real, imaginary);
}

/* A: rms of all lines. */
static inline double ripple_rms(const hl_stress *s)
{
    double sum = 0.0;
    if (!s->line_rms_squared) return 0.0;
    for (size_t k = 0; k < s->lines; k++) sum += s->line_rms_squared[k];
    return sqrt(sum);
}

/* V: rms of the alternating voltage the lines make across C. */
static inline double ripple_voltage(const hl_stress *s, double capacitance)
{
    double sum = 0.0;
    if (!s->line_rms_squared || !s->line_frequency) return 0.0;
    for (size_t k = 0; k < s->lines; k++) {
        double w = two_pi * line_at_least(s->line_frequency[k]);
        sum += s->line_rms_squared[k] / (w * w);
    }
    return sqrt(sum) / capacitance;
}

static inline double highest_voltage(const hl_stress *s)
{
    return fmax(fabs(s->voltage_dc), fabs(s->voltage_peak));
}

/* Leakage: V I at the stated voltage, falling with voltage in proportion. */
static inline void leakage_loss(double current, double rated, const hl_stress *s, hl_loss *out)
{
    if (rated > 0.0) out->watts[HL_LEAKAGE] += current * s->voltage_dc * s->voltage_dc / rated;
}

static inline bool capacitor_sound(double capacitance, double rated, hl_reason *reason)
{
    if (capacitance > 0.0 && rated > 0.0) return true;
    snprintf(reason->text, sizeof reason->text,
             "capacitance %.3g F and rated voltage %.3g V must be positive", capacitance, rated);
    return false;
}

#endif
