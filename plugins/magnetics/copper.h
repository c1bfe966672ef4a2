/* copper.h - resistance of a winding over temperature.
 *
 * rho(T) = rho_20 (1 + a (T - 20 degC)), rho_20 = 1.7241e-8 ohm m, a = 0.00393 / K; usual range -50 to 200
 * degC. source: IEC 60028, Resistance of copper, 1925 (annealed copper; 1.7241e-8 and 0.00393) */
#ifndef COPPER_H
#define COPPER_H

static const double copper_resistivity = 1.7241e-8;         /* ohm m at 20 degC */
static const double copper_coefficient = 0.00393;           /* 1/K at 20 degC */
static const double copper_reference = 293.15;              /* K */
static const double vacuum_permeability = 1.25663706212e-6; /* H/m, CODATA 2018 */

/* rho(T) / rho(20 degC); held at 5 % below -221 degC, so that nothing divides by zero. */
static inline double copper_ratio(double coefficient, double temperature)
{
    double ratio = 1.0 + coefficient * (temperature - copper_reference);
    return ratio > 0.05 ? ratio : 0.05;
}

#endif
