/* boost_parameters.h - the parameters the boost power-factor stages share, and how they are read. */
#ifndef BOOST_PARAMETERS_H
#define BOOST_PARAMETERS_H

#include <math.h>

#include "boost_line.h"
#include "boost_waves.h"
#include "heatledger/plugin.h"

enum {
    MODE,
    OUTPUT_VOLTAGE,
    FREQUENCY,
    INDUCTANCE,
    PHASES,
    MAXIMUM_FREQUENCY,
    MAXIMUM_ON_TIME,
    PEAK_LIMIT,
    BROWN_OUT,
    TURN_ON,
    DEAD_TIME,
    COMMUTATION_SLOPE,
    MINIMUM_BUS,
    CYCLES,
    REPORT_PHASE,
    BURST_POWER,
    BOOST_PARAMETERS
};

enum { VALLEY, IMMEDIATE };

static const char *const boost_modes[] = {"continuous", "boundary", NULL};
static const char *const boost_turn_ons[] = {"valley", "immediate", NULL};

/* clang-format off */
#define BOOST_PARAMETER_ROWS(dead_time_meaning) \
    {"mode", "1", HL_CHOICE, HL_REQUIRED, 0, 0, 0, NULL, boost_modes, \
     "continuous: average-current control at fixed frequency; boundary: constant on-time from zero current", \
     "controller's data sheet"}, \
    {"output_voltage", "V", HL_NUMBER, 0, 0, 50, 1000, NULL, NULL, "bus voltage it regulates to", "feedback divider, or measured"}, \
    {"switching_frequency", "Hz", HL_NUMBER, 0, 0, 10e3, 5e6, NULL, NULL, "fixed frequency of continuous mode", "timing part, or measured"}, \
    {"inductance", "H", HL_NUMBER, 0, 0, 1e-6, 50e-3, NULL, NULL, "overrides the inductance of the inductor part", "measured"}, \
    {"phases", "1", HL_NUMBER, HL_DEFAULT, 1, 1, BOOST_PHASES_MAX, NULL, NULL, "interleaved equal phases", "board"}, \
    {"maximum_frequency", "Hz", HL_NUMBER, 0, 0, 20e3, 20e6, NULL, NULL, "clamp of the frequency in boundary mode; beyond it the current rests at zero", "controller's data sheet"}, \
    {"maximum_on_time", "s", HL_NUMBER, 0, 0, 0.5e-6, 1e-3, NULL, NULL, "longest on-time of boundary mode; limits the power", "controller's data sheet"}, \
    {"peak_current_limit", "A", HL_NUMBER, 0, 0, 0.1, 500, NULL, NULL, "switch current at which the controller cuts, of one phase", "sense resistor and threshold"}, \
    {"brown_out_voltage", "V", HL_NUMBER, 0, 0, 20, 300, NULL, NULL, "rms input below which it does not run", "controller's data sheet"}, \
    {"turn_on", "1", HL_CHOICE, HL_DEFAULT, VALLEY, 0, 0, NULL, boost_turn_ons, "boundary mode: wait for the valley of the drain voltage, or turn on at once", "controller's data sheet"}, \
    {"dead_time", "s", HL_NUMBER, HL_DEFAULT, 50e-9, 0, 2e-6, NULL, NULL, dead_time_meaning, "measured"}, \
    {"commutation_slope", "A/s", HL_NUMBER, HL_DEFAULT, 3e8, 1e6, 1e10, NULL, NULL, "di/dt at which the switch takes over from the rectifier", "measured; 300 A/us is common practice"}, \
    {"minimum_bus_voltage", "V", HL_NUMBER, 0, 0, 10, 1000, NULL, NULL, "lowest bus voltage the next stage works at, for the hold-up time", "next stage"}, \
    {"cycles", "1", HL_NUMBER, HL_DEFAULT, 16, 16, 32, NULL, NULL, "switching cycles looked at over the quarter line, rounded up to eights; eight more where some of them rest at zero current", "accuracy wanted"}, \
    {"report_phase", "1", HL_NUMBER, HL_DEFAULT, 1, 0.001, 1, NULL, NULL, "where single-cycle figures are reported: 1 = crest of the line, 0 = its zero", "free choice"}, \
    {"burst_power", "W", HL_NUMBER, 0, 0, 0.01, 5000, NULL, NULL, "power taken from the rectifier below which it switches in packets of this power, with pauses", "controller's data sheet, or measured"}
/* clang-format on */

static inline unsigned phases_of(const hl_value *values)
{
    double n = values[PHASES].given ? values[PHASES].number : 1.0;
    return !(n >= 1.5) ? 1u : n >= BOOST_PHASES_MAX ? BOOST_PHASES_MAX : (unsigned)lround(n);
}

/* 0 where a value is not stated, or is no number. */
static inline double stated(const hl_value *value)
{
    return value->given && isfinite(value->number) ? value->number : 0.0;
}

#endif
