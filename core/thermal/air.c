/* air.c - dry air as an ideal gas, and the pressure at altitude. */
#include "thermal/air.h"

#include "heatledger/thermal.h"
#include "thermal/dry_air.h"

#include <math.h>

void air_film_at(double temperature, double pressure, air_film *film)
{
    dry_air a = dry_air_at(temperature);
    double moves = a.held ? 0.0 : 1.0; /* at the held ends nothing changes with temperature */
    double viscosity = viscosity_factor * a.three_halves * a.by_sutherland;   /* Pa s */
    double conductivity = conductivity_factor * a.three_halves * a.by_spread; /* W/(m K) */
    double density = pressure / (gas_constant * a.temperature);
    double viscosity_slope = 1.5 * a.inverse - a.by_sutherland;
    double conductivity_slope = 1.5 * a.inverse - a.spread_slope;

    film->temperature = a.temperature;
    film->conductivity = conductivity;
    film->kinematic = viscosity / density;
    film->diffusivity = conductivity / (density * a.heat_capacity);
    film->prandtl = viscosity * a.heat_capacity / conductivity;
    film->density = density;
    film->heat_capacity = a.heat_capacity;
    film->conductivity_slope = moves * conductivity_slope;
    film->kinematic_slope = moves * (viscosity_slope + a.inverse);
    film->diffusivity_slope = moves * (conductivity_slope + a.inverse - a.heat_slope);
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
