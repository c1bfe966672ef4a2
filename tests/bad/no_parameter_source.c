/* A figure that nobody can find. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "resistance", "ohm", HL_NUMBER, HL_REQUIRED, 0, 0, 1, NULL, NULL, "R.", NULL                         \
    }
#include "sound.h"
