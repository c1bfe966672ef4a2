/* wet_capacitor.h - aluminium capacitors with a liquid or a solid (polymer) electrolyte: ESR over frequency
 * and temperature, ripple rating with multipliers, service life.  A model file adds its table and defaults.
 */
#ifndef WET_CAPACITOR_H
#define WET_CAPACITOR_H

#include "spectrum.h"

enum wet_parameter {
    CAPACITANCE,
    RATED_VOLTAGE,
    ESR,
    ESR_FREQUENCY,
    ESR_TEMPERATURE,
    ESR_FREQUENCY_FACTOR,
    ESR_TEMPERATURE_FACTOR,
    LOSS_FACTOR,
    LOSS_FACTOR_FREQUENCY,
    OXIDE_LOSS_FACTOR,
    SERIES_INDUCTANCE,
    LEAKAGE_CURRENT,
    RATED_RIPPLE_CURRENT,
    RIPPLE_FREQUENCY,
    RIPPLE_FREQUENCY_MULTIPLIER,
    RIPPLE_TEMPERATURE_MULTIPLIER,
    RATED_LIFE,
    LIFE_TEMPERATURE,
    LIFE_HALVING,
    LIFE_RIPPLE_RISE,
    LIFE_VOLTAGE_EXPONENT,
    NEEDED_LIFE,
    WET_PARAMETERS
};

/* clang-format off */
/* Defaults: ESL, halving of life, rise at rated ripple. */
#define WET_ROWS(inductance, halving, rise) \
    ROW("capacitance", "F", HL_REQUIRED, 0, 1e-7, 1, "rated capacitance", "marking"), \
    ROW("rated_voltage", "V", HL_REQUIRED, 0, 2, 700, "rated dc voltage", "marking"), \
    ROW("esr", "ohm", 0, 0, 1e-4, 100, "equivalent series resistance at esr_frequency and esr_temperature", "data sheet, or bridge measurement"), \
    ROW("esr_frequency", "Hz", HL_DEFAULT | HL_CONDITION, 1e5, 50, 1e7, "frequency of esr", "data sheet"), \
    ROW("esr_temperature", "degC", HL_DEFAULT, 293.15, 233.15, 423.15, "temperature of esr and loss factor", "data sheet"), \
    CURVE_ROW("esr_frequency_factor", "1", 0.05, 200, "Hz", "ESR over frequency, 1 at esr_frequency; replaces the law of electrolyte and oxide", "data sheet: ESR or impedance over frequency"), \
    CURVE_ROW("esr_temperature_factor", "1", 0.02, 100, "degC", "ESR over temperature, 1 at esr_temperature", "data sheet: ESR over temperature"), \
    ROW("loss_factor", "1", 0, 0, 0.001, 2, "tan delta at loss_factor_frequency", "data sheet"), \
    ROW("loss_factor_frequency", "Hz", HL_DEFAULT | HL_CONDITION, 120, 50, 1e5, "frequency of loss_factor", "data sheet"), \
    ROW("oxide_loss_factor", "1", 0, 0, 0, 0.2, "tan delta of the oxide alone, the part of ESR that falls as 1/f", "fit to ESR at two frequencies"), \
    ROW("series_inductance", "H", HL_DEFAULT, inductance, 0, 2e-7, "ESL", "impedance above resonance; size and lead spacing"), \
    ROW("leakage_current", "A", 0, 0, 0, 0.1, "leakage at rated voltage, hot", "data sheet"), \
    ROW("rated_ripple_current", "A", 0, 0, 0.001, 100, "rated ripple current at ripple_frequency and the rated temperature", "data sheet"), \
    ROW("ripple_frequency", "Hz", HL_DEFAULT | HL_CONDITION, 1e5, 50, 1e7, "frequency of rated_ripple_current", "data sheet"), \
    CURVE_ROW("ripple_frequency_multiplier", "1", 0.1, 5, "Hz", "allowed ripple over frequency, 1 at ripple_frequency; without it from the ESR", "data sheet"), \
    CURVE_ROW("ripple_temperature_multiplier", "1", 0.1, 6, "degC", "allowed ripple over the part's temperature, 1 at the rated one", "data sheet"), \
    ROW("rated_life", "h", 0, 0, 3.6e5, 3.6e9, "endurance or useful life at life_temperature with rated ripple", "data sheet, or series marking"), \
    ROW("life_temperature", "degC", HL_DEFAULT, 378.15, 338.15, 448.15, "ambient temperature of rated_life", "marking"), \
    ROW("life_halving", "K", HL_DEFAULT, halving, 4, 30, "rise that halves the life", "data sheet"), \
    ROW("life_ripple_rise", "K", HL_DEFAULT | HL_CONDITION, rise, 0, 30, "rise of the hot spot over ambient in the life test, at rated ripple", "data sheet"), \
    ROW("life_voltage_exponent", "1", HL_DEFAULT, 0, 0, 6, "n of life ~ (rated / working voltage)^n; 0 counts no derating", "data sheet of large types"), \
    ROW("needed_life", "h", HL_DEFAULT | HL_CONDITION, 5.4e7, 3.6e5, 3.6e9, "life the user asks for, 15000 h if nothing else is said", "user")
