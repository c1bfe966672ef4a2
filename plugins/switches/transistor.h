/* transistor.h - what every field-effect switch has: parameters, state and the losses of channel, gate,
 * output capacitance, reverse path.  A model file adds its table and its own defaults.
 *
 * What is booked where (nothing twice, nothing left out):
 * - conduction: channel, R_on(T) i_rms^2
 * - reverse conduction: body diode or source-drain path, V_r i_avg + r_r i_rms^2
 * - turn-on, turn-off: overlap of voltage and current in the channel, gate_drive.h or energy_table.h
 * - output charge: at turn-on with a residual voltage v own stored energy E(v), and the co-energy of the
 *   opposite device, taken to be of the same kind, that is charged through this channel (stress charge_on is
 *   its swing).  A diode books its own charge itself.
 * - reverse recovery: by the switch whose body diode recovers, V Q per commutation; and by the one that turns
 *   on with energy tables, recovery_energy, which those leave to the diode that it turns off
 * - gate drive: Q_g (V_on - V_off) f, whatever of it heats driver and resistor
 * - leakage: while blocking
 *
 * Sign of current_off: positive = interrupted by the channel.  Where the stage gives slope_off > 0, or a
 * negative current_off, the current flows in reverse and another device takes it over: no channel overlap,
 * the body diode recovers instead. */
#ifndef TRANSISTOR_H
#define TRANSISTOR_H

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "../charge_law.h"
#include "../cycle_block.h"
#include "../diodes/reverse_recovery.h"
#include "energy_table.h"
#include "gate_drive.h"
#include "heatledger/plugin.h"

/* Order of the shared rows; a model's own rows follow. */
enum transistor_parameter {
    ON_RESISTANCE,
    RATED_VOLTAGE,
    RATED_CURRENT,
    RATED_PULSE_CURRENT,
    RESISTANCE_FACTOR,
    RESISTANCE_EXPONENT,
    DRIVE_FACTOR,
    GATE_DRIVE_VOLTAGE,
    GATE_OFF_VOLTAGE,
    GATE_CHARGE,
    GATE_DRAIN_CHARGE,
    GATE_SOURCE_CHARGE_AFTER_THRESHOLD,
    GATE_CHARGE_VOLTAGE,
    THRESHOLD_VOLTAGE,
    PLATEAU_VOLTAGE,
    GATE_RESISTANCE_ON,
    GATE_RESISTANCE_OFF,
    INTERNAL_GATE_RESISTANCE,
    COMMON_SOURCE_INDUCTANCE,
    TURN_OFF_LAW,
    OUTPUT_CAPACITANCE,
    OUTPUT_CHARGE,
    OUTPUT_ENERGY,
    OUTPUT_VOLTAGE,
    OUTPUT_EXPONENT,
    TURN_ON_ENERGY,
    TURN_OFF_ENERGY,
    ENERGY_VOLTAGE,
    ENERGY_VOLTAGE_EXPONENT,
    ENERGY_TEMPERATURE,
    ENERGY_TEMPERATURE_COEFFICIENT,
    ENERGY_GATE_RESISTANCE,
    TURN_ON_GATE_FACTOR,
    TURN_OFF_GATE_FACTOR,
    RECOVERY_ENERGY,
    RECOVERY_ENERGY_EXPONENT,
    LEAKAGE_CURRENT,
    LEAKAGE_TEMPERATURE,
    LEAKAGE_DOUBLING,
    REVERSE_VOLTAGE,
    REVERSE_RESISTANCE,
    REVERSE_TEMPERATURE_COEFFICIENT,
    TRANSISTOR_PARAMETERS
};

enum { SNUBBED, CHANNEL };
static const char *const turn_off_laws[] = {"snubbed", "channel", NULL};

/* clang-format off */
#define ROW(name, unit, flags, fallback, low, high, meaning, source) \
    {name, unit, HL_NUMBER, flags, fallback, low, high, NULL, NULL, meaning, source}
#define CURVE_ROW(name, unit, low, high, over, meaning, source) \
    {name, unit, HL_CURVE, 0, 0, low, high, over, NULL, meaning, source}

/* Shared rows; defaults of drive voltage, threshold and plateau; name, default, flags of the resistance,
 * temperature coefficient and meaning of the reverse drop. */
