/* power.c - powers of several numbers at once. */
#include <float.h>
#include <math.h>

#include "heatledger/plugin.h"
#include "wave/lanes_power.h"

/* Normal numbers, all four: what the lanes are for. */
WITHIN_LANES bool four_normal(const double value[])
{
    lanes v = lanes_load(value);
    lanes_mask other = ~((v >= DBL_MIN) & (v <= DBL_MAX));
    return !lanes_any(&other);
}

WITHIN_LANES void four_powers(const double value[], const double exponent[], double power[])
{
    lanes v = lanes_load(value), p = lanes_load(exponent), result;
    lanes_powers(&v, &p, &result);
    lanes_store(power, result);
}

/* Less than four are filled up with ones; what is no normal number goes alone. */
WITHIN_LANES void some_powers(const double value[], const double exponent[], size_t n, double power[])
{
    double v[LANES] = {1.0, 1.0, 1.0, 1.0}, p[LANES] = {0.0}, result[LANES];
    for (size_t i = 0; i < n; i++) {
        if (value[i] >= DBL_MIN && value[i] <= DBL_MAX) v[i] = value[i];
        p[i] = exponent[i];
    }
    four_powers(v, p, result);
    for (size_t i = 0; i < n; i++) power[i] = v[i] == value[i] ? result[i] : pow(value[i], p[i]);
}

FOUR_LANES static void all_powers(const double value[], const double exponent[], size_t n, double power[])
{
    for (size_t k = 0; k < n; k += LANES) {
        size_t some = n - k < LANES ? n - k : LANES;
        if (some == LANES && four_normal(value + k))
            four_powers(value + k, exponent + k, power + k);
        else
            some_powers(value + k, exponent + k, some, power + k);
    }
}

void hl_powers(const double value[], const double exponent[], size_t n, double power[])
{
    all_powers(value, exponent, n, power);
}
