/* A plausible range from high to low. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "resistance", "ohm", HL_NUMBER, HL_REQUIRED, 0, 10, 1, NULL, NULL, "R.", "marking"                   \
    }
#include "sound.h"
