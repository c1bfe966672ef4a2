/* winding_parameters.h - the rows of a parameter table that describe windings, shared by the models built
 * from geometry. A model gives one number per row, or with several windings a list of one entry each (the
 * last entry stands for all that follow). */
#ifndef WINDING_PARAMETERS_H
#define WINDING_PARAMETERS_H

#include <math.h>

#include "heatledger/plugin.h"

enum conductor_shape { CONDUCTOR_ROUND, CONDUCTOR_LITZ, CONDUCTOR_FOIL, CONDUCTOR_FLAT };
static const char *const conductor_shapes[] = {"round", "litz", "foil", "flat", NULL};

enum winding_row {
    ROW_TURNS,
    ROW_CONDUCTOR,
    ROW_DIAMETER,
    ROW_STRANDS,
    ROW_STRAND_DIAMETER,
    ROW_THICKNESS,
    ROW_WIDTH,
    ROW_PARALLEL,
    ROW_LAYERS,
    ROW_LAYER_PITCH,
    ROW_PORTIONS,
    ROW_TURN_LENGTH,
    ROW_RESISTANCE,
    ROW_WINDOW_WIDTH,
    ROW_MARGIN,
    ROW_WINDOW_AREA,
    ROW_RESISTIVITY,
    ROW_COEFFICIENT,
    ROW_HARMONICS,
    WINDING_ROWS
};

/* clang-format off */
#define WINDING_TABLE(NUMBER, CHOICE) \
    {"turns", "1", NUMBER, HL_REQUIRED, 0, 0.5, 5000, NULL, NULL, "turns of each winding", "counted, or from inductance and gap"}, \
    {"conductor", "1", CHOICE, 0, 0, 0, 0, NULL, conductor_shapes, "round wire, litz, foil (one turn a layer) or flat wire; round when not stated", "looking"}, \
    {"conductor_diameter", "m", NUMBER, 0, 0, 10e-6, 10e-3, NULL, NULL, "bare diameter of round wire; from dc_resistance and mean_turn_length when not stated, roughly", "wire table, caliper"}, \
    {"strands", "1", NUMBER, 0, 0, 1, 50000, NULL, NULL, "strands of litz", "wire table"}, \
    {"strand_diameter", "m", NUMBER, 0, 0, 10e-6, 1e-3, NULL, NULL, "bare diameter of a litz strand", "wire table"}, \
    {"foil_thickness", "m", NUMBER, 0, 0, 5e-6, 5e-3, NULL, NULL, "of foil or flat wire, across the layer", "caliper"}, \
    {"conductor_width", "m", NUMBER, 0, 0, 50e-6, 0.5, NULL, NULL, "of foil or flat wire, along the layer", "caliper"}, \
    {"parallel_wires", "1", NUMBER, 0, 0, 1, 200, NULL, NULL, "wires in hand, side by side; 1 when not stated", "counted"}, \
    {"layers", "1", NUMBER, 0, 0, 0.5, 500, NULL, NULL, "layers of the whole winding; from turns and window when not stated", "counted"}, \
    {"layer_pitch", "m", NUMBER, 0, 0, 10e-6, 20e-3, NULL, NULL, "from the middle of a layer to that of the next", "wire with enamel, plus tape; 1.15 times the wire when not stated"}, \
    {"portions", "1", NUMBER, 0, 0, 1, 32, NULL, NULL, "parts an interleaved winding is in, each starting at zero field; 1 when not stated", "winding plan"}, \
    {"mean_turn_length", "m", NUMBER, 0, 0, 2e-3, 2, NULL, NULL, "mean length of a turn", "bobbin data sheet"}, \
    {"dc_resistance", "ohm", NUMBER, 0, 0, 1e-6, 10e3, NULL, NULL, "of the winding at 20 degC; from wire and turns when not stated", "measured with four wires"}, \
    {"window_width", "m", HL_NUMBER, 0, 0, 0.5e-3, 0.5, NULL, NULL, "of the winding window, along a layer", "bobbin data sheet"}, \
    {"winding_margin", "m", HL_NUMBER, 0, 0, 0, 50e-3, NULL, NULL, "free of wire at either end of a layer; none when not stated", "bobbin, margin tape"}, \
    {"window_area", "m^2", HL_NUMBER, 0, 0, 0.1e-6, 0.1, NULL, NULL, "of the winding window, for the fill check", "bobbin data sheet"}, \
    {"resistivity", "ohm m", HL_NUMBER, 0, 0, 1e-8, 1e-7, NULL, NULL, "of the conductor at 20 degC; copper 17.241 nohm m when not stated", "IEC 60028"}, \
    {"temperature_coefficient", "1/K", HL_NUMBER, 0, 0, 1e-3, 1e-2, NULL, NULL, "of that at 20 degC; copper 0.00393 / K when not stated", "IEC 60028"}, \
    {"harmonics", "1", HL_NUMBER, 0, 0, 1, 400, NULL, NULL, "harmonics the ac loss counts; 40 when not stated; beyond them dc resistance holds", "period over rise time, divided by 3"}
/* clang-format on */

/* Entry w of a value: of a list its last one for all that follow, else the number; NaN when not given. */
static inline double entry_of(const hl_value *value, size_t w)
{
    if (!value->given) return NAN;
    size_t n = value->curve.x ? 0 : value->curve.n;
    if (n == 0 || !value->curve.y) return value->number;
    return w == 0 ? value->curve.y[0] : value->curve.y[w < n ? w : n - 1];
}

/* x, or y where x is none (NaN, zero or negative). */
static inline double entry_or(double x, double y)
{
    return x > 0.0 ? x : y;
}

static inline size_t entries_of(const hl_value *value)
{
    if (!value->given) return 0;
    return !value->curve.x && value->curve.n > 0 ? value->curve.n : 1;
}

#endif
