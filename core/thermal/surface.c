/* surface.c - open surfaces in still and in moving air. */
#include "thermal/surface.h"

#include "thermal/air.h"
#include "thermal/dry_air.h"
#include "thermal/prandtl.h"

#include <math.h>

hl_orientation orientation_turned(hl_orientation orientation)
{
    if (orientation == HL_FACING_UP) return HL_FACING_DOWN;
    return orientation == HL_FACING_DOWN ? HL_FACING_UP : HL_VERTICAL;
}

/* psi(Pr) = [1 + (0.492/Pr)^(9/16)]^(8/27), and d ln psi / d ln Pr. */
static double prandtl_factor(double prandtl, double *by_log)
{
    if (is_usual_prandtl(prandtl)) return usual_prandtl_factor(prandtl, by_log);
    double x = pow(0.492 / prandtl, 9.0 / 16);
    *by_log = -(8.0 / 27) * (9.0 / 16) * x / (1 + x);
    return pow(1 + x, 8.0 / 27);
}

/* Vertical plate: Nu = {0.825 + 0.387 Ra^(1/6) / [1 + (0.492/Pr)^(9/16)]^(8/27)}^2.
 * Churchill & Chu 1975, Int. J. Heat Mass Transfer 18, eq. 9 (also Cengel & Ghajar eq. 9-21);
 * all Ra, verified to 1e12. */
static nusselt_number vertical_plate(double ra, double prandtl)
{
    double psi_slope, psi = prandtl_factor(prandtl, &psi_slope);
    double part = 0.387 * cbrt(sqrt(ra)) / psi, root = 0.825 + part;
    return (nusselt_number){root * root, root * part / 3, -2 * root * part * psi_slope, ra > 1e12};
}

/* Hot surface up: Nu = 0.54 Ra^(1/4), 1e4 < Ra < 1e7; Nu = 0.15 Ra^(1/3), 1e7 < Ra < 1e11; length = area /
 * perimeter.  McAdams 1954, lengths after Lloyd & Moran 1974 (Cengel & Ghajar eqs. 9-22, 9-23).
 * The second is 8 % above the first where they meet; from 1e7 to 2e7 one is led over into the
 * other so that Newton's method sees no step.  Below 1e4 the first is carried on, flagged. */
static nusselt_number facing_up(double ra)
{
    double laminar = 0.54 * sqrt(sqrt(ra));
    bool outside = !(ra >= 1e4 && ra <= 1e11);
    if (!(ra > 1e7)) return (nusselt_number){laminar, laminar / 4, 0, outside};
    double turbulent = 0.15 * cbrt(ra), x = log(ra / 1e7) / log(2.0);
    double t = x > 1 ? 1 : x;
    double share = t * t * (3 - 2 * t), share_slope = 6 * t * (1 - t) / log(2.0);
    double value = laminar + share * (turbulent - laminar);
    double slope = (1 - share) * laminar / 4 + share * turbulent / 3 + share_slope * (turbulent - laminar);
    return (nusselt_number){value, slope, 0, outside};
}

/* Hot surface down: Nu = 0.27 Ra^(1/4), 1e5 < Ra < 1e11; length = area / perimeter.
 * McAdams 1954 (Cengel & Ghajar eq. 9-24).  Below 1e5 carried on, flagged. */
static nusselt_number facing_down(double ra)
{
    double value = 0.27 * sqrt(sqrt(ra));
    return (nusselt_number){value, value / 4, 0, !(ra >= 1e5 && ra <= 1e11)};
}

static nusselt_number plate(hl_orientation orientation, double ra, double prandtl)
{
    if (orientation == HL_FACING_UP) return facing_up(ra);
    return orientation == HL_FACING_DOWN ? facing_down(ra) : vertical_plate(ra, prandtl);
}

film_coefficient surface_natural(hl_orientation orientation, double difference, double film, double pressure,
                                 double length)
{
    still_air air;
    still_air_at(film, pressure, &air);
    double ra = air.buoyancy * difference * length * length * length;
    nusselt_number nu = plate(orientation, ra, air.prandtl);
    double scale = air.conductivity / length;
    return (film_coefficient){
        .h = scale * nu.value,
        .by_difference = scale * nu.by_log,
        .by_film = scale * (nu.value * air.conductivity_slope + nu.by_log * air.buoyancy_slope +
                            nu.by_prandtl * air.prandtl_slope),
        .outside = nu.outside || air.held,
    };
}

/* Mean over a flat plate along the flow: laminar Nu = 0.664 Re^(1/2) Pr^(1/3), Re < 5e5 (Pohlhausen 1921);
 * then Nu = (0.037 Re^(4/5) - 871) Pr^(1/3), to 1e7.  Incropera & DeWitt eqs. 7.30, 7.38; Pr 0.6 to 60. */
film_coefficient surface_forced(double film, double pressure, double length, double speed)
{
    air_film air;
    air_film_at(film, pressure, &air);
    double re = speed * length / air.kinematic, third = cbrt(air.prandtl);
    bool laminar = re < 5e5;
    double turbulent = laminar ? 0 : 0.037 * pow(re, 0.8);
    double nu = laminar ? 0.664 * sqrt(re) * third : (turbulent - 871) * third;
    double by_log = laminar ? 0.5 * nu : 0.8 * turbulent * third;
    double log_prandtl_slope = air.kinematic_slope - air.diffusivity_slope;
    double scale = air.conductivity / length;
    return (film_coefficient){
        .h = scale * nu,
        .by_difference = 0,
        .by_film =
            scale * (nu * (air.conductivity_slope + log_prandtl_slope / 3) - by_log * air.kinematic_slope),
        .outside = re > 1e7 || air.temperature != film,
    };
}

/* h^3 = h_natural^3 + h_forced^3: Incropera & DeWitt section 9.9 with exponent 3, assisting or transverse
 * flow; opposing flow would be less. */
film_coefficient surface_mixed(film_coefficient natural, film_coefficient forced)
{
    double sum = natural.h * natural.h * natural.h + forced.h * forced.h * forced.h;
    if (!(sum > 0)) return natural;
    double h = cbrt(sum);
    double natural_share = natural.h * natural.h / (h * h), forced_share = forced.h * forced.h / (h * h);
    return (film_coefficient){
        .h = h,
        .by_difference = natural_share * natural.by_difference,
        .by_film = natural_share * natural.by_film + forced_share * forced.by_film,
        .outside = natural.outside || forced.outside,
    };
}

/* ---------------------------------------------------------------- public -- */

static double answer(film_coefficient film, bool *outside)
{
    if (outside) *outside = film.outside;
    return film.h;
}

double hl_natural_coefficient(hl_orientation orientation, double surface, double air, double pressure,
                              double length, bool *outside)
{
    hl_orientation seen = surface >= air ? orientation : orientation_turned(orientation);
    double difference = fabs(surface - air), film = 0.5 * (surface + air);
    return answer(surface_natural(seen, difference, film, pressure, length), outside);
}

double hl_gap_coefficient(hl_orientation hot_side, double hot, double cold, double pressure, double gap,
                          double height, bool *outside)
{
    hl_orientation seen = hot >= cold ? hot_side : orientation_turned(hot_side);
    double difference = fabs(hot - cold), film = 0.5 * (hot + cold);
    return answer(gap_layer(seen, difference, film, pressure, gap, height), outside);
}

double hl_forced_coefficient(double surface, double air, double pressure, double length, double speed,
                             bool *outside)
{
    return answer(surface_forced(0.5 * (surface + air), pressure, length, speed), outside);
}
