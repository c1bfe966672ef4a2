/* A limit without a rating. */
#define LIMITS wrong_limits
#include "sound_switch.h"

static inline size_t wrong_limits(const void *state, const hl_stress *s, double temperature,
                                  hl_limit limits[])
{
    size_t n = sound_limits(state, s, temperature, limits);
    limits[0].rated = 0.0;
    return n;
}
