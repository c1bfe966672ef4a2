/* A capacitor that rounds the number of frequencies up to four, and fills as many. */
#define FAMILY     HL_FAMILY_CAPACITOR
#define IMPEDANCES wrong_impedances
#include "sound_switch.h"

static inline void wrong_impedances(const void *state, double temperature, double voltage,
                                    const double frequency[], size_t n, double real[], double imaginary[])
{
    for (size_t k = 0; k < (n + 3) / 4 * 4; k++)
        sound_impedance(state, temperature, voltage, frequency[k < n ? k : 0], &real[k], &imaginary[k]);
}
