/* air_rows.h - all links of air of a network side by side, so that the processor works through several at
 * once. */
#ifndef HEATLEDGER_THERMAL_AIR_ROWS_H
#define HEATLEDGER_THERMAL_AIR_ROWS_H

#include "heatledger/thermal.h"

/* Ends of a link and its four places in the matrix: row a or b, column a or b. */
typedef struct link_place {
    int a, b;
    int aa, ab, ba, bb;
} link_place;

typedef struct air_link {
    link_place at;
    hl_link link;
} air_link;

typedef struct air_rows {
    size_t n, plates, flats, layers; /* vertical plates in still air come first, those that lie next, then
                                      * enclosed layers, then what is rarer */
    air_link *link;
    int *a, *b;                 /* their ends */
    double *heat, *by_a, *by_b; /* what air_rows_flow works out: heat and its slopes, as in law_flow */

    double *reach, *cube;   /* area / length, length^3 */
    double *most;           /* Rayleigh number up to which its loop holds: a layer just conducts */
    double *ahead, *behind; /* of a plate that lies: Nu / Ra^(1/4) with end a, or b, the hotter */
    double *difference, *film, *rayleigh, *root, *doubt;
    double *conductivity, *prandtl, *buoyancy, *conductivity_slope, *prandtl_slope, *buoyancy_slope;
    double *columns; /* where all of these lie */
    float *guess;
    int *bits;
} air_rows;

bool air_rows_create(air_rows *rows, size_t most);
void air_rows_destroy(air_rows *rows);

/* Empty, then one by one: first all links of kind 0, then 1 and so on. */
enum { AIR_PLATE, AIR_FLAT, AIR_LAYER, AIR_OTHER, AIR_KINDS };
void air_rows_clear(air_rows *rows);
int air_rows_kind(const hl_link *link); /* -1: no air */
void air_rows_add(air_rows *rows, link_place at, const hl_link *link);

/* Heat and slopes of all rows; `least` as in law_power. */
void air_rows_flow(air_rows *rows, const double temperature[], double pressure, double least);

#endif
