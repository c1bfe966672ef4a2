/* A slot that asks for a kind no device can claim. */
#define SLOTS                                                                                                \
    {                                                                                                        \
        "resistor", HL_FITS(HL_FAMILY_RESISTOR), HL_REQUIRED, 1, "Carries all the current.",                 \
            HL_KINDS("Fuse")                                                                                 \
    }
#include "sound.h"
