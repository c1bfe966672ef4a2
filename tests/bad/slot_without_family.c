/* A slot that no part fits. */
#define SLOTS                                                                                                \
    {                                                                                                        \
        "resistor", 0, HL_REQUIRED, 1, "Carries all the current.", NULL                                      \
    }
#include "sound.h"
