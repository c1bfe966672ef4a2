/* A search that never settles. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    volatile double step = mean(s, s->current_rms, 2);
    sound_loss(state, s, temperature, out);
    while (step > 1e-3 && s->n > 1) step = step * 2.0 / 2.0;
}