#define TRANSISTOR_ROWS(drive, threshold, plateau, reverse_name, reverse_drop, reverse_ohm, reverse_kelvin, reverse_meaning) \
    ROW("on_resistance", "ohm", HL_REQUIRED, 0, 1e-4, 50, "on-resistance at 25 degC and full drive", "data sheet: static characteristics"), \
    ROW("rated_voltage", "V", HL_REQUIRED, 0, 8, 3500, "largest drain voltage", "data sheet: maximum ratings, or marking"), \
    ROW("rated_current", "A", 0, 0, 0.05, 1000, "continuous drain current", "data sheet: maximum ratings"), \
    ROW("rated_pulse_current", "A", 0, 0, 0.05, 4000, "pulsed drain current", "data sheet: maximum ratings"), \
    CURVE_ROW("resistance_factor", "1", 0.3, 6, "degC", "on-resistance over temperature, 1 at 25 degC; without it a power law stands in", "data sheet: normalised on-resistance over junction temperature"), \
    ROW("resistance_exponent", "1", 0, 0, 0, 4, "n of R = R25 (T/298 K)^n, used without a resistance_factor table; otherwise usual for the kind", "fit to two points of the data sheet"), \
    CURVE_ROW("drive_factor", "1", 0.5, 20, "V", "on-resistance over gate drive voltage, 1 at full drive", "data sheet: on-resistance over gate voltage"), \
    ROW("gate_drive_voltage", "V", HL_DEFAULT, drive, 2.5, 25, "driver's voltage while on", "measured at the gate, or controller data sheet"), \
    ROW("gate_off_voltage", "V", HL_DEFAULT, 0, -12, 0, "driver's voltage while off", "measured at the gate"), \
    ROW("gate_charge", "C", 0, 0, 1e-11, 5e-6, "total gate charge at the drive voltage", "data sheet: gate charge"), \
    ROW("gate_drain_charge", "C", 0, 0, 1e-12, 2e-6, "charge of the plateau", "data sheet: gate charge"), \
    ROW("gate_source_charge_after_threshold", "C", 0, 0, 1e-12, 1e-6, "gate charge from threshold to plateau", "data sheet: gate charge curve"), \
    ROW("gate_charge_voltage", "V", 0, 0, 5, 2000, "drain voltage the gate-drain charge is stated at; without it the output_voltage", "data sheet: test conditions"), \
    ROW("threshold_voltage", "V", HL_DEFAULT, threshold, 0.5, 8, "gate threshold", "data sheet: typical"), \
    ROW("plateau_voltage", "V", HL_DEFAULT, plateau, 0.8, 15, "gate plateau at the working current", "data sheet: gate charge curve"), \
    ROW("gate_resistance_on", "ohm", HL_DEFAULT, 10, 0, 500, "external resistance and driver, turning on", "board, controller data sheet"), \
    ROW("gate_resistance_off", "ohm", HL_DEFAULT, 5, 0, 500, "external resistance and driver, turning off", "board, controller data sheet"), \
    ROW("internal_gate_resistance", "ohm", HL_DEFAULT, 1, 0, 50, "resistance inside the transistor", "data sheet: dynamic characteristics"), \
    ROW("common_source_inductance", "H", HL_DEFAULT, 0, 0, 2e-8, "inductance shared by gate and power loop", "package: about 5 nH for leads without a sense source"), \
    {"turn_off_law", "1", HL_CHOICE, HL_DEFAULT, SNUBBED, 0, 0, NULL, turn_off_laws, "snubbed: the output capacitance relieves the channel at turn-off; channel: plain overlap as textbooks have it", "judgement"}, \
    CURVE_ROW("output_capacitance", "F", 1e-13, 1e-6, "V", "output capacitance over drain voltage, integrated to charge and energy", "data sheet: capacitances"), \
    ROW("output_charge", "C", 0, 0, 1e-11, 5e-6, "charge of the output capacitance at output_voltage", "data sheet: output charge"), \
    ROW("output_energy", "J", 0, 0, 1e-10, 1e-3, "energy stored in the output capacitance at output_voltage", "data sheet: stored energy"), \
    ROW("output_voltage", "V", 0, 0, 1, 3000, "drain voltage of the two; without it 2/3 of the rated voltage from 300 V up, half below", "data sheet: test conditions"), \
    ROW("output_exponent", "1", 0, 0, 0.05, 1, "q of Q ~ v^q, used when only one of charge and energy is known", "fit to the data sheet's curve"), \
    CURVE_ROW("turn_on_energy", "J", 0, 0.1, "A", "turn-on energy over current; replaces overlap, charge of the opposite device and recovery", "data sheet: switching energies"), \
    CURVE_ROW("turn_off_energy", "J", 0, 0.1, "A", "turn-off energy over current, own stored energy included as measured", "data sheet: switching energies"), \
    ROW("energy_voltage", "V", 0, 0, 5, 3000, "drain voltage of the energy tables", "data sheet: test conditions"), \
    ROW("energy_voltage_exponent", "1", HL_DEFAULT, 1.3, 0.5, 2, "p of E ~ v^p", "fit; common practice without one"), \
    ROW("energy_temperature", "degC", HL_DEFAULT, 298.15, 233.15, 473.15, "junction temperature of the energy tables", "data sheet: test conditions"), \
    ROW("energy_temperature_coefficient", "1/K", HL_DEFAULT, 0, -0.01, 0.02, "change of the switching energies per kelvin", "data sheet: energies over temperature"), \
    ROW("energy_gate_resistance", "ohm", 0, 0, 0, 500, "external gate resistance of the energy tables", "data sheet: test conditions"), \
    CURVE_ROW("turn_on_gate_factor", "1", 0.05, 50, "ohm", "turn-on energy over external gate resistance, any scale", "data sheet: energies over gate resistance"), \
    CURVE_ROW("turn_off_gate_factor", "1", 0.05, 50, "ohm", "turn-off energy over external gate resistance, any scale", "data sheet: energies over gate resistance"), \
    CURVE_ROW("recovery_energy", "J", 0, 0.1, "A", "energy that the diode of the turn_on_energy's test burns itself as it recovers, over current; added to the tables and warms that diode; not to be stated where turn_on_energy already has it, or where the diode turned off stores no charge", "data sheet: reverse recovery energy beside the switching energies"), \
    ROW("recovery_energy_voltage_exponent", "1", 0, 0, 0, 2, "p of recovery_energy ~ v^p; without it 0.6", "fit; common practice without one"), \
    ROW("leakage_current", "A", 0, 0, 0, 0.1, "drain leakage at leakage_temperature, blocking", "data sheet: static characteristics"), \
    ROW("leakage_temperature", "degC", HL_DEFAULT, 298.15, 233.15, 473.15, "junction temperature of leakage_current", "data sheet: test conditions"), \
    ROW("leakage_doubling", "K", HL_DEFAULT, 12, 5, 40, "rise that doubles the leakage", "two points of the data sheet"), \
    ROW(reverse_name, "V", HL_DEFAULT, reverse_drop, 0.05, 8, reverse_meaning, "data sheet: reverse or diode characteristics"), \
    ROW("reverse_resistance", "ohm", reverse_ohm, 0, 0, 50, "slope of the reverse characteristic", "data sheet: reverse or diode characteristics"), \
    ROW("reverse_temperature_coefficient", "V/K", HL_DEFAULT, reverse_kelvin, -0.01, 0.01, "change of the reverse drop per kelvin", "data sheet: reverse characteristics at two temperatures")

