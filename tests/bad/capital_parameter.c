/* A parameter name with a blank and a capital. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "On resistance", "ohm", HL_NUMBER, HL_REQUIRED, 0, 0, 1, NULL, NULL, "R.", "marking"                 \
    }
#include "sound.h"
