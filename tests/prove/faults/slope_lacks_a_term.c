/* The leakage has a slope too. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    const sound_part *p = state;
    double slope, square = mean(s, s->current_rms, 2);
    sound_loss(state, s, temperature, out);
    ohms(p, temperature, &slope);
    out->slope = slope * square;
}
