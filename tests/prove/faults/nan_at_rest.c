/* A mean divided by what may be zero. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    out->watts[HL_CONDUCTION] *= mean(s, s->current_rms, 1) / mean(s, s->current_rms, 1);
}
