/* A capacitor that tells another impedance when it is asked for many at once: the first one's all along. */
#define FAMILY     HL_FAMILY_CAPACITOR
#define IMPEDANCES wrong_impedances
#include "sound_switch.h"

static inline void wrong_impedances(const void *state, double temperature, double voltage,
                                    const double frequency[], size_t n, double real[], double imaginary[])
{
    for (size_t k = 0; k < n; k++)
        sound_impedance(state, temperature, voltage, frequency[0], &real[k], &imaginary[k]);
}
