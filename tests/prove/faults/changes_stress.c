/* Sorts the currents it was lent. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    double *lent = (double *)(uintptr_t)s->current_rms;
    if (s->n > 1 && lent && lent[0] > lent[1]) lent[1] = lent[0];
}
