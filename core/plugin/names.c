/* names.c - the words shown for families, mechanisms and origins. */
#include "heatledger/catalogue.h"

static const char *const families[HL_FAMILIES] = {"switch", "diode", "capacitor", "magnetic", "resistor"};

static const char *const mechanisms[HL_MECHANISMS] = {
    "conduction",    "reverse conduction", "turn-on",      "turn-off",
    "output charge", "reverse recovery",   "gate drive",   "leakage",
    "core",          "winding (dc)",       "winding (ac)", "fringing",
    "ESR",           "dielectric",         "bias",         "other",
};

static const char *const origins[] = {"absent", "estimate", "marking", "datasheet", "bench", "stated"};

const char *hl_family_name(hl_family family)
{
    return (unsigned)family < HL_FAMILIES ? families[family] : "unknown family";
}

const char *hl_mechanism_name(hl_mechanism mechanism)
{
    return (unsigned)mechanism < HL_MECHANISMS ? mechanisms[mechanism] : "unknown mechanism";
}

const char *hl_origin_name(hl_origin origin)
{
    return (unsigned)origin <= HL_ORIGIN_STATED ? origins[origin] : "unknown origin";
}
