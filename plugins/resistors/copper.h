/* copper.h - resistance of annealed copper.
 *
 *   rho(T) = 1.7241e-8 ohm m (1 + 0.00393 / K (T - 293.15 K))
 * source: IEC 60028 (1925), standard annealed copper, 20 degC.  Range: -50 to 200 degC within 1 %. */
#ifndef COPPER_H
#define COPPER_H

static const double copper_resistivity = 1.7241e-8; /* ohm m at 20 degC */
static const double copper_coefficient = 0.00393;   /* 1/K at 20 degC */
static const double copper_reference = 293.15;      /* K */

static inline double copper_factor(double temperature, double *slope)
{
    double factor = 1.0 + copper_coefficient * (temperature - copper_reference);
    *slope = factor > 0.05 ? copper_coefficient : 0.0; /* far below any range: held, never negative */
    return factor > 0.05 ? factor : 0.05;
}

#endif
