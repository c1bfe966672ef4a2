/* Nothing in its own ranges is good enough. */
#define PREPARE wrong_prepare
#include "sound_switch.h"

static inline bool wrong_prepare(void *state, const hl_value *v, hl_reason *reason)
{
    (void)state;
    snprintf(reason->text, sizeof reason->text, "on_resistance %.3g ohm is too high", v[RESISTANCE].number);
    return false;
}
