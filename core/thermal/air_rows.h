/* air_rows.h - all links of a network side by side, so that the processor works through several at once: a
 * row for each link of air, and one for each two ends that only other links join.  Fixed and radiating links
 * lie in the first row of their two ends. */
#ifndef HEATLEDGER_THERMAL_AIR_ROWS_H
#define HEATLEDGER_THERMAL_AIR_ROWS_H

#include "heatledger/thermal.h"
#include "wave/lanes.h"

/* Said before a loop whose turns do not touch one another's numbers. */
#if defined(__GNUC__) && !defined(__clang__)
#define SIDE_BY_SIDE _Pragma("GCC ivdep")
#else
#define SIDE_BY_SIDE
#endif

/* What goes out at one end of a row: heat, W, and its slope by the temperature there, W/K, less than nought
 * as it stands in the column of that end. */
typedef struct row_end {
    double heat, less_slope;
} row_end;

typedef struct air_rows {
    size_t n, plates, flats, layers; /* vertical plates in still air come first, those that lie next, then
                                      * enclosed layers, then what is rarer, then rows without air */
    size_t of_air;                   /* rows with air */
    size_t most;
    hl_link *link; /* of air */
    int *a, *b;    /* their ends */
    row_end *end;  /* what air_rows_flow works out: of each row its end a, its end b */

    double *conductance, *radiance; /* fixed, W/K; q = radiance (Ta^4 - Tb^4) */
    double *heat, *by_a, *by_b;     /* of air alone: heat and its slopes, as in law_flow */
    double *reach, *cube;           /* area / length, length^3 */
    double *calm;                   /* Rayleigh number up to which its loop holds: a layer just conducts */
    double *ahead, *behind;         /* of a plate that lies: Nu / Ra^(1/4) with end a, or b, the hotter */
    double *factor, *power;         /* of a squat layer that turns over: see squat.h; of others 0 */
    double *difference, *film, *rayleigh, *root;
    double *conductivity, *prandtl, *buoyancy, *conductivity_slope, *prandtl_slope, *buoyancy_slope;
    double *columns; /* where all of these lie */
    float *guess;
    int *bits;
    size_t *doubtful; /* rows to be done again by themselves */
} air_rows;

bool air_rows_create(air_rows *rows, size_t most);
void air_rows_destroy(air_rows *rows);

/* Empty, then one by one: first all links of kind 0, then 1 and so on.  Returns the row. */
enum { AIR_PLATE, AIR_FLAT, AIR_LAYER, AIR_OTHER, AIR_NONE, AIR_KINDS };
void air_rows_clear(air_rows *rows);
int air_rows_kind(const hl_link *link);
size_t air_rows_add(air_rows *rows, int a, int b, const hl_link *link);

/* Place among the ends of one where nothing ever goes out. */
static inline int air_rows_no_end(const air_rows *rows)
{
    return (int)(2 * (rows->most + LANES));
}

/* Heat and slopes of all rows; `least` as in law_power. */
void air_rows_flow(air_rows *rows, const double temperature[], double pressure, double least);

#endif
