/* A choice among no words. */
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "kind", NULL, HL_CHOICE, HL_REQUIRED, 0, 0, 0, NULL, NULL, "Kind.", "marking"                        \
    }
#include "sound.h"
