/* A dimension that is no unit. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "resistance", "blorp", HL_NUMBER, HL_REQUIRED, 0, 0, 1, NULL, NULL, "R.", "marking"                  \
    }
#include "sound.h"