/* clang-format on */

typedef struct wet_capacitor {
    double capacitance, rated_voltage, inductance;
    double resistance, temperature; /* ohm of metal and electrolyte, at this K */
    double oxide;                   /* tan delta */
    double floor, span, decay;      /* without a table: factor = floor + span exp(-(T - T0) / decay) */
    hl_curve over_frequency, over_temperature;
    double leakage;
    double ripple, ripple_frequency;
    hl_curve ripple_over_frequency, ripple_over_temperature;
    double life, life_temperature, halving, rise, voltage_exponent, needed; /* s, K */
    bool estimated;
} wet_capacitor;

/* What is usual where a part does not say: the temperature law, the loss factor, the oxide's share of it. */
typedef struct wet_kind {
    double floor, decay, loss_factor, oxide;
} wet_kind;

/* Resistance of metal and electrolyte from what is stated. The oxide's share falls as 1/f:
 *   ESR(f) = R + tan_oxide / (w C);   tan delta(f) = w C R + tan_oxide
 * source: S. G. Parler, on aluminium electrolytic capacitors in inverters, IEEE Industry
 * Applications Society annual meeting, 2002 (from memory); the share taken for the oxide where nothing is
 * stated: common practice. */
static inline void wet_resistance(wet_capacitor *c, const hl_value *v, wet_kind usual)
{
    double w = two_pi * v[ESR_FREQUENCY].number * c->capacitance;
    double w_loss = two_pi * v[LOSS_FACTOR_FREQUENCY].number * c->capacitance;
    double tangent = given_or(&v[LOSS_FACTOR], usual.loss_factor);
    c->oxide = given_or(&v[OXIDE_LOSS_FACTOR], usual.oxide);
    c->estimated = !v[ESR].given && !v[LOSS_FACTOR].given;
    if (v[ESR].given && c->over_frequency.n) {
        c->resistance = v[ESR].number; /* the table holds both parts */
        c->oxide = 0.0;
        return;
    }
    if (v[ESR].given && v[LOSS_FACTOR].given && !v[OXIDE_LOSS_FACTOR].given) {
        /* two frequencies, two unknowns */
        double r = w > 1.05 * w_loss ? (v[ESR].number * w - tangent) / (w - w_loss) : v[ESR].number;
        if (!(r > 0.3 * v[ESR].number)) r = 0.3 * v[ESR].number;
        if (r > v[ESR].number) r = v[ESR].number;
        c->resistance = r;
        c->oxide = fmax((v[ESR].number - r) * w, 0.0);
        return;
    }
    if (v[ESR].given) {
        double most = 0.7 * v[ESR].number * w;
        if (c->oxide > most) c->oxide = most;
        c->resistance = fmax(v[ESR].number - c->oxide / w, 0.0);
        return;
    }
    /* tan delta alone: ripple multipliers of about 1.3 from 120 Hz to 100 kHz mean that 0.4 of it falls away
     */
    c->oxide = v[OXIDE_LOSS_FACTOR].given ? fmin(c->oxide, 0.9 * tangent) : 0.4 * tangent;
    c->resistance = (tangent - c->oxide) / w_loss;
    if (!c->over_frequency.n) return;
    c->resistance = tangent / w_loss; /* seen at its own frequency, moved to 1 of the table */
    double factor = hl_curve_at(&c->over_frequency, v[LOSS_FACTOR_FREQUENCY].number, NULL, NULL);
    if (factor > 0.0) c->resistance /= factor;
    c->oxide = 0.0;
}

