/* sound_switch.h - a switch that keeps every rule.  A file of this folder puts one function of its own in the
 * place of a sound one (a macro before the include, the function after it), wrong in one way. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/plugin.h"

#ifndef FAMILY
#define FAMILY HL_FAMILY_SWITCH
#endif
#ifndef STATE_SIZE
#define STATE_SIZE sound_size
#endif
#ifndef PREPARE
#define PREPARE sound_prepare
#endif
#ifndef PRESENT
#define PRESENT sound_present
#endif
#ifndef LOSS
#define LOSS sound_loss
#endif
#ifndef LIMITS
#define LIMITS sound_limits
#endif
#ifndef IMPEDANCE
#define IMPEDANCE sound_impedance
#endif
#ifndef IMPEDANCES
#define IMPEDANCES sound_impedances
#endif
#ifndef RESISTANCE_UNIT
#define RESISTANCE_UNIT "ohm"
#endif

enum { RESISTANCE, COEFFICIENT, GATE_ENERGY, LEAKAGE, PARAMETERS };

typedef struct sound_part {
    double resistance, coefficient, gate_energy, leakage;
} sound_part;

static inline size_t sound_size(const hl_value *values)
{
    (void)values;
    return sizeof(sound_part);
}

static inline bool sound_prepare(void *state, const hl_value *v, hl_reason *reason)
{
    *(sound_part *)state =
        (sound_part){v[RESISTANCE].number, v[COEFFICIENT].number, v[GATE_ENERGY].number, v[LEAKAGE].number};
    if (v[RESISTANCE].number > 0.0) return true;
    snprintf(reason->text, sizeof reason->text, "on_resistance %.3g ohm must be positive",
             v[RESISTANCE].number);
    return false;
}

/* W per A^2, and its slope; W per V, and its slope */
static inline double ohms(const sound_part *p, double temperature, double *slope)
{
    *slope = p->resistance * p->coefficient;
    return p->resistance * (1.0 + p->coefficient * (temperature - 298.15));
}

static inline double leaking(const sound_part *p, double temperature, double *slope)
{
    double current = p->leakage * exp(0.05 * (temperature - 298.15));
    *slope = 0.05 * current;
    return current;
}

static inline double mean(const hl_stress *s, const double *row, int power)
{
    double sum = 0.0;
    for (size_t k = 0; row && k < s->n; k++) sum += s->weight[k] * (power == 2 ? row[k] * row[k] : row[k]);
    return sum;
}

static inline void sound_present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    double slope;
    terminal->resistance = ohms(state, temperature, &slope);
    if (FAMILY == HL_FAMILY_CAPACITOR) terminal->capacitance = 1e-6;
}

static inline void sound_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    const sound_part *p = state;
    double slope, square = mean(s, s->current_rms, 2), volts = mean(s, s->voltage_off, 1);
    out->watts[HL_CONDUCTION] += ohms(p, temperature, &slope) * square;
    out->slope += slope * square;
    out->watts[HL_LEAKAGE] += leaking(p, temperature, &slope) * volts;
    out->slope += slope * volts;
    if (FAMILY == HL_FAMILY_SWITCH) out->watts[HL_GATE_DRIVE] += p->gate_energy * mean(s, s->frequency, 1);
}

static inline size_t sound_limits(const void *state, const hl_stress *s, double temperature,
                                  hl_limit limits[])
{
    (void)state, (void)temperature;
    limits[0] = (hl_limit){"drain voltage", "V", s->voltage_peak, 650.0};
    return 1;
}

static inline void sound_impedance(const void *state, double temperature, double voltage, double frequency,
                                   double *real, double *imaginary)
{
    (void)voltage;
    double slope;
    *real = ohms(state, temperature, &slope);
    *imaginary = frequency > 0.0 ? -1.0 / (6.28318530717958648 * frequency * 1e-6) : -1e9;
}

static inline void sound_impedances(const void *state, double temperature, double voltage,
                                    const double frequency[], size_t n, double real[], double imaginary[])
{
    for (size_t k = 0; k < n; k++)
        sound_impedance(state, temperature, voltage, frequency[k], &real[k], &imaginary[k]);
}

static inline size_t STATE_SIZE(const hl_value *values);
static inline bool PREPARE(void *state, const hl_value *v, hl_reason *reason);
static inline void PRESENT(const void *state, double temperature, double voltage, hl_terminal *terminal);
static inline void LOSS(const void *state, const hl_stress *s, double temperature, hl_loss *out);
static inline size_t LIMITS(const void *state, const hl_stress *s, double temperature, hl_limit limits[]);
static inline void IMPEDANCE(const void *state, double temperature, double voltage, double frequency,
                             double *real, double *imaginary);
static inline void IMPEDANCES(const void *state, double temperature, double voltage, const double frequency[],
                              size_t n, double real[], double imaginary[]);

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"on_resistance", RESISTANCE_UNIT, HL_NUMBER, HL_REQUIRED, 0, 1e-3, 10, NULL, NULL, "on-resistance at 25 degC", "data sheet"},
    {"temperature_coefficient", "1/K", HL_NUMBER, HL_DEFAULT, 0.003, 0, 0.005, NULL, NULL, "relative change per kelvin", "data sheet"},
    {"gate_energy", "J", HL_NUMBER, HL_DEFAULT, 1e-7, 1e-9, 1e-5, NULL, NULL, "to charge the gate once", "data sheet"},
    {"leakage_current", "A", HL_NUMBER, HL_DEFAULT, 1e-6, 1e-9, 1e-4, NULL, NULL, "at 25 degC", "data sheet"},
};
/* clang-format on */

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = FAMILY,
    .state_size = STATE_SIZE,
    .prepare = PREPARE,
    .present = PRESENT,
    .loss = LOSS,
    .limits = LIMITS,
    .impedance = FAMILY == HL_FAMILY_CAPACITOR ? IMPEDANCE : NULL,
    .impedances = FAMILY == HL_FAMILY_CAPACITOR ? IMPEDANCES : NULL,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "plain_switch",
    .title = "switch of ohms, leakage and a gate",
    .source = "Ohm's law",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("fault", "1", "nobody", "public domain", &model);
