/* surface.h - heat-transfer coefficients with the slopes that Newton's method wants. */
#ifndef HEATLEDGER_THERMAL_SURFACE_H
#define HEATLEDGER_THERMAL_SURFACE_H

#include "heatledger/thermal.h"

/* A coefficient at a temperature difference d > 0 and a film temperature. */
typedef struct film_coefficient {
    double h;             /* W/(m^2 K) */
    double by_difference; /* d dh/dd, W/(m^2 K) */
    double by_film;       /* dh/dT at fixed difference, W/(m^2 K^2) */
    bool outside;         /* out of the correlation's range */
} film_coefficient;

/* Nusselt number, d Nu / d ln Ra and d Nu / d ln Pr. */
typedef struct nusselt_number {
    double value, by_log, by_prandtl;
    bool outside; /* out of the correlation's range */
} nusselt_number;

/* hot surface (or cold one, with the orientation turned over by the caller) in still air */
film_coefficient surface_natural(hl_orientation orientation, double difference, double film, double pressure,
                                 double length);
film_coefficient surface_forced(double film, double pressure, double length, double speed);
/* still and moving air together */
film_coefficient surface_mixed(film_coefficient natural, film_coefficient forced);
/* enclosed layer; orientation of its hot side */
film_coefficient gap_layer(hl_orientation hot_side, double difference, double film, double pressure,
                           double gap, double height);

/* The same layer by its Rayleigh number over the gap and its aspect, height / gap. */
nusselt_number gap_nusselt(hl_orientation hot_side, double ra, double prandtl, double aspect);

/* What a surface that looks up is for the air when it is colder than the air. */
hl_orientation orientation_turned(hl_orientation orientation);

#endif
