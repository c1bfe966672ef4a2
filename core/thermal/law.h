/* law.h - heat along one link and its slopes at both ends. */
#ifndef HEATLEDGER_THERMAL_LAW_H
#define HEATLEDGER_THERMAL_LAW_H

#include "heatledger/thermal.h"

#include <math.h>

static const double stefan_boltzmann =
    5.670374419e-8; /* W/(m^2 K^4), exact since the 2019 SI (CODATA 2018) */

/* Heat and dq/dTa, -dq/dTb; both slopes are >= 0 for a law that makes sense. */
typedef struct law_flow {
    double heat, by_a, by_b;
} law_flow;

/* |d|^n for the exponents of convection without a call of pow where it can be helped. */
static inline double power_of(double size, double exponent)
{
    return exponent == 0.25 ? sqrt(sqrt(size)) : pow(size, exponent);
}

/* q = c |d|^n d.  Its slope vanishes at d = 0, where a Newton matrix would be singular:
 * below `least` kelvin the slope is the one at `least` (the heat stays exact). */
static inline law_flow law_power(double coefficient, double exponent, double difference, double least)
{
    double size = fabs(difference);
    double g = coefficient * power_of(size, exponent);
    double slope_g = size < least ? coefficient * power_of(least, exponent) : g;
    double slope = (1 + exponent) * slope_g;
    return (law_flow){g * difference, slope, slope};
}

/* q = sigma eps A (Ta^4 - Tb^4), factored so that equal ends give exactly nothing. */
static inline law_flow law_radiation(double coefficient, double a, double b)
{
    double a2 = a * a, b2 = b * b;
    return (law_flow){coefficient * (a2 + b2) * (a + b) * (a - b), 4 * coefficient * a2 * a,
                      4 * coefficient * b2 * b};
}

/* Laws of air, whose properties move with the film temperature: natural, gap, forced. */
law_flow law_of_air(const hl_link *link, double a, double b, double pressure, double least);

/* Is the link a correlation used out of its range at these temperatures? */
bool law_is_stretched(const hl_link *link, double a, double b, double pressure);

/* Any law. */
law_flow law_of(const hl_link *link, double a, double b, double pressure, double least);

#endif
