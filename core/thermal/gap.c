/* gap.c - air layers closed on all sides: conduction until the air starts to turn over. */
#include "thermal/surface.h"

#include "thermal/dry_air.h"
#include "thermal/squat.h"

#include <math.h>

static const double log_6310 = 8.7498909555352588;

/* Heated from below: Nu = 1 + 1.44 [1 - 1708/Ra]+ + [(Ra/5830)^(1/3) - 1]+.
 * Hollands, Unny, Raithby & Konicek 1976, J. Heat Transfer 98, eq. 7 (Cengel & Ghajar eq. 9-47);
 * air, layer much wider than its gap, Ra < 1e8. */
static nusselt_number from_below(double ra)
{
    nusselt_number nu = {1, 0, 0, ra > 1e8};
    if (ra > 1708) {
        nu.value += 1.44 * (1 - 1708 / ra);
        nu.by_log += 1.44 * 1708 / ra;
    }
    if (ra > 5830) {
        double cells = cbrt(ra / 5830);
        nu.value += cells - 1;
        nu.by_log += cells / 3;
    }
    return nu;
}

/* Tall vertical layer: the greatest of
 *   0.0605 Ra^(1/3),  {1 + [0.104 Ra^0.293 / (1 + (6310/Ra)^1.36)]^3}^(1/3),  0.242 (Ra gap/height)^0.272.
 * ElSherbiny, Raithby & Hollands 1982, J. Heat Transfer 104, eqs. 11 to 13; air, height/gap 5 to 110,
 * Ra to 2e7. */
static nusselt_number vertical_tall(double ra, double aspect)
{
    nusselt_number best = {1, 0, 0, ra > 2e7 || aspect > 110};
    if (!(ra > 10)) return best; /* the sum below is 1 to fourteen digits */
    double log_ra = log(ra);     /* one logarithm serves all powers */
    double onset = exp(1.36 * (log_6310 - log_ra));
    double inner = 0.104 * exp(0.293 * log_ra) / (1 + onset);
    double cube = inner * inner * inner, transition = cbrt(1 + cube);
    double turbulent = ra > 4.5e3 ? 0.0605 * cbrt(ra) : 0; /* below, less than 1 */
    double layer = ra > 184 * aspect ? 0.242 * exp(0.272 * (log_ra - log(aspect))) : 0; /* the same */
    best.value = transition;
    best.by_log = cube / (transition * transition) * (0.293 + 1.36 * onset / (1 + onset));
    if (turbulent > best.value) {
        best.value = turbulent;
        best.by_log = turbulent / 3;
    }
    if (layer > best.value) {
        best.value = layer;
        best.by_log = 0.272 * layer;
    }
    return best;
}

static nusselt_number vertical_squat(double ra, double prandtl, double aspect)
{
    squat_law law = squat_law_of(aspect);
    const lanes all[] = {{ra, ra, ra, ra},
                         {prandtl, prandtl, prandtl, prandtl},
                         {law.factor, law.factor, law.factor, law.factor},
                         {law.power, law.power, law.power, law.power}};
    squat_lanes nu;
    squat_nusselt(&all[0], &all[1], &all[2], &all[3], &nu);
    return (nusselt_number){nu.value[0], nu.by_log[0], nu.by_prandtl[0], aspect < 1 || ra > 1e10};
}

nusselt_number gap_nusselt(hl_orientation hot_side, double ra, double prandtl, double aspect)
{
    if (hot_side == HL_FACING_UP) return from_below(ra);
    if (hot_side == HL_FACING_DOWN)
        return (nusselt_number){1, 0, 0, false}; /* the air lies in layers and conducts */
    return aspect >= squat_most ? vertical_tall(ra, aspect) : vertical_squat(ra, prandtl, aspect);
}

film_coefficient gap_layer(hl_orientation hot_side, double difference, double film, double pressure,
                           double gap, double height)
{
    still_air air;
    still_air_at(film, pressure, &air);
    double ra = air.buoyancy * difference * gap * gap * gap;
    nusselt_number nu = gap_nusselt(hot_side, ra, air.prandtl, height / gap);
    double scale = air.conductivity / gap;
    return (film_coefficient){
        .h = scale * nu.value,
        .by_difference = scale * nu.by_log,
        .by_film = scale * (nu.value * air.conductivity_slope + nu.by_log * air.buoyancy_slope +
                            nu.by_prandtl * air.prandtl_slope),
        .outside = nu.outside || air.held,
    };
}