/* Recovery of a body diode, for the models that have one, right after the shared rows. */
#define RECOVERY_ROWS \
    ROW("recovery_charge", "C", 0, 0, 1e-11, 1e-4, "reverse recovery charge of the body diode, net of the output charge", "data sheet: reverse diode"), \
    ROW("recovery_current", "A", 0, 0, 0.05, 1000, "forward current of that test", "data sheet: test conditions"), \
    ROW("recovery_slope", "A/s", HL_DEFAULT | HL_CONDITION, 1e8, 1e6, 2e10, "di/dt of that test", "data sheet: test conditions"), \
    ROW("recovery_temperature", "degC", HL_DEFAULT, 298.15, 233.15, 473.15, "junction temperature of that test", "data sheet: test conditions"), \
    ROW("recovery_temperature_coefficient", "1/K", HL_DEFAULT, 0.006, 0, 0.03, "growth of the charge per kelvin", "data sheet: charge at two temperatures; common practice without")
/* clang-format on */

enum {
    RECOVERY_CHARGE,
    RECOVERY_CURRENT,
    RECOVERY_SLOPE,
    RECOVERY_TEMPERATURE,
    RECOVERY_COEFFICIENT,
    RECOVERY_PARAMETERS
};

typedef struct transistor {
    double r25, exponent;  /* ohm at 25 degC and the drive in use; of the power law */
    double channel_factor; /* dynamic on-resistance */
    hl_curve factor;       /* over K; n == 0: power law */
    double reverse_voltage, reverse_resistance, reverse_coefficient; /* V, ohm, V/K at 25 degC */
    bool reverse_follows_channel;                                    /* reverse resistance = on-resistance */
    double gate_energy;                                              /* J per cycle */
    gate_edge on, off;
    bool textbook_turn_off;
    charge_law output;
    energy_table table_on, table_off, table_recovery;
    double energy_temperature, energy_coefficient;
    recovery recover;
    double leakage, leakage_temperature, leakage_rate; /* A, K, 1/K */
    double rated_voltage, rated_current, rated_pulse;
    bool no_gate_data, no_output_data;
} transistor;

