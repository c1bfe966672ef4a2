/* A plausible range that is no number. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "resistance", "ohm", HL_NUMBER, HL_REQUIRED, 0, NAN, 1, NULL, NULL, "R.", "marking"                  \
    }
#include "sound.h"
