/* A table of turn-on energy is told to circuits that do not ask for it. */
#define PRESENT wrong_present
#include "sound_switch.h"

static inline void wrong_present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    sound_present(state, temperature, voltage, terminal);
    terminal->turn_on_table = 1.0;
}