static const double reference_temperature = 298.15; /* K */

/* ---------------------------------------------------------- preparation -- */

static inline bool transistor_refuse(hl_reason *reason, const char *sentence, ...)
    __attribute__((format(printf, 2, 3)));

static inline bool transistor_refuse(hl_reason *reason, const char *sentence, ...)
{
    va_list numbers;
    va_start(numbers, sentence);
    vsnprintf(reason->text, sizeof reason->text, sentence, numbers);
    va_end(numbers);
    return false;
}

static inline size_t transistor_size(const hl_value *values)
{
    return sizeof(transistor) + charge_pieces_for(&values[OUTPUT_CAPACITANCE].curve) * sizeof(charge_piece);
}

static inline double given_or(const hl_value *value, double otherwise)
{
    return value->given ? value->number : otherwise;
}

/* Voltage data sheets state charge and energy at, when a part does not: common practice, no source. */
static inline double output_voltage_of(const hl_value *v)
{
    double rated = v[RATED_VOLTAGE].number;
    return given_or(&v[OUTPUT_VOLTAGE], rated >= 300.0 ? rated * (2.0 / 3.0) : 0.5 * rated);
}

static inline bool prepare_output(transistor *t, const hl_value *v, double usual, hl_reason *reason)
{
    const hl_curve *c = &v[OUTPUT_CAPACITANCE].curve;
    if (c->n) {
        if (charge_law_from_table(&t->output, c, (charge_piece *)(t + 1))) return true;
        return transistor_refuse(reason,
                                 "output_capacitance: a point is negative; voltages and capacitances are "
                                 "0 or more");
    }
    double at = output_voltage_of(v), charge = given_or(&v[OUTPUT_CHARGE], 0.0);
    double energy = given_or(&v[OUTPUT_ENERGY], 0.0);
    t->no_output_data = !(charge > 0.0 || energy > 0.0);
    if (charge_law_from_point(&t->output, charge, energy, at, given_or(&v[OUTPUT_EXPONENT], usual)))
        return true;
    return transistor_refuse(
        reason,
        "output_energy %.3g J is more than output_charge %.3g C at %.3g V can hold; a "
        "capacitance that falls with voltage holds less than half of charge times voltage",
        energy, charge, at);
}

static inline bool prepare_gate(transistor *t, const hl_value *v, hl_reason *reason)
{
    double drive = v[GATE_DRIVE_VOLTAGE].number, rest = v[GATE_OFF_VOLTAGE].number;
    double threshold = v[THRESHOLD_VOLTAGE].number, plateau = v[PLATEAU_VOLTAGE].number;
    if (!(drive > plateau && plateau > threshold && threshold > rest))
        return transistor_refuse(reason,
                                 "gate voltages must rise: threshold %.3g V, plateau %.3g V, drive %.3g V",
                                 threshold, plateau, drive);
    double total = given_or(&v[GATE_CHARGE], 0.0);
    /* share of the whole in the plateau, and between threshold and plateau: common practice, no source */
    double plateau_charge = given_or(&v[GATE_DRAIN_CHARGE], 0.3 * total);
    double rise_charge = given_or(&v[GATE_SOURCE_CHARGE_AFTER_THRESHOLD], 0.1 * total);
    double inside = v[INTERNAL_GATE_RESISTANCE].number, inductance = v[COMMON_SOURCE_INDUCTANCE].number;
    double at = given_or(&v[GATE_CHARGE_VOLTAGE], output_voltage_of(v));
    t->no_gate_data = !v[GATE_DRAIN_CHARGE].given || !v[GATE_SOURCE_CHARGE_AFTER_THRESHOLD].given;
    t->gate_energy = total * (drive - rest);
    t->on = gate_edge_of(v[GATE_RESISTANCE_ON].number + inside, rise_charge, plateau_charge,
                         drive - threshold, drive - plateau, drive - plateau, inductance, at);
    t->off = gate_edge_of(v[GATE_RESISTANCE_OFF].number + inside, rise_charge, plateau_charge, plateau - rest,
                          threshold - rest, plateau - rest, inductance, at);
    t->textbook_turn_off = v[TURN_OFF_LAW].number == CHANNEL;
    return true;
}

static inline energy_table table_of(const hl_value *v, int energy, int factor, int resistance)
{
    energy_table t = {.energy = v[energy].curve,
                      .voltage = v[ENERGY_VOLTAGE].number,
                      .exponent = v[ENERGY_VOLTAGE_EXPONENT].number,
                      .gate_factor = 1.0};
    const hl_curve *c = &v[factor].curve;
    if (!c->n || !v[ENERGY_GATE_RESISTANCE].given) return t;
    double base = hl_curve_at(c, v[ENERGY_GATE_RESISTANCE].number, NULL, NULL);
    if (base > 0.0) t.gate_factor = hl_curve_at(c, v[resistance].number, NULL, NULL) / base;
    return t;
}

