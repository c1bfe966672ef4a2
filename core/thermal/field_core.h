/* field_core.h - a condensed field: what is left of a box when its grids are gone. */
#ifndef HEATLEDGER_THERMAL_FIELD_CORE_H
#define HEATLEDGER_THERMAL_FIELD_CORE_H

#include "thermal/field_level.h"
#include "thermal/field_modes.h"

enum { FIELD_NAME = 48 };

/* A place whose temperature is followed: it may be the hottest of its body or face. */
typedef struct field_spot {
    int owner; /* body, or bodies + face */
    int patch; /* of a face's spot */
    double place[3];
} field_spot;

/* Linear in its ports; everything per port or row in the order of field_ports.h. Matrices column by column.
 */
struct hl_field {
    field_ports ports;
    int n_ports, n_rows, n_spots;
    hl_field_side sides[HL_FACES];
    hl_surroundings surroundings; /* about which it is linear */
    bool still;
    double fill_conductivity;
    hl_face up; /* the face that looks up, HL_FACES: none */
    field_linear linear;
    hl_field_facts facts;

    char (*names)[FIELD_NAME]; /* bodies */
    double *nominal;           /* heat of the bodies, then departures of patches and groups */
    double *impedance;         /* n_rows x n_ports */
    field_spot *spots;
    double *spot_row;  /* n_spots x n_ports */
    field_modes modes; /* n = 0: not asked for */
};

struct hl_field_work {
    const hl_field *field;
    hl_surroundings surroundings;
    double *port;        /* n_ports: heat of bodies, departures */
    double *rise;        /* n_rows */
    double *base;        /* n_rows: rise by what does not change from round to round */
    double *trial;       /* n_ports */
    double *history;     /* for the acceleration: see field_solve.c */
    double *body_matrix; /* bodies x bodies */
    double *dense;       /* n_ports x n_ports, the careful way */
    double *column;      /* n_ports */
    double *slope;       /* bodies */
    int *pivot;          /* n_ports */
    double *face_heat;   /* HL_FACES */
    double in, out;      /* W */
    double *scratch;     /* n_spots + n_rows */
};

/* Takes the patches; NULL: no memory, and they stay the caller's. */
hl_field *field_allocate(const field_ports *ports, int n_spots);

/* Heat that leaves by faces and groups beyond what the linear network takes, W into each patch and group. */
void field_departures(const hl_field *field, const hl_surroundings *surroundings, const double rise[],
                      double departure[], double face_heat[HL_FACES]);
/* The same for slopes: slope[k] of patch k to its own rise, face_slope[face] to the face's mean times own
 * rise; side slopes of the groups. */
typedef struct departure_slopes {
    double *own;   /* per patch: to its own rise; per group: to side a */
    double *other; /* per patch: to the mean rise of its face; per group: to side b */
} departure_slopes;
void field_departure_slopes(const hl_field *field, const hl_surroundings *surroundings, const double rise[],
                            departure_slopes *slopes);

/* Coefficients about a state of the rows; those of an unknown state when rise is NULL. */
void field_linearise(const hl_field *field, const hl_surroundings *surroundings, const double rise[],
                     field_linear *linear);

/* value = evaluate(value), to the tolerance on the sum of sizes; false: it does not settle. */
enum { FIELD_SETTLE_WINDOW = 5, FIELD_SETTLE_SPACE = 2 * FIELD_SETTLE_WINDOW + 4 };
typedef struct field_settling {
    int n;
    double *value, *space; /* n, FIELD_SETTLE_SPACE x n */
    double tolerance;
    void (*evaluate)(void *context, double image[]);
    void *context;
} field_settling;
bool field_settle(const field_settling *settling);

/* y += matrix x, column by column, skipping columns that get nothing. */
void field_multiply(int rows, int columns, const double *matrix, const double x[], double y[]);

/* LU with partial pivoting in place, row-major n x n; false: singular. */
bool dense_factor(int n, double *matrix, int *pivot);
void dense_solve(int n, const double *matrix, const int *pivot, double vector[]);

/* The hottest place of each body and face, out of the rises of the followed places; with the faces' means and
 * heat by the rises and port values of the work. */
void field_pick_spots(const hl_field_work *work, const double spot_rise[], hl_field_spot hottest[],
                      hl_field_face faces[]);

#endif
