/* Less reverse conduction the more current flows. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    double back = mean(s, s->reverse_average, 1);
    sound_loss(state, s, temperature, out);
    out->watts[HL_REVERSE_CONDUCTION] += back / (1.0 + back * back);
}
