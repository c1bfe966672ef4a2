/* Intermediate figures in memory that all threads share. */
#define LOSS wrong_loss
#include "sound_switch.h"

static volatile sound_part shared[512];

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    for (size_t i = 0; i < sizeof shared / sizeof *shared; i++) shared[i] = *(const sound_part *)state;
    sound_part own = {0};
    for (size_t i = 0; i < sizeof shared / sizeof *shared; i++) {
        own.resistance = shared[i].resistance;
        own.coefficient = shared[i].coefficient;
        own.gate_energy = shared[i].gate_energy;
        own.leakage = shared[i].leakage;
    }
    sound_loss(&own, s, temperature, out);
}
