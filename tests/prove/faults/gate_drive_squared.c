/* Gate drive by the square of the frequency. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    out->watts[HL_GATE_DRIVE] = ((const sound_part *)state)->gate_energy * 1e-5 * mean(s, s->frequency, 2);
}
