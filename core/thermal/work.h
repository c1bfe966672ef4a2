/* work.h - what one thread needs to solve a network: links sorted by law into rows, the Newton matrix with
 * its pattern analysed once, and scratch vectors.
 *
 * The surroundings are element n of every vector of temperatures and residuals. */
#ifndef HEATLEDGER_THERMAL_WORK_H
#define HEATLEDGER_THERMAL_WORK_H

#include "heatledger/thermal.h"

#include <klu.h>

#include "thermal/air_rows.h"
#include "thermal/elimination.h"

typedef struct power_link {
    int a, b; /* ends of a row */
    double coefficient, exponent;
} power_link;

/* A second row of the same two ends: what goes out at `from` and at the row's other end goes out at `to` and
 * its other. */
typedef struct same_ends {
    int from, to;
} same_ends;

/* Heat along the links and its derivative as last assembled, and where. */
typedef struct links_kept {
    double *temperature, *residual, *value;
    double least, pressure;
} links_kept;

struct hl_network_work {
    const hl_network *network;
    int n, entries;
    size_t n_power, n_same;
    power_link *power;
    same_ends *same;
    air_rows air;
    int *source; /* of each entry of the matrix the end of a row that it tells of; on the diagonal that toward
                  * the surroundings, or none */
    int *figure; /* where that end's heat lies among the ends' figures, two an end */

    int *column, *row; /* compressed columns, as KLU wants them */
    int *diagonal;     /* place of each diagonal entry */
    double *value;     /* entries + 1 */
    double *saved;     /* entries + 1, for who needs two matrices at once */
    links_kept links;
    double near; /* K: closer than this to where the links were assembled their tangents serve; 0 = never */
    elimination *small; /* factors of a small network; NULL: those below */
    klu_common common;
    klu_symbolic *symbolic;
    klu_numeric *numeric;
    bool step_factored; /* the factors are those of the last network_step, with slopes `factored` */
    double *factored, *factored_at; /* slopes and temperatures of theirs */
    bool point_factored;            /* the factors are those of some network_step since network_forget */
    bool end_known;        /* that step left the links on their tangents, at whose `end` they carry away */
    double *end, *carried; /* so much heat */

    double ambient, pressure;
    double total_heat; /* sum of |power| at the last assembly */

    /* vectors of n (+ 1 where temperatures or residuals) */
    double *temperature, *residual, *heat, *slope, *step, *trial, *kept, *mode, *image;
    double *watts_rise; /* K: what a watt at each node does by the factors of the last network_step */
};

/* The surroundings that whatever follows is to be solved in. */
static inline void work_surround(hl_network_work *work, const hl_surroundings *surroundings)
{
    work->ambient = surroundings->temperature;
    work->pressure = surroundings->pressure;
}

/* Does the end of the last network_step, and what is known there, still hold? */
bool work_end_stands(const hl_network_work *work, double least);

/* Residual = heat leaving along links - heat put in, and its derivative, at work->temperature.
 * `least` as in law_power. False: the heat is not finite. */
bool work_assemble(hl_network_work *work, hl_heat heat, void *context, double time, double least);
/* The links alone: value = derivative of link heat, residual = link heat. */
void work_assemble_links(hl_network_work *work, double least);

/* Factorise the present values.  False when a pivot is not positive, that is, when the matrix is no
 * M-matrix: some feedback of temperature on heat is stronger than the links. */
bool work_factor(hl_network_work *work);
/* The same without asking for the pivots' signs: past a fold. False: not a finite number. */
bool work_factor_any(hl_network_work *work);
void work_solve(hl_network_work *work, double vector[]); /* in place */
void work_solve_two(hl_network_work *work, double vector[], double other[]);
/* image += matrix x, with the matrix in the places of work->value */
void work_multiply(const hl_network_work *work, const double matrix[], const double x[], double image[]);

/* Greatest residual allowed in sum: 1e-11 of the heat, 1e-12 W, or what rounding leaves. */
double work_tolerance(const hl_network_work *work);
double work_imbalance(const hl_network_work *work); /* sum of |residual| over the nodes */

/* From the surroundings upward by damped implicit steps in an artificial time: what Newton falls back on.
 * Result in work->temperature. */
hl_status work_settle(hl_network_work *work, hl_heat heat, void *context);

#endif
