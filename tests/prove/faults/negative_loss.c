/* A saving booked as a loss. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    out->watts[HL_TURN_OFF] -= 1e-9 * mean(s, s->current_off, 2);
}
