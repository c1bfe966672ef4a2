/* film.h - capacitors whose dielectric is a film: loss factor, series resistance, alternating voltage. */
#ifndef FILM_H
#define FILM_H

#include "spectrum.h"

enum film_parameter {
    CAPACITANCE,
    RATED_VOLTAGE,
    RATED_AC_VOLTAGE,
    LOSS_FACTOR,
    LOSS_FACTOR_FREQUENCY,
    DIELECTRIC_LOSS_FACTOR,
    LOSS_FACTOR_CURVE,
    ESR,
    ESR_FREQUENCY,
    SERIES_INDUCTANCE,
    RATED_RIPPLE_CURRENT,
    INSULATION_RESISTANCE,
    FILM_PARAMETERS
};

/* clang-format off */
#define FILM_ROWS(dc_flags, ac_flags) \
    ROW("capacitance", "F", HL_REQUIRED, 0, 1e-11, 1e-3, "rated capacitance", "marking"), \
    ROW("rated_voltage", "V", dc_flags, 0, 30, 4000, "rated dc voltage", "marking"), \
    ROW("rated_ac_voltage", "V", ac_flags, 0, 20, 1500, "rated alternating voltage, rms at 50 or 60 Hz", "marking"), \
    ROW("loss_factor", "1", 0, 0, 1e-5, 0.1, "tan delta at loss_factor_frequency, metal included", "data sheet"), \
    ROW("loss_factor_frequency", "Hz", HL_DEFAULT | HL_CONDITION, 1e3, 50, 1e6, "frequency of loss_factor", "data sheet"), \
    ROW("dielectric_loss_factor", "1", 0, 0, 0, 0.05, "tan delta of the film alone, constant over frequency", "film: 2e-4 polypropylene, 5e-3 polyester"), \
    CURVE_ROW("loss_factor_curve", "1", 0, 1, "Hz", "tan delta over frequency, metal included; replaces all other loss figures", "data sheet"), \
    ROW("esr", "ohm", 0, 0, 1e-5, 100, "equivalent series resistance at esr_frequency", "data sheet"), \
    ROW("esr_frequency", "Hz", HL_DEFAULT | HL_CONDITION, 1e5, 50, 1e7, "frequency of esr", "data sheet"), \
    ROW("series_inductance", "H", HL_DEFAULT, 1.5e-8, 0, 2e-7, "ESL, about 1 nH per millimetre of length and lead", "lead spacing"), \
    ROW("rated_ripple_current", "A", 0, 0, 0.001, 200, "rated rms current", "data sheet"), \
    ROW("insulation_resistance", "ohm", 0, 0, 1e6, 1e14, "resistance of the dielectric", "data sheet")
/* clang-format on */

typedef struct film_capacitor {
    double capacitance, rated_voltage, rated_ac_voltage, rated_ripple;
    double resistance, dielectric, inductance, insulation, esr_frequency;
    hl_curve curve;
    bool estimated;
} film_capacitor;

/* Where nothing is stated: polypropylene, and the metal of a small box: common practice, no source. */
static const double usual_film = 2e-4, usual_metal = 0.015; /* 1, ohm */
/* Hz: a loss factor taken below this tells of the film, above it of the metal too (w C R of a small part at
 * 1 kHz is a hundredth of the film's). */
static const double metal_shows_from = 3e4;

