/* diode.h - what every rectifying diode has: forward drop, leakage, capacitive charge, ratings.
 *
 * What is booked where: conduction and leakage here; the charge a hard commutation needs (capacitive: output
 * charge; stored: reverse recovery) here too, though most of that heat arises in the switch that turns on.
 * A commutation is hard when the stage gives a swing of this diode's voltage (charge_on > 0) or else a
 * current at commutation (current_off > 0, and then from nothing to voltage_off). */
#ifndef DIODE_H
#define DIODE_H

#include <math.h>
#include <stdio.h>

#include "../charge_law.h"
#include "../cycle_block.h"
#include "heatledger/plugin.h"

enum diode_parameter {
    RATED_VOLTAGE,
    RATED_CURRENT,
    THRESHOLD_VOLTAGE,
    SLOPE_RESISTANCE,
    FORWARD_VOLTAGE,
    FORWARD_CURRENT,
    FORWARD_CURVE,
    FORWARD_TEMPERATURE,
    THRESHOLD_COEFFICIENT,
    SLOPE_COEFFICIENT,
    LEAKAGE_CURRENT,
    LEAKAGE_VOLTAGE,
    LEAKAGE_TEMPERATURE,
    LEAKAGE_DOUBLING,
    LEAKAGE_VOLTAGE_EXPONENT,
    DIODE_PARAMETERS
};

/* clang-format off */
#define ROW(name, unit, flags, fallback, low, high, meaning, source) \
    {name, unit, HL_NUMBER, flags, fallback, low, high, NULL, NULL, meaning, source}

/* Shared rows; defaults of both temperature coefficients, of the leakage's doubling and its voltage exponent. */
#define DIODE_ROWS(threshold_per_kelvin, slope_per_kelvin, doubling, exponent) \
    ROW("rated_voltage", "V", HL_REQUIRED, 0, 10, 5000, "repetitive peak reverse voltage", "data sheet, or marking"), \
    ROW("rated_current", "A", 0, 0, 0.05, 1000, "average forward current", "data sheet, or marking"), \
    ROW("threshold_voltage", "V", 0, 0, 0.05, 5, "V0 of the drop V0 + r i of one junction", "data sheet: loss equation, or a tangent to the curve"), \
    ROW("slope_resistance", "ohm", 0, 0, 0, 10, "r of the drop V0 + r i of one junction", "data sheet: loss equation, or a tangent to the curve"), \
    ROW("forward_voltage", "V", 0, 0, 0.05, 10, "drop of one junction at forward_current, where threshold and slope are not known", "data sheet: characteristics"), \
    ROW("forward_current", "A", 0, 0, 0.001, 1000, "current of forward_voltage; without it the rated current", "data sheet: test conditions"), \
    {"forward_curve", "V", HL_CURVE, 0, 0, 0, 10, "A", NULL, "drop of one junction over current; wins over the figures above", "data sheet: forward characteristics"}, \
    ROW("forward_temperature", "degC", HL_DEFAULT, 298.15, 233.15, 473.15, "junction temperature of these figures", "data sheet: test conditions"), \
    ROW("threshold_temperature_coefficient", "V/K", HL_DEFAULT, threshold_per_kelvin, -0.005, 0.005, "change of the drop per kelvin", "data sheet: curves at two temperatures"), \
    ROW("resistance_temperature_coefficient", "1/K", HL_DEFAULT, slope_per_kelvin, -0.005, 0.02, "relative change of the slope per kelvin", "data sheet: curves at two temperatures"), \
    ROW("leakage_current", "A", 0, 0, 0, 1, "reverse current at leakage_voltage and leakage_temperature", "data sheet: characteristics"), \
    ROW("leakage_voltage", "V", 0, 0, 1, 5000, "reverse voltage of leakage_current; without it the rated voltage", "data sheet: test conditions"), \
    ROW("leakage_temperature", "degC", HL_DEFAULT, 298.15, 233.15, 473.15, "junction temperature of leakage_current", "data sheet: test conditions"), \
    ROW("leakage_doubling", "K", HL_DEFAULT, doubling, 5, 40, "rise that doubles the leakage", "two points of the data sheet"), \
    ROW("leakage_voltage_exponent", "1", HL_DEFAULT, exponent, 0, 4, "p of leakage ~ v^p", "data sheet: reverse characteristics")

