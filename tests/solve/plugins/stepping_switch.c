/* A switch that loses 1 W, and while it is colder than 330 K a share of leakage_current / 1 A more: near that
 * temperature it has no balance. */
#define LOSS stepping_loss
#include "../../prove/faults/sound_switch.h"

static inline void stepping_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    (void)s;
    double step = ((const sound_part *)state)->leakage;
    out->watts[HL_OTHER] += temperature < 330.0 ? 1.0 + step : 1.0;
}
