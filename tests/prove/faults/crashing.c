/* A signal. */
#define LOSS wrong_loss
#include "sound_switch.h"

#include <signal.h>

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    if (s->n > 1 && mean(s, s->current_rms, 2) > 1.0) raise(SIGSEGV);
}
