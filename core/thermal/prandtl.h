/* prandtl.h - what the Prandtl number of air does to a vertical plate, without powers. */
#ifndef HEATLEDGER_THERMAL_PRANDTL_H
#define HEATLEDGER_THERMAL_PRANDTL_H

#include <math.h>
#include <stdbool.h>

/* Air from 200 to 1100 K has Pr within 0.04 of 0.7. */
static const double usual_coldest = 200, usual_hottest = 1100;

static inline bool is_usual_prandtl(double prandtl)
{
    return fabs(prandtl - 0.7) <= 0.04;
}

/* [1 + (0.492/Pr)^(9/16)]^(8/27) of Churchill & Chu's vertical plate by its Taylor series about 0.7, which is
 * exact to 1e-15 there; and d ln / d ln Pr. */
static inline double usual_prandtl_factor(double prandtl, double *by_log)
{
    static const double series[] = {
        1.194166031207052956,  -0.1281105036129555039, 0.1266597878108484082, -0.1413959883641796094,
        0.1676143817443956406, -0.2060024324723422462, 0.2593889306591467351, -0.3323457839429261631,
        0.4314518913805718883, -0.5658937134845803625, 0.7483819777785853509,
    };
    double s = prandtl - 0.7, value = series[10], slope = 0;
    for (int k = 9; k >= 0; k--) {
        slope = slope * s + value;
        value = value * s + series[k];
    }
    *by_log = prandtl * slope / value;
    return value;
}

#endif
