/* field_modes.h - a box in time: few modes, each with one rate, that carry the grid's field. */
#ifndef HEATLEDGER_THERMAL_FIELD_MODES_H
#define HEATLEDGER_THERMAL_FIELD_MODES_H

#include "thermal/field_level.h"

/* Mode i follows x' = -rate x + sum of in x port heat; a row of temperatures is the sum of row x x and what a
 * patch's own heat raises its surface at once. */
typedef struct field_modes {
    int n, n_rows, n_ports, n_spots;
    double *rate;   /* n, 1/s, rising */
    double *in;     /* n x n_ports, mode by mode: per W of a port */
    double *row;    /* n x n_rows, mode by mode */
    double *spot;   /* n x n_spots */
    double *stored; /* n: J per unit of the mode */
    double *own;    /* patches: K/W */
} field_modes;

bool modes_allocate(field_modes *modes, int n, const field_ports *ports, int n_spots);
void modes_release(field_modes *modes);

/* Responses of the cells from which modes are made: `extra` columns beyond the level's own. */
typedef struct field_basis {
    const field_level *level;
    int rates, columns; /* columns: one even one, the ports', rates x bodies */
    double rate[8];
    double *late; /* cells x (rates x bodies): responses to a heat that grows as e^(rate t) */
} field_basis;

/* False: no memory. */
bool basis_create(field_basis *basis, field_level *level, const field_linear *linear);
void basis_release(field_basis *basis);
/* Rises of the cells when each body's heat grows at a rate: fills rise[cells]. */
void basis_rise(const field_basis *basis, int rate, const double heat[], double rise[]);
/* A followed place: the cell, and what a surface shows of the rise of the cell behind it. */
typedef struct basis_spot {
    int cell;
    double share;
} basis_spot;
bool basis_condense(const field_basis *basis, const field_linear *linear, const basis_spot spots[],
                    int n_spots, field_modes *modes);

/* Symmetric n x n, row-major: eigenvalues rising in value[], vectors in the columns of a. False: no end. */
bool symmetric_eigen(int n, double *a, double value[], double spare[]);

#endif
