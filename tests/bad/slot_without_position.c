/* A slot that stands nowhere. */
#define SLOTS                                                                                                \
    {                                                                                                        \
        "resistor", HL_FITS(HL_FAMILY_RESISTOR), HL_REQUIRED, 0, "Carries all the current.", NULL            \
    }
#include "sound.h"
