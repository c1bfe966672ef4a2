/* More limits than there is room for. */
#define LIMITS wrong_limits
#include "sound_switch.h"

static inline size_t wrong_limits(const void *state, const hl_stress *s, double temperature,
                                  hl_limit limits[])
{
    size_t n = sound_limits(state, s, temperature, limits);
    return n + HL_LIMITS_MAX;
}
