/* Conduction by the current, not by its square. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    const sound_part *p = state;
    double slope, amperes = sqrt(mean(s, s->current_rms, 2));
    out->watts[HL_CONDUCTION] += ohms(p, temperature, &slope) * amperes;
    out->slope += slope * amperes;
}
