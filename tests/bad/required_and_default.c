/* A parameter both required and defaulted. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "resistance", "ohm", HL_NUMBER, HL_REQUIRED | HL_DEFAULT, 1, 0, 1, NULL, NULL, "R.", "marking"       \
    }
#include "sound.h"
