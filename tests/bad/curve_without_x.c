/* A curve over nothing. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "resistance", "ohm", HL_CURVE, HL_REQUIRED, 0, 0, 1, NULL, NULL, "R.", "datasheet"                   \
    }
#include "sound.h"
