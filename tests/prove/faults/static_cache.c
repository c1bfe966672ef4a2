/* What was worked out is kept where every thread meets it. */
#define LOSS wrong_loss
#include "sound_switch.h"

static double last_temperature, last_factor;

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    if (temperature != last_temperature) {
        last_temperature = temperature;
        last_factor = exp(0.05 * (temperature - 298.15));
    }
    const sound_part *p = state;
    double slope, square = mean(s, s->current_rms, 2), volts = mean(s, s->voltage_off, 1);
    out->watts[HL_CONDUCTION] += ohms(p, temperature, &slope) * square;
    out->slope += slope * square + 0.05 * p->leakage * last_factor * volts;
    out->watts[HL_LEAKAGE] += p->leakage * last_factor * volts;
    out->watts[HL_GATE_DRIVE] += p->gate_energy * mean(s, s->frequency, 1);
}