/* Capacitive charge, for the models that book it, right after the shared rows. */
#define CAPACITIVE_ROWS \
    {"junction_capacitance", "F", HL_CURVE, 0, 0, 1e-13, 1e-6, "V", NULL, "junction capacitance over reverse voltage, integrated to charge and energy", "data sheet: capacitance"}, \
    ROW("capacitive_charge", "C", 0, 0, 1e-11, 5e-6, "charge of the junction capacitance at capacitive_voltage", "data sheet: capacitive charge"), \
    ROW("capacitive_voltage", "V", 0, 0, 1, 5000, "reverse voltage of it; without it 2/3 of the rated voltage", "data sheet: test conditions"), \
    ROW("capacitive_exponent", "1", HL_DEFAULT, 0.5, 0.05, 1, "q of Q ~ v^q: 1/2 a depletion layer, 1 a constant capacitance", "data sheet: charge over voltage")
/* clang-format on */

enum {
    JUNCTION_CAPACITANCE,
    CAPACITIVE_CHARGE,
    CAPACITIVE_VOLTAGE,
    CAPACITIVE_EXPONENT,
    CAPACITIVE_PARAMETERS
};

/* What is usual for a kind of diode where a part does not say: threshold at 25 degC, and what the slope adds
 * to it at the rated current. */
typedef struct diode_kind {
    double threshold, slope_at_rated;
} diode_kind;

typedef struct diode {
    double threshold, slope; /* V, ohm at `temperature` */
    double temperature, threshold_rate, slope_rate;
    hl_curve curve; /* V over A; n == 0: threshold and slope */
    bool estimated_drop;
    double leakage, leakage_voltage, leakage_temperature, leakage_rate, leakage_exponent;
    charge_law capacitive;
    double rated_voltage, rated_current;
} diode;

static inline double given_or(const hl_value *value, double otherwise)
{
    return value->given ? value->number : otherwise;
}

/* --------------------------------------------------------- forward drop -- */

/* Chord of a measured curve between a quarter of its range and its end: what the circuit is solved with. */
static inline void chord_of_curve(diode *d)
{
    double end = d->curve.x[d->curve.n - 1];
    if (d->rated_current > 0.0 && d->rated_current < end) end = d->rated_current;
    double quarter = 0.25 * end, high = hl_curve_at(&d->curve, end, NULL, NULL);
    double low = hl_curve_at(&d->curve, quarter, NULL, NULL);
    d->slope = end > 0.0 ? (high - low) / (end - quarter) : 0.0;
    d->threshold = high - d->slope * end;
    if (d->slope >= 0.0 && d->threshold >= 0.0) return;
    d->slope = 0.0; /* no forward characteristic has these; the drop itself is the safe reading */
    d->threshold = high;
}

static inline void drop_of_figures(diode *d, const hl_value *v, diode_kind usual)
{
    double at = given_or(&v[FORWARD_CURRENT], d->rated_current), drop = given_or(&v[FORWARD_VOLTAGE], 0.0);
    double usual_slope = d->rated_current > 0.0 ? usual.slope_at_rated / d->rated_current : 0.0;
    d->estimated_drop = !v[FORWARD_VOLTAGE].given && !v[THRESHOLD_VOLTAGE].given;
    d->threshold = given_or(&v[THRESHOLD_VOLTAGE], usual.threshold);
    d->slope = given_or(&v[SLOPE_RESISTANCE], usual_slope);
    if (!v[FORWARD_VOLTAGE].given) return;
    if (v[THRESHOLD_VOLTAGE].given && !v[SLOPE_RESISTANCE].given && at > 0.0) {
        d->slope = fmax(drop - d->threshold, 0.0) / at;
    } else if (!v[THRESHOLD_VOLTAGE].given) { /* one point: a constant drop, or less the slope's share */
        d->slope = given_or(&v[SLOPE_RESISTANCE], 0.0);
        d->threshold = fmax(drop - d->slope * at, 0.0);
    }
}

static inline double threshold_at(const diode *d, double temperature, double *rate)
{
    double v = d->threshold + d->threshold_rate * (temperature - d->temperature);
    double least = cycle_smaller(0.05, d->threshold); /* no temperature makes it a source */
    *rate = v > least ? d->threshold_rate : 0.0;
    return cycle_larger(v, least);
}

