/* squat.h - squat vertical layers of air, four at a time. */
#ifndef HEATLEDGER_THERMAL_SQUAT_H
#define HEATLEDGER_THERMAL_SQUAT_H

#include <math.h>

#include "wave/lanes_power.h"

/* Nu = factor [Pr Ra / (0.2 + Pr)]^power of a layer of an aspect, height / gap. */
typedef struct squat_law {
    double factor, power;
} squat_law;

/* Nu = 0.22 [Pr Ra / (0.2 + Pr)]^0.28 (gap/height)^(1/4) for height/gap 2 to 10, and
 * 0.18 [Pr Ra / (0.2 + Pr)]^0.29 for 1 to 2; Ra Pr / (0.2 + Pr) > 1e3.
 * Berkovsky & Polevikov, in Catton 1978 (Cengel & Ghajar eqs. 9-52, 9-53). */
static inline squat_law squat_law_of(double aspect)
{
    return aspect > 2 ? (squat_law){0.22 / sqrt(sqrt(aspect)), 0.28} : (squat_law){0.18, 0.29};
}

/* Up to this height / gap a vertical layer follows that law; a taller one another, see gap.c. */
static const double squat_most = 5;

/* Nu, d Nu / d ln Ra and d Nu / d ln Pr. */
typedef struct squat_lanes {
    lanes value, by_log, by_prandtl;
} squat_lanes;

/* Never below conduction. */
WITHIN_LANES void squat_nusselt(const lanes *ra, const lanes *prandtl, const lanes *factor,
                                const lanes *power, squat_lanes *nu)
{
    lanes widened = 0.2 + *prandtl, x = *ra * *prandtl / widened, conducts = {1, 1, 1, 1};
    lanes_powers(&x, power, &nu->value);
    nu->value *= *factor;
    nu->by_log = *power * nu->value;
    nu->by_prandtl = nu->by_log * 0.2 / widened;
    lanes_mask turns = nu->value > 1.0, still = ~turns;
    lanes_keep(&turns, &nu->value);
    lanes_keep(&turns, &nu->by_log);
    lanes_keep(&turns, &nu->by_prandtl);
    lanes_keep(&still, &conducts);
    nu->value += conducts; /* one of them is nought */
}

#endif
