/* The state as scratch memory. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    ((sound_part *)(uintptr_t)state)->gate_energy += 0.0 * temperature + 1e-12;
}