/* tan delta(f) = tan_film + w C R: what is stated is divided between film and metal. */
static inline void film_resistance(film_capacitor *c, const hl_value *v)
{
    double w = two_pi * v[LOSS_FACTOR_FREQUENCY].number * c->capacitance;
    double w_esr = two_pi * v[ESR_FREQUENCY].number * c->capacitance;
    double esr = given_or(&v[ESR], 0.0), tangent = given_or(&v[LOSS_FACTOR], 0.0);
    c->dielectric = given_or(&v[DIELECTRIC_LOSS_FACTOR], usual_film);
    c->resistance = usual_metal;
    c->estimated = !v[ESR].given && !v[LOSS_FACTOR].given && !c->curve.n;
    if (c->curve.n) {
        c->resistance = 0.0;                                               /* the table holds both */
    } else if (v[ESR].given && v[LOSS_FACTOR].given && w_esr > 1.05 * w) { /* two frequencies, two unknowns */
        c->resistance = fmin(fmax((esr * w_esr - tangent) / (w_esr - w), 0.0), esr);
        c->dielectric = fmax((esr - c->resistance) * w_esr, 0.0);
    } else if (v[ESR].given) {
        c->dielectric = fmin(c->dielectric, esr * w_esr);
        c->resistance = fmax(esr - c->dielectric / w_esr, 0.0);
    } else if (v[LOSS_FACTOR].given && !v[DIELECTRIC_LOSS_FACTOR].given &&
               v[LOSS_FACTOR_FREQUENCY].number < metal_shows_from) {
        c->resistance = fmin(usual_metal, 0.5 * tangent / w);
        c->dielectric = tangent - w * c->resistance;
    } else if (v[LOSS_FACTOR].given) {
        c->dielectric = fmin(c->dielectric, tangent);
        c->resistance = fmax((tangent - c->dielectric) / w, 0.0);
    }
}

static inline bool film_prepare(film_capacitor *c, const hl_value *v, hl_reason *reason)
{
    c->capacitance = v[CAPACITANCE].number;
    c->rated_voltage = given_or(&v[RATED_VOLTAGE], 0.0);
    c->rated_ac_voltage = given_or(&v[RATED_AC_VOLTAGE], 0.0);
    c->rated_ripple = given_or(&v[RATED_RIPPLE_CURRENT], 0.0);
    c->inductance = v[SERIES_INDUCTANCE].number;
    c->insulation = given_or(&v[INSULATION_RESISTANCE], 0.0);
    c->esr_frequency = v[ESR_FREQUENCY].number;
    c->curve = v[LOSS_FACTOR_CURVE].curve;
    film_resistance(c, v);
    return capacitor_sound(c->capacitance, fmax(c->rated_voltage, c->rated_ac_voltage), reason);
}

static inline series_circuit film_circuit(const film_capacitor *c)
{
    return (series_circuit){.capacitance = c->capacitance,
                            .resistance = c->resistance,
                            .loss_factor = c->dielectric,
                            .loss_curve = &c->curve};
}

static inline void film_present(const film_capacitor *c, hl_terminal *terminal)
{
    series_circuit z = film_circuit(c);
    double metal, dielectric;
    series_resistance(&z, c->esr_frequency, &metal, &dielectric, NULL);
    terminal->capacitance = c->capacitance;
    terminal->resistance = metal + dielectric;
    terminal->series_inductance = c->inductance;
    terminal->rated_voltage = c->rated_voltage > 0.0 ? c->rated_voltage : sqrt(2.0) * c->rated_ac_voltage;
}

static inline void film_impedances(const film_capacitor *c, const double frequency[], size_t n, double real[],
                                   double imaginary[])
{
    series_circuit z = film_circuit(c);
    series_impedances(&z, c->inductance, frequency, n, real, imaginary);
}

static inline void film_loss(const film_capacitor *c, const hl_stress *s, hl_loss *out)
{
    series_circuit z = film_circuit(c);
    series_loss(&z, s, out);
    if (c->insulation > 0.0) out->watts[HL_LEAKAGE] += s->voltage_dc * s->voltage_dc / c->insulation;
    if (c->estimated && out->watts[HL_DIELECTRIC] > 0.0) out->flags |= HL_FALLBACK;
}

static inline size_t film_limits(const film_capacitor *c, const hl_stress *s, hl_limit limits[])
{
    size_t n = 0;
    if (c->rated_voltage > 0.0)
        limits[n++] = (hl_limit){"capacitor voltage", "V", highest_voltage(s), c->rated_voltage};
    if (c->rated_ac_voltage > 0.0)
        limits[n++] =
            (hl_limit){"alternating voltage", "V", ripple_voltage(s, c->capacitance), c->rated_ac_voltage};
    if (c->rated_ripple > 0.0)
        limits[n++] = (hl_limit){"ripple current", "A", ripple_rms(s), c->rated_ripple};
    return n;
}

#endif