static inline bool prepare_tables(transistor *t, const hl_value *v, hl_reason *reason)
{
    bool on = v[TURN_ON_ENERGY].curve.n > 0, off = v[TURN_OFF_ENERGY].curve.n > 0;
    if (!on && v[RECOVERY_ENERGY].curve.n)
        return transistor_refuse(reason,
                                 "recovery_energy stands beside turn_on_energy, as what that leaves to "
                                 "the other diode; without it the diode books all of its "
                                 "recovery_charge itself");
    if (!on && !off) return true;
    if (!on || !off)
        return transistor_refuse(reason,
                                 "turn_on_energy and turn_off_energy come together: a table for one edge and "
                                 "an estimate for the other would book charges twice or not at all");
    if (!v[ENERGY_VOLTAGE].given)
        return transistor_refuse(reason,
                                 "energy tables need energy_voltage, the drain voltage of their test");
    t->table_on = table_of(v, TURN_ON_ENERGY, TURN_ON_GATE_FACTOR, GATE_RESISTANCE_ON);
    t->table_off = table_of(v, TURN_OFF_ENERGY, TURN_OFF_GATE_FACTOR, GATE_RESISTANCE_OFF);
    t->table_recovery = (energy_table){.energy = v[RECOVERY_ENERGY].curve,
                                       .voltage = v[ENERGY_VOLTAGE].number,
                                       .exponent = given_or(&v[RECOVERY_ENERGY_EXPONENT], 0.6),
                                       .gate_factor = 1.0};
    t->energy_temperature = v[ENERGY_TEMPERATURE].number;
    t->energy_coefficient = v[ENERGY_TEMPERATURE_COEFFICIENT].number;
    return true;
}

/* What is usual for a kind of switch where a part does not say: exponents of Q ~ v^q and R ~ T^n. */
typedef struct transistor_kind {
    double charge_exponent, resistance_exponent;
} transistor_kind;

static inline bool transistor_prepare(transistor *t, const hl_value *v, transistor_kind usual,
                                      hl_reason *reason)
{
    t->r25 = v[ON_RESISTANCE].number;
    if (!(t->r25 > 0.0) || !(v[RATED_VOLTAGE].number > 0.0))
        return transistor_refuse(reason, "on_resistance %.3g ohm and rated_voltage %.3g V must be positive",
                                 t->r25, v[RATED_VOLTAGE].number);
    if (v[DRIVE_FACTOR].curve.n)
        t->r25 *= hl_curve_at(&v[DRIVE_FACTOR].curve, v[GATE_DRIVE_VOLTAGE].number, NULL, NULL);
    t->factor = v[RESISTANCE_FACTOR].curve;
    t->exponent = given_or(&v[RESISTANCE_EXPONENT], usual.resistance_exponent);
    t->channel_factor = 1.0;
    t->reverse_voltage = v[REVERSE_VOLTAGE].number;
    t->reverse_resistance = given_or(&v[REVERSE_RESISTANCE], 0.0);
    t->reverse_coefficient = v[REVERSE_TEMPERATURE_COEFFICIENT].number;
    t->leakage = given_or(&v[LEAKAGE_CURRENT], 0.0);
    t->leakage_temperature = v[LEAKAGE_TEMPERATURE].number;
    t->leakage_rate = log(2.0) / v[LEAKAGE_DOUBLING].number;
    t->rated_voltage = v[RATED_VOLTAGE].number;
    t->rated_current = given_or(&v[RATED_CURRENT], 0.0);
    t->rated_pulse = given_or(&v[RATED_PULSE_CURRENT], 0.0);
    return prepare_output(t, v, usual.charge_exponent, reason) && prepare_gate(t, v, reason) &&
           prepare_tables(t, v, reason);
}

/* v: the model's recovery rows. */
static inline void transistor_prepare_recovery(transistor *t, const hl_value *v)
{
    double current = given_or(&v[RECOVERY_CURRENT], t->rated_current);
    t->recover.slope = v[RECOVERY_SLOPE].number;
    t->recover.temperature = v[RECOVERY_TEMPERATURE].number;
    t->recover.coefficient = v[RECOVERY_COEFFICIENT].number;
    t->recover.life_time = recovery_life_time(given_or(&v[RECOVERY_CHARGE], 0.0), current, t->recover.slope);
}

#endif