static inline double slope_at(const diode *d, double temperature, double *rate)
{
    double factor = 1.0 + d->slope_rate * (temperature - d->temperature);
    *rate = factor > 0.2 ? d->slope * d->slope_rate : 0.0;
    return d->slope * cycle_larger(factor, 0.2);
}

/* ---------------------------------------------------------- preparation -- */

static inline bool diode_prepare(diode *d, const hl_value *v, diode_kind usual, hl_reason *reason)
{
    d->rated_voltage = v[RATED_VOLTAGE].number;
    d->rated_current = given_or(&v[RATED_CURRENT], 0.0);
    if (!(d->rated_voltage > 0.0)) {
        snprintf(reason->text, sizeof reason->text, "rated_voltage %.3g V must be positive",
                 d->rated_voltage);
        return false;
    }
    d->curve = v[FORWARD_CURVE].curve;
    for (size_t i = 0; i < d->curve.n; i++)
        if (!(d->curve.x[i] >= 0.0)) {
            snprintf(reason->text, sizeof reason->text,
                     "forward_curve: %.3g A; forward currents are 0 or more", d->curve.x[i]);
            return false;
        }
    if (d->curve.n > 1)
        chord_of_curve(d);
    else
        drop_of_figures(d, v, usual);
    if (d->curve.n == 1) { /* a lone number: a constant drop */
        d->threshold = d->curve.y[0];
        d->slope = 0.0;
        d->estimated_drop = false;
        d->curve.n = 0;
    }
    d->temperature = v[FORWARD_TEMPERATURE].number;
    d->threshold_rate = v[THRESHOLD_COEFFICIENT].number;
    d->slope_rate = v[SLOPE_COEFFICIENT].number;
    d->leakage = given_or(&v[LEAKAGE_CURRENT], 0.0);
    d->leakage_voltage = given_or(&v[LEAKAGE_VOLTAGE], d->rated_voltage);
    d->leakage_temperature = v[LEAKAGE_TEMPERATURE].number;
    d->leakage_rate = log(2.0) / v[LEAKAGE_DOUBLING].number;
    d->leakage_exponent = v[LEAKAGE_VOLTAGE_EXPONENT].number;
    return true;
}

/* v: the model's capacitive rows; room: charge_pieces_for() pieces. */
static inline bool diode_prepare_charge(diode *d, const hl_value *v, charge_piece *room, hl_reason *reason)
{
    const hl_curve *c = &v[JUNCTION_CAPACITANCE].curve;
    double at = given_or(&v[CAPACITIVE_VOLTAGE], d->rated_voltage * (2.0 / 3.0));
    bool sound = c->n ? charge_law_from_table(&d->capacitive, c, room)
                      : charge_law_from_point(&d->capacitive, given_or(&v[CAPACITIVE_CHARGE], 0.0), 0.0, at,
                                              v[CAPACITIVE_EXPONENT].number);
    if (!sound) snprintf(reason->text, sizeof reason->text, "junction_capacitance: a point is negative");
    return sound;
}

static inline void diode_present(const diode *d, double temperature, double voltage, hl_terminal *terminal)
{
    double rate;
    terminal->voltage = threshold_at(d, temperature, &rate);
    terminal->resistance = slope_at(d, temperature, &rate);
    charge_at c = charge_at_voltage(&d->capacitive, fabs(voltage));
    terminal->output_charge = c.charge;
    terminal->output_energy = c.energy;
    terminal->rated_voltage = d->rated_voltage;
    terminal->rated_current = d->rated_current;
}

/* --------------------------------------------------------------- losses -- */

/* A curve read at the charge-weighted mean current <i^2>/<i>: exact for a straight characteristic and any
 * waveform, and for any characteristic and a rectangular current. */
static inline double curve_loss(const diode *d, double average, double square, bool *outside)
{
    if (!(average > 0.0)) return 0.0;
    return average * hl_curve_at(&d->curve, square / average, NULL, outside);
}

