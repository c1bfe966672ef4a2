/* A negative resistance at the terminals when cold. */
#define PRESENT wrong_present
#include "sound_switch.h"

static inline void wrong_present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    sound_present(state, temperature, voltage, terminal);
    if (temperature < 273.15) terminal->resistance = -terminal->resistance;
}
