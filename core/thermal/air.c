/* air.c - dry air as an ideal gas, and the pressure at altitude. */
#include "thermal/air.h"

#include "heatledger/thermal.h"

#include <math.h>

static const double gas_constant = 287.053; /* J/(kg K), dry air, U.S. Standard Atmosphere 1976 */
static const double ln10 = 2.302585092994046;

/* Range of the formulas below, K.  Outside, properties are those at the nearest end, so
 * that an iteration that strays stays finite; the caller of a correlation is told. */
static const double coldest = 150.0, hottest = 1500.0;

/* Specific heat of dry air, J/(kg K): a parabola through the usual tables, 1006 at 300 K, 1014 at 400 K,
 * 1030 at 500 K; within 0.3 % from 250 to 600 K (from memory; checked against those tables).
 * Held beyond 700 K, where the parabola leaves them. */
static double heat_capacity_at(double temperature, double *slope)
{
    double t = fmin(temperature, 700.0);
    *slope = temperature < 700.0 ? -0.19975 + 2 * 3.9734e-4 * t : 0.0;
    return 1030.5 - 0.19975 * t + 3.9734e-4 * t * t;
}

void air_film_at(double temperature, double pressure, air_film *film)
{
    bool inside = temperature >= coldest && temperature <= hottest;
    double t = inside ? temperature : (temperature > hottest ? hottest : coldest);
    double moves = inside ? 1.0 : 0.0; /* at the held ends nothing changes with temperature */
    double t15 = t * sqrt(t);

    /* Viscosity, Sutherland's formula, and conductivity: U.S. Standard Atmosphere 1976,
     * eqs. 51 and 53 (coefficients from memory; 100 to 1500 K). */
    double viscosity = 1.458e-6 * t15 / (t + 110.4); /* Pa s */
    double decay = exp(-12.0 * ln10 / t);
    double spread = t + 245.4 * decay;
    double conductivity = 2.64638e-3 * t15 / spread; /* W/(m K) */

    double heat_slope;
    double heat = heat_capacity_at(t, &heat_slope);
    double density = pressure / (gas_constant * t);
    double viscosity_slope = 1.5 / t - 1 / (t + 110.4);
    double conductivity_slope = 1.5 / t - (1 + 245.4 * decay * 12.0 * ln10 / (t * t)) / spread;

    film->temperature = t;
    film->conductivity = conductivity;
    film->kinematic = viscosity / density;
    film->diffusivity = conductivity / (density * heat);
    film->prandtl = viscosity * heat / conductivity;
    film->density = density;
    film->heat_capacity = heat;
    film->conductivity_slope = moves * conductivity_slope;
    film->kinematic_slope = moves * (viscosity_slope + 1 / t);
    film->diffusivity_slope = moves * (conductivity_slope + 1 / t - heat_slope / heat);
}

void hl_air_at(double temperature, double pressure, hl_air *air)
{
    air_film film;
    air_film_at(temperature, pressure, &film);
    air->conductivity = film.conductivity;
    air->kinematic = film.kinematic;
    air->diffusivity = film.diffusivity;
    air->prandtl = film.prandtl;
    air->expansion = 1 / film.temperature;
    air->density = film.density;
    air->heat_capacity = film.heat_capacity;
}

/* U.S. Standard Atmosphere 1976 (formula from memory): troposphere to 11 km, then isothermal to 20 km. */
double hl_air_pressure(double altitude_m)
{
    double h = altitude_m >= -1000.0 ? altitude_m : -1000.0;
    if (!(h <= 20000.0)) h = 20000.0;
    double low = fmin(h, 11000.0);
    double pressure = 101325.0 * pow(1 - 2.25577e-5 * low, 5.25588);
    return h <= 11000.0 ? pressure : pressure * exp(-(h - 11000.0) / 6341.62);
}
