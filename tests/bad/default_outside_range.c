/* A default the model itself calls implausible. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "resistance", "ohm", HL_NUMBER, HL_DEFAULT, 50, 0, 1, NULL, NULL, "R.", "marking"                    \
    }
#include "sound.h"