static inline bool wet_prepare(wet_capacitor *c, const hl_value *v, wet_kind usual, hl_reason *reason)
{
    c->capacitance = v[CAPACITANCE].number;
    c->rated_voltage = v[RATED_VOLTAGE].number;
    if (!capacitor_sound(c->capacitance, c->rated_voltage, reason)) return false;
    c->inductance = v[SERIES_INDUCTANCE].number;
    c->over_frequency = v[ESR_FREQUENCY_FACTOR].curve;
    c->over_temperature = v[ESR_TEMPERATURE_FACTOR].curve;
    c->temperature = v[ESR_TEMPERATURE].number;
    c->floor = usual.floor;
    c->span = 1.0 - usual.floor;
    c->decay = usual.decay;
    wet_resistance(c, v, usual);
    c->leakage = given_or(&v[LEAKAGE_CURRENT], 0.0);
    c->ripple = given_or(&v[RATED_RIPPLE_CURRENT], 0.0);
    c->ripple_frequency = v[RIPPLE_FREQUENCY].number;
    c->ripple_over_frequency = v[RIPPLE_FREQUENCY_MULTIPLIER].curve;
    c->ripple_over_temperature = v[RIPPLE_TEMPERATURE_MULTIPLIER].curve;
    c->life = given_or(&v[RATED_LIFE], 0.0);
    c->life_temperature = v[LIFE_TEMPERATURE].number;
    c->halving = v[LIFE_HALVING].number;
    c->rise = v[LIFE_RIPPLE_RISE].number;
    c->voltage_exponent = v[LIFE_VOLTAGE_EXPONENT].number;
    c->needed = v[NEEDED_LIFE].number;
    return true;
}

/* Factor of ESR at T and its slope. Without a table an electrolyte that thins as it warms:
 * common practice, no source; about 3.5 times at -20 degC and 0.4 times at 105 degC for a liquid one. */
static inline double wet_temperature_factor(const wet_capacitor *c, double temperature, double *slope,
                                            bool *outside)
{
    if (c->over_temperature.n) return hl_curve_at(&c->over_temperature, temperature, slope, outside);
    double exponent = (c->temperature - temperature) / c->decay;
    double e = c->span * exp(exponent < 6.0 ? exponent : 6.0);
    *slope = exponent < 6.0 ? -e / c->decay : 0.0;
    return c->floor + e;
}

static inline series_circuit wet_circuit(const wet_capacitor *c, double temperature, bool *outside)
{
    double slope, factor = wet_temperature_factor(c, temperature, &slope, outside);
    return (series_circuit){.capacitance = c->capacitance,
                            .resistance = c->resistance * factor,
                            .resistance_slope = c->resistance * slope,
                            .loss_factor = c->oxide,
                            .over_frequency = &c->over_frequency};
}

static inline void wet_present(const wet_capacitor *c, double temperature, hl_terminal *terminal)
{
    series_circuit z = wet_circuit(c, temperature, NULL);
    double metal, dielectric;
    series_resistance(&z, c->ripple_frequency, &metal, &dielectric, NULL);
    terminal->capacitance = c->capacitance;
    terminal->resistance = metal + dielectric;
    terminal->series_inductance = c->inductance;
    terminal->rated_voltage = c->rated_voltage;
}

