/* A range test that NaN slips through. */
#define PREPARE wrong_prepare
#include "sound_switch.h"

static inline bool wrong_prepare(void *state, const hl_value *v, hl_reason *reason)
{
    (void)reason;
    *(sound_part *)state =
        (sound_part){v[RESISTANCE].number, v[COEFFICIENT].number, v[GATE_ENERGY].number, v[LEAKAGE].number};
    return !(v[RESISTANCE].number <= 0.0) || sound_prepare(state, v, reason);
}
