/* power.c - powers of several numbers at once. */
#include <float.h>
#include <math.h>

#include "heatledger/plugin.h"
#include "wave/lanes_power.h"

FOUR_LANES static void four_powers(const double value[LANES], const double exponent[LANES],
                                   double power[LANES])
{
    lanes v = lanes_load(value), p = lanes_load(exponent), result;
    lanes_powers(&v, &p, &result);
    lanes_store(power, result);
}

/* Less than four are filled up with ones; what is no normal number goes alone. */
void hl_powers(const double value[], const double exponent[], size_t n, double power[])
{
    for (size_t k = 0; k < n; k += LANES) {
        double v[LANES] = {1.0, 1.0, 1.0, 1.0}, p[LANES] = {0.0}, result[LANES];
        size_t some = n - k < LANES ? n - k : LANES;
        for (size_t i = 0; i < some; i++) {
            bool normal = value[k + i] >= DBL_MIN && value[k + i] <= DBL_MAX;
            v[i] = normal ? value[k + i] : 1.0;
            p[i] = exponent[k + i];
        }
        four_powers(v, p, result);
        for (size_t i = 0; i < some; i++)
            power[k + i] = v[i] == value[k + i] ? result[i] : pow(value[k + i], p[i]);
    }
}