/* `junctions` in series carry the current. P = V0 <i> + r <i^2>: definition. */
static inline void diode_conduction(const diode *d, const hl_stress *s, double temperature, double junctions,
                                    hl_loss *out)
{
    bool cycles = s->current_average && s->weight, outside = false;
    double average = fabs(cycles ? cycle_mean(s, s->current_average) : s->total_average);
    double square = cycles ? cycle_mean_square(s, s->current_rms) : s->total_rms * s->total_rms;
    double threshold_rate, slope_rate, watts;
    double threshold = threshold_at(d, temperature, &threshold_rate);
    double slope = slope_at(d, temperature, &slope_rate);
    if (!d->curve.n) {
        watts = threshold * average + slope * square;
    } else { /* the curve at its own temperature, moved as its chord moves */
        watts = (threshold - d->threshold) * average + (slope - d->slope) * square;
        if (!cycles) watts += curve_loss(d, average, square, &outside);
        for (size_t k = 0; cycles && k < s->n; k++) {
            double rms = hl_stress_at(s->current_rms, k);
            watts += s->weight[k] * curve_loss(d, fabs(s->current_average[k]), rms * rms, &outside);
        }
        if (!(watts > 0.0)) watts = threshold_rate = slope_rate = 0.0;
    }
    out->watts[HL_CONDUCTION] += junctions * watts;
    out->slope += junctions * (threshold_rate * average + slope_rate * square);
    if (outside) out->flags |= HL_OUTSIDE_CURVE;
    if (average > 0.0 && d->estimated_drop) out->flags |= HL_FALLBACK;
}

/* A at this reverse voltage: doubling per so many kelvin. source: saturation current of a junction or a
 * Schottky barrier, S. M. Sze, Physics of Semiconductor Devices, ch. 2 and 3, written as a doubling. */
static inline double leakage_at(const diode *d, double voltage, double temperature, double *rate)
{
    *rate = 0.0;
    if (!(d->leakage > 0.0) || !(voltage > 0.0)) return 0.0;
    double exponent = d->leakage_rate * (temperature - d->leakage_temperature);
    if (exponent < 60.0)
        *rate = d->leakage_rate;
    else
        exponent = 60.0;
    return d->leakage * exp(exponent) * pow(voltage / d->leakage_voltage, d->leakage_exponent);
}

/* `share`: what all of a package lose over what one does that blocks voltage_off all the time. Each cycle has
 * its own slope: one that blocks nothing, or so hot that the doubling is held, adds none. */
static inline void diode_leakage(const diode *d, const hl_stress *s, double temperature, double share,
                                 hl_loss *out)
{
    double watts = 0.0, slope = 0.0, rate = 0.0, voltage = 0.0, current = 0.0;
    if (!(d->leakage > 0.0) || !s->voltage_off || !s->weight) return;
    for (size_t k = 0; k < s->n; k++) {
        double v = fabs(s->voltage_off[k]);
        if (v != voltage) current = leakage_at(d, v, temperature, &rate);
        voltage = v;
        double lost = s->weight[k] * v * current * (1.0 - cycle_smaller(hl_stress_at(s->duty, k), 1.0));
        watts += lost;
        slope += lost * rate;
    }
    out->watts[HL_LEAKAGE] += share * watts;
    out->slope += share * slope;
}

/* W: co-energy of the own capacitance at each hard commutation, charge_law.h. */
static inline double diode_charge_loss(const diode *d, const hl_stress *s)
{
    double sum = 0.0, bus = -1.0, swing = -1.0, energy = 0.0;
    charge_at full = {0.0, 0.0};
    if (!s->voltage_off || !s->weight || !s->frequency) return 0.0;
    for (size_t k = 0; k < s->n; k++) {
        if (s->frequency[k] == 0.0) continue; /* at rest */
        double v = fabs(s->voltage_off[k]), given = hl_stress_at(s->charge_on, k);
        double step = given > 0.0 ? given : hl_stress_at(s->current_off, k) > 0.0 ? v : 0.0;
        if (!(step > 0.0)) continue;
        if (v != bus) full = charge_at_voltage(&d->capacitive, v);
        if (v != bus || step != swing) energy = charge_co_energy(&d->capacitive, v, &full, step);
        bus = v;
        swing = step;
        sum += s->weight[k] * s->frequency[k] * energy;
    }
    return sum;
}

static inline size_t diode_limits(const diode *d, const hl_stress *s, hl_limit limits[])
{
    size_t n = 0;
    double blocked = cycle_larger(cycle_highest(s, s->voltage_off), s->voltage_peak);
    double average = s->current_average ? cycle_mean(s, s->current_average) : s->total_average;
    limits[n++] = (hl_limit){"reverse voltage", "V", blocked, d->rated_voltage};
    if (d->rated_current > 0.0)
        limits[n++] = (hl_limit){"average forward current", "A", fabs(average), d->rated_current};
    return n;
}

#endif