static inline void wet_impedances(const wet_capacitor *c, double temperature, const double frequency[],
                                  size_t n, double real[], double imaginary[])
{
    series_circuit z = wet_circuit(c, temperature, NULL);
    series_impedances(&z, c->inductance, frequency, n, real, imaginary);
}

static inline void wet_loss(const wet_capacitor *c, const hl_stress *s, double temperature, hl_loss *out)
{
    bool outside = false;
    series_circuit z = wet_circuit(c, temperature, &outside);
    series_loss(&z, s, out);
    leakage_loss(c->leakage, c->rated_voltage, s, out);
    bool ripple = out->watts[HL_ESR] > 0.0;
    if (ripple && outside) out->flags |= HL_OUTSIDE_CURVE;
    if (ripple && (c->estimated || !c->over_temperature.n)) out->flags |= HL_FALLBACK;
}

/* Ripple turned into its equivalent at the rated frequency: lines add as heat, I_eq^2 = sum (I_k / m(f_k))^2,
 * m the multiplier of the data sheet, or the one of equal heat, m^2 = ESR(rated) / ESR(f).
 * source: definition of the multipliers as currents of equal heat. */
static inline double wet_equivalent_ripple(const wet_capacitor *c, const hl_stress *s, double temperature)
{
    series_circuit z = wet_circuit(c, temperature, NULL);
    double metal, dielectric, sum = 0.0;
    series_resistance(&z, c->ripple_frequency, &metal, &dielectric, NULL);
    double rated = metal + dielectric;
    for (size_t k = 0; s->line_frequency && s->line_rms_squared && k < s->lines; k++) {
        double square = s->line_rms_squared[k], f = s->line_frequency[k];
        if (!(square > 0.0)) continue;
        if (c->ripple_over_frequency.n) {
            double m = hl_curve_at(&c->ripple_over_frequency, f, NULL, NULL);
            sum += m > 0.0 ? square / (m * m) : 0.0;
        } else {
            series_resistance(&z, f, &metal, &dielectric, NULL);
            sum += rated > 0.0 ? square * (metal + dielectric) / rated : square;
        }
    }
    return sqrt(sum);
}

/* s: L = L0 2^((T0 + dT0 - T) / d) (V0 / V)^n, T the hot spot, T0 + dT0 the hot spot in the life test.
 * source: ten-kelvin rule (Arrhenius over a narrow range), as in the worked example of
 * tests/capacitors/check_electrolytic_capacitor.c; d = 10 K liquid, 20 K polymer (a decade per 20 K is
 * usual there: 2^(20/6.02)): common practice. Voltage term: makers of large types; off unless stated. */
static inline double wet_life(const wet_capacitor *c, double temperature, double voltage)
{
    double exponent = (c->life_temperature + c->rise - temperature) / c->halving;
    double life = c->life * exp2(fmin(fmax(exponent, -40.0), 40.0));
    double used = voltage / c->rated_voltage;
    if (c->voltage_exponent > 0.0 && used > 0.0)
        life *= fmin(fmax(pow(fmax(used, 0.5), -c->voltage_exponent), 0x1p-40), 0x1p40);
    return life;
}

static inline size_t wet_limits(const wet_capacitor *c, const hl_stress *s, double temperature,
                                hl_limit limits[])
{
    size_t n = 0;
    limits[n++] = (hl_limit){"capacitor voltage", "V", highest_voltage(s), c->rated_voltage};
    if (c->ripple > 0.0) {
        double allowed = c->ripple;
        if (c->ripple_over_temperature.n)
            allowed *= hl_curve_at(&c->ripple_over_temperature, temperature, NULL, NULL);
        limits[n++] = (hl_limit){"ripple current", "A", wet_equivalent_ripple(c, s, temperature), allowed};
    }
    if (c->life > 0.0)
        limits[n++] = (hl_limit){"needed life", "h", c->needed / 3600.0,
                                 wet_life(c, temperature, highest_voltage(s)) / 3600.0};
    return n;
}

#endif
