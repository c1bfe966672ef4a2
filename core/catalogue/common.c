/* common.c - what every part may state, whatever its model. */
#include "heatledger/catalogue.h"

/* As printed on parts; their temperatures are in scripts/heatledger/limits/insulation_iec_60085.lua. */
static const char *const insulation_classes[] = {"Y", "A", "E", "B", "F", "H", "N", "R", "250", NULL};

/* clang-format off */
static const hl_parameter commons[HL_COMMONS] = {
    [HL_COMMON_SIZE] = {"size", "m", HL_LIST, 0, 0, 1e-4, 0.5, NULL, NULL,
        "length, width and height of the body, written 8 x 8 x 1 mm",
        "caliper, or the outline drawing of the data sheet"},
    [HL_COMMON_MAXIMUM_TEMPERATURE] = {"maximum_temperature", "degC", HL_NUMBER, 0, 0, 313.15, 773.15, NULL, NULL,
        "highest allowed temperature of the junction or of the hottest spot inside; not checked when not stated. A magnetic part without resistance_inside has one temperature, a mean, which its windings' hottest spot exceeds: state 5 to 20 K less there (class A to H: 5, 5, 10, 15, 20)",
        "absolute maximum ratings; on capacitors the upper category temperature on the sleeve"},
    [HL_COMMON_RESISTANCE_CASE] = {"resistance_case", "K/W", HL_NUMBER, HL_DEFAULT, 2.0, 1e-3, 500, NULL, NULL,
        "from the hot spot to the outer surface of the body",
        "thermal data, junction to case (top); the default is common practice for a small power package, no source"},
    [HL_COMMON_RESISTANCE_BOARD] = {"resistance_board", "K/W", HL_NUMBER, HL_DEFAULT, 10.0, 1e-3, 2000, NULL, NULL,
        "from the hot spot to the solder points",
        "thermal data, junction to board; the default is common practice for a small power package, no source"},
    [HL_COMMON_HEAT_CAPACITY] = {"heat_capacity", "J/K", HL_NUMBER, 0, 0, 1e-6, 1e4, NULL, NULL,
        "of the whole body; from its size when not stated",
        "mass times specific heat: weigh the part"},
    [HL_COMMON_EMISSIVITY] = {"emissivity", "1", HL_NUMBER, HL_DEFAULT, 0.9, 0.02, 1, NULL, NULL,
        "of the body's surface: 0.9 for plastic, lacquer and paper, 0.05 to 0.2 for bare metal",
        "heat-transfer tables; F. P. Incropera and others, Fundamentals of Heat and Mass Transfer, appendix A"},
    [HL_COMMON_CONDUCTIVITY] = {"conductivity", "W/(m K)", HL_NUMBER, HL_DEFAULT, 1.0, 0.02, 500, NULL, NULL,
        "mean of the body",
        "ferrite about 4, moulding compound 0.6 to 1; the default is common practice, no source"},
    [HL_COMMON_TRANSIENT_IMPEDANCE] = {"transient_impedance", "K/W", HL_CURVE, 0, 0, 1e-6, 1e4, "s", NULL,
        "from the hot spot to the outer surface over the length of a single pulse: a table of s and K/W",
        "transient thermal impedance curve, single pulse"},
    [HL_COMMON_INSULATION_CLASS] = {"insulation_class", "1", HL_CHOICE, 0, 0, 0, 0, NULL, insulation_classes,
        "thermal class of the windings by IEC 60085: its temperature is the limit of the hottest spot, which "
        "resistance_inside leads to; without it the mean is held against 5 to 25 K less",
        "marking or approval of the insulation system"},
    [HL_COMMON_RESISTANCE_INSIDE] = {"resistance_inside", "K/W", HL_NUMBER, 0, 0, 1e-3, 500, NULL, NULL,
        "from the windings to the core, or from the element to the can: makes these two nodes instead of one",
        "two thermocouples and a known loss; maker's figure from core to can"},
};
/* clang-format on */

const hl_parameter *hl_common_parameter(size_t index)
{
    return index < HL_COMMONS ? &commons[index] : NULL;
}
