/* field_level.h - one grid of a box, condensed to the ports. */
#ifndef HEATLEDGER_THERMAL_FIELD_LEVEL_H
#define HEATLEDGER_THERMAL_FIELD_LEVEL_H

#include "thermal/field_matrix.h"
#include "thermal/field_ports.h"

/* About which the grid is made linear: coefficients per port, W/(m^2 K). */
typedef struct field_linear {
    double *outward;                    /* per patch: convection + radiation to the surroundings */
    double radiation[PAIR_GROUPS_MAX];  /* per group: 4 sigma T^3, times emissivity and area */
    double convection[PAIR_GROUPS_MAX]; /* per group: above still conduction, times area */
    double rest;                        /* radiation of the pairs in no group */
} field_linear;

typedef struct field_level {
    grid *g;
    field_matrix *matrix;
    const field_ports *ports;
    int *patch_of; /* per surface */
    int *group_of; /* per pair */
    double *pair, *outward;
    double *patch_area;
    int *body_begin;      /* bodies + 1: where a body's cells begin */
    int *body_cell;       /* cells that share the body's heat, body by body */
    double *body_share;   /* of each */
    double *group_weight; /* sum of exchange of the pairs, per group */
    double *pair_share;   /* of its group's departure */
    double *field;        /* cells x ports: rise of each cell per watt into each port */
    double *impedance;    /* rows x ports, row-major: K/W */
} field_level;

field_level *level_create(grid *g, const field_ports *ports); /* takes the grid; NULL: no memory */
void level_destroy(field_level *level);
/* Factorise about this state and fill field and impedance; false: singular or no memory.
 * nominal: heat of the ports at which the departures of groups are shared out; NULL: evenly. */
bool level_condense(field_level *level, const field_linear *linear, const double nominal[]);

/* Heat of one watt into a port, spread over the cells: fills heat[cells]. */
void level_spread(const field_level *level, int port, double heat[]);
/* Rise of a surface when the ports get these watts (what goes into its own patch acts at once). */
double level_surface_row(const field_level *level, size_t surface, int port);
/* What the ports' spreads take of a given field of rises: fills taken[ports]. */
void level_take(const field_level *level, const double rise[], double taken[]);
/* Rows of temperatures of a given field of rises (no patch heat of its own): fills row[ports_rows]. */
void level_read(const field_level *level, const double rise[], double row[]);
/* What of a surface's heat or temperature reaches the cell behind it. */
double level_reach(const field_level *level, size_t surface);
/* K/W a watt evenly over a patch raises its own surface above the cells behind it: fills own[patches]. */
void level_own_rises(const field_level *level, double own[]);

#endif
