/* dry_air.h - the formulas of dry air, to be compiled into loops over many temperatures. */
#ifndef HEATLEDGER_THERMAL_DRY_AIR_H
#define HEATLEDGER_THERMAL_DRY_AIR_H

#include <math.h>
#include <stdbool.h>

static const double gas_constant = 287.053; /* J/(kg K), dry air, U.S. Standard Atmosphere 1976 */
static const double gravity = 9.80665;      /* m/s^2 */
static const double ln10 = 2.302585092994046;

/* Range of the formulas below, K.  Outside, properties are those at the nearest end, so
 * that an iteration that strays stays finite; the caller of a correlation is told. */
static const double coldest = 150.0, hottest = 1500.0;

/* Specific heat of dry air, J/(kg K): a parabola through the usual tables, 1006 at 300 K, 1014 at 400 K,
 * 1030 at 500 K; within 0.3 % from 250 to 600 K (from memory; checked against those tables).
 * Held beyond 700 K, where the parabola leaves them. */
static inline double heat_capacity_at(double temperature, double *slope)
{
    double t = temperature < 700.0 ? temperature : 700.0;
    *slope = temperature < 700.0 ? -0.19975 + 2 * 3.9734e-4 * t : 0.0;
    return 1030.5 - 0.19975 * t + 3.9734e-4 * t * t;
}

/* What the formulas share at one temperature. */
typedef struct dry_air {
    double temperature, inverse;      /* K, 1/K; kept to the range of the formulas */
    double three_halves;              /* T^(3/2) */
    double sutherland, spread;        /* the denominators of viscosity and conductivity, K */
    double by_sutherland, by_spread;  /* one over them */
    double spread_slope;              /* d ln(spread) / dT */
    double heat_capacity, heat_slope; /* J/(kg K), d ln / dT */
    bool held;
} dry_air;

/* Viscosity, Sutherland's formula, and conductivity: U.S. Standard Atmosphere 1976, eqs. 51 and 53
 * (coefficients from memory; 100 to 1500 K). */
static const double viscosity_factor = 1.458e-6;        /* kg/(s m K^(1/2)) */
static const double conductivity_factor = 2.64638e-3;   /* W/(m K^(3/2)) */
static const double sutherland = 110.4, spread = 245.4; /* K */

/* 10^(-12/T), as the formula of conductivity wants it.  From 150 to 1500 K the exponent of e lies within
 * 0.084 of -0.1, where nine terms of the series leave out 6e-16. */
static inline double decay_at(double inverse)
{
    const double factor = 0.90483741803595957316; /* e^-0.1 */
    double x = 0.1 - 12.0 * ln10 * inverse;
    double high = 1 / 24.0 + x * (1 / 120.0 + x * (1 / 720.0 + x * (1 / 5040.0 + x * (1 / 40320.0))));
    return factor * (1 + x * (1 + x * (1 / 2.0 + x * (1 / 6.0 + x * high))));
}

/* Within that range. */
static inline dry_air dry_air_within(double t)
{
    dry_air a;
    a.temperature = t;
    a.held = false;
    a.inverse = 1 / t;
    a.three_halves = t * sqrt(t);
    double decay = decay_at(a.inverse), slope;
    a.sutherland = t + sutherland;
    a.spread = t + spread * decay;
    double both = 1 / (a.sutherland * a.spread);
    a.by_sutherland = both * a.spread;
    a.by_spread = both * a.sutherland;
    a.spread_slope = (1 + spread * decay * 12.0 * ln10 * a.inverse * a.inverse) * a.by_spread;
    a.heat_capacity = heat_capacity_at(t, &slope);
    a.heat_slope = slope / a.heat_capacity;
    return a;
}

static inline dry_air dry_air_at(double temperature)
{
    bool within = temperature >= coldest && temperature <= hottest;
    dry_air a = dry_air_within(within ? temperature : (temperature > hottest ? hottest : coldest));
    a.held = !within;
    return a;
}

/* Just what still air needs: properties and d ln(property) / dT, 1/K. */
typedef struct still_air {
    double conductivity, prandtl;
    double buoyancy; /* g / (T nu alpha): Rayleigh number of 1 K on 1 m */
    double conductivity_slope, prandtl_slope, buoyancy_slope;
    bool held; /* beyond the range of the formulas: as at its end */
} still_air;

/* With the ideal gas's density p / (R T) and expansion 1/T, the parts of g beta / (nu alpha) come together to
 * g p^2 cp (T + 110.4) (T + 245.4 decay) / (R^2 times both factors T^6). */
static inline void still_air_of(dry_air a, double pressure, still_air *air)
{
    const double constant = gravity / (gas_constant * gas_constant * viscosity_factor * conductivity_factor);
    double moves = a.held ? 0.0 : 1.0, cube = a.inverse * a.inverse * a.inverse;
    air->conductivity = conductivity_factor * a.three_halves * a.by_spread;
    air->prandtl = viscosity_factor / conductivity_factor * a.heat_capacity * a.spread * a.by_sutherland;
    air->buoyancy =
        constant * (pressure * cube) * (pressure * cube) * a.heat_capacity * a.sutherland * a.spread;
    air->conductivity_slope = moves * (1.5 * a.inverse - a.spread_slope);
    air->prandtl_slope = moves * (a.heat_slope - a.by_sutherland + a.spread_slope);
    air->buoyancy_slope = moves * (a.heat_slope + a.by_sutherland + a.spread_slope - 6 * a.inverse);
    air->held = a.held;
}

static inline void still_air_at(double temperature, double pressure, still_air *air)
{
    still_air_of(dry_air_at(temperature), pressure, air);
}

/* The same within the range of the formulas. */
static inline void still_air_within(double temperature, double pressure, still_air *air)
{
    still_air_of(dry_air_within(temperature), pressure, air);
}

#endif
