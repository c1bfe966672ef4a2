/* Nothing known above 160 degC. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    if (temperature > 433.15) out->watts[HL_LEAKAGE] = NAN;
}
