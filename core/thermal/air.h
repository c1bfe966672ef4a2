/* air.h - dry air with the slopes that Newton's method wants. */
#ifndef HEATLEDGER_THERMAL_AIR_H
#define HEATLEDGER_THERMAL_AIR_H

/* At one film temperature: properties and d ln(property) / dT, 1/K. */
typedef struct air_film {
    double conductivity, kinematic, diffusivity, prandtl, density, heat_capacity;
    double conductivity_slope, kinematic_slope, diffusivity_slope;
    double temperature; /* as used: kept to the range of the formulas */
} air_film;

void air_film_at(double temperature, double pressure, air_film *film);

#endif
