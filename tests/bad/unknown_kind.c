/* A kind of parameter that does not exist. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "resistance", "ohm", (hl_parameter_kind)9, HL_REQUIRED, 0, 0, 1, NULL, NULL, "R.", "marking"         \
    }
#include "sound.h"
