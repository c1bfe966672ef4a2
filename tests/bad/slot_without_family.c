/* A slot that no part fits. */
#define SLOTS                                                                                                \
    {                                                                                                        \
        "resistor", 0, HL_REQUIRED, 1, "Carries all the current."                                            \
    }
#include "sound.h"
