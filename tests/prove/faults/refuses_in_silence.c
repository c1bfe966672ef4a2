/* No word about what is wrong. */
#define PREPARE wrong_prepare
#include "sound_switch.h"

static inline bool wrong_prepare(void *state, const hl_value *v, hl_reason *reason)
{
    if (v[RESISTANCE].number > 1.0) return false;
    return sound_prepare(state, v, reason);
}
