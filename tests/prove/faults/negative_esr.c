/* A capacitor that gives power at some frequencies. */
#define FAMILY    HL_FAMILY_CAPACITOR
#define IMPEDANCE wrong_impedance
#include "sound_switch.h"

static inline void wrong_impedance(const void *state, double temperature, double voltage, double frequency,
                                   double *real, double *imaginary)
{
    sound_impedance(state, temperature, voltage, frequency, real, imaginary);
    if (frequency > 1e7) *real -= 20.0;
}
