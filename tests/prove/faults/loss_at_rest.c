/* A bias that flows without a circuit. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    out->watts[HL_BIAS] += 1e-3;
}
