/* field.h - the heat field of a box, solved once on a grid and condensed to a small network.
 * Part of the host interface: include heatledger.h.
 *
 * Geometry and material alone make the grid; conduction inside is linear, so the grid is factorised once and
 * condensed to ports: bodies, boards, patches of the outer faces, pairs of surfaces that face each other
 * across the inner air.  What is not linear acts on the ports only, so a solution afterwards takes
 * microseconds and yet carries the field: docs/theory/field.md.
 *
 * SI units, temperatures in kelvin, lengths from one outer corner of the box.  A condensed field is
 * constant and may be shared by threads, each with its own hl_field_work. */
#ifndef HEATLEDGER_FIELD_H
#define HEATLEDGER_FIELD_H

#include <stdbool.h>
#include <stddef.h>

#include "heatledger/status.h"
#include "heatledger/thermal.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    HL_FIELD_ANY = -1,  /* block.on: the contact is to whatever solid touches the block */
    HL_FIELD_SHELL = -2 /* film.below, film.above */
};

/* Another conductivity in a part of a board: a copper area, a copper layer, a field of vias.
 * Later zones win over earlier ones. */
typedef struct hl_field_zone {
    double low[3], high[3];                       /* m; what lies outside the board counts for nothing */
    double conductivity_in, conductivity_through; /* W/(m K); 0 = as the board */
} hl_field_zone;

typedef struct hl_field_board {
    const char *name;
    double low[3], high[3];                       /* m */
    int normal;                                   /* axis across the board: 0, 1, 2 */
    double conductivity_in, conductivity_through; /* W/(m K) */
    double density_heat;                          /* J/(m^3 K) */
    double emissivity;
    double heat; /* W, its own, spread evenly: usually 0 */
    size_t n_zones;
    const hl_field_zone *zones;
} hl_field_board;

/* A part, a heat spreader, or a region that only gives heat. */
typedef struct hl_field_block {
    const char *name;
    double low[3], high[3]; /* m */
    double
        conductivity[3]; /* W/(m K) along x, y, z; all 0 = no material of its own, only heat in that region */
    double density_heat; /* J/(m^3 K) */
    double emissivity;
    double heat;    /* W, spread evenly: the loss about which the network is made; any other may be
                       asked for afterwards */
    double contact; /* K m^2/W between the block and what it sits on */
    int on;         /* index of the board it sits on, or HL_FIELD_ANY */
} hl_field_block;

/* A layer of the fill too thin for cells of its own: where two solids touch along an axis, heat crosses that
 * much fill between them, and radiation where it is air.  Bodies by their number: blocks, spreaders, boards.
 */
typedef struct hl_field_film {
    int below, above; /* the solid on the lower side and on the upper side along the axis */
    int axis;
    double thickness; /* m */
} hl_field_film;

typedef enum hl_field_law {
    HL_FIELD_NATURAL,  /* natural convection of the face's orientation, and radiation */
    HL_FIELD_FIXED,    /* fixed coefficient to the surroundings, and radiation */
    HL_FIELD_ADIABATIC /* nothing leaves */
} hl_field_law;

/* The outer side of one face. */
typedef struct hl_field_side {
    hl_field_law law;
    hl_orientation orientation; /* natural */
    double length;              /* m, natural: height of a vertical face, area / perimeter of a lying one */
    double coefficient;         /* W/(m^2 K), fixed */
    double emissivity;          /* 0 = no radiation */
    double air_speed;           /* m/s along the face; 0 = still air */
    double along;               /* m, length along that flow; 0 = `length` */
    double covered;             /* share of the face that touches a table, wall or blanket: neither air nor
                                   radiation, but `cover` takes its heat; 0 = bare */
    double cover;               /* W/(m^2 K) into what covers it */
} hl_field_side;

typedef struct hl_field_box {
    double size[3];            /* m, outer */
    double shell;              /* m, thickness on all faces; 0 = none, the fill reaches the outer faces */
    double shell_conductivity; /* W/(m K) */
    double shell_density_heat; /* J/(m^3 K) */
    double shell_emissivity;   /* inner side */
    double fill_conductivity;  /* W/(m K) */
    double fill_density_heat;  /* J/(m^3 K) */
    bool potted;               /* the fill is a solid: no inner radiation */
    bool still;                /* the air inside is a still medium; false: a layer convects when its
                                  Rayleigh number says so */
    hl_field_side sides[HL_FACES];
    size_t n_boards, n_blocks, n_spreaders;
    const hl_field_board *boards;
    const hl_field_block *blocks;    /* in a place that several claim: blocks win over boards, boards over */
    const hl_field_block *spreaders; /* spreaders, spreaders over shell and fill; later over earlier */
    size_t n_films;
    const hl_field_film *films;
    hl_surroundings surroundings; /* about which the network is made; others may be asked for afterwards */
    double fineness;              /* 1 = default; 2 = cells half as long */
    bool warm;                    /* make what a warm-up needs as well: about twice the set-up */
} hl_field_box;

typedef struct hl_field hl_field;
typedef struct hl_field_work hl_field_work;

/* What one set-up cost and how good it is. */
typedef struct hl_field_facts {
    size_t cells, ports, patches, pairs;
    double coarse_change; /* K, greatest change of a body mean, face mean or face maximum between the last two
                             grids */
    double seconds;       /* of set-up; 0 when read from a file */
} hl_field_facts;

/* NULL: the box is no box (diagnostics say what and where) or memory ran out. */
HL_EXPORT hl_field *hl_field_create(const hl_field_box *box, hl_diagnostics *diagnostics);
/* The same through a file in `folder` named by a hash of the box.  A file that is not whole is passed over
 * with a warning and written anew; a folder that cannot be written to is no error. */
HL_EXPORT hl_field *hl_field_create_kept(const hl_field_box *box, const char *folder,
                                         hl_diagnostics *diagnostics);
HL_EXPORT void hl_field_destroy(hl_field *field);
HL_EXPORT void hl_field_facts_of(const hl_field *field, hl_field_facts *facts);

/* Bodies: blocks, then spreaders, then boards, in the order given. */
HL_EXPORT size_t hl_field_bodies(const hl_field *field);
HL_EXPORT const char *hl_field_body_name(const hl_field *field, size_t body);

typedef struct hl_field_spot {
    double temperature; /* K */
    double place[3];    /* m */
} hl_field_spot;

typedef struct hl_field_face {
    double mean; /* K, outer surface */
    hl_field_spot hottest;
    double heat; /* W leaving */
} hl_field_face;

HL_EXPORT hl_field_work *hl_field_work_create(const hl_field *field); /* NULL: no memory */
HL_EXPORT void hl_field_work_destroy(hl_field_work *work);

/* Steady temperatures with heat power[i] + slope[i] (T_i - at[i]) in each body, T_i its mean.
 *   power, slope, at  [bodies]; slope and at may be NULL
 *   mean              [bodies] K, out
 *   HL_RUNAWAY        no steady state below 2000 K
 * Allocates nothing; remembers nothing from the call before. */
HL_EXPORT hl_status hl_field_solve(hl_field_work *work, const hl_surroundings *surroundings,
                                   const double power[], const double slope[], const double at[],
                                   double mean[]);
/* Of the last solution: hottest place of each body [bodies], faces [HL_FACES]. Either may be NULL. */
HL_EXPORT void hl_field_spots(const hl_field_work *work, hl_field_spot hottest[], hl_field_face faces[]);
/* Heat put in and handed out at the last solution, W. */
HL_EXPORT void hl_field_book(const hl_field_work *work, double *in, double *out);
/* Feedback gain at the last solution: below 1 it is stable.
 *   slope    [bodies] W/K, of each body's own heat; what falls with temperature counts with the ways out
 *   leak     [bodies] W/K, what each body hands straight to the surroundings beside the field; NULL: nothing
 *   *leader  the body with the greatest share in it, whose slope is above 0; SIZE_MAX: none.  May be NULL */
HL_EXPORT double hl_field_gain(hl_field_work *work, const double slope[], const double leak[],
                               size_t *leader);

/* Of one more watt in each body at the last solution, what leaves by each face: share[body][face], [bodies]
 * x [HL_FACES], together 1 for each body.  The heat of the others stands still, films and radiation follow.
 * false: the tangent of the balance has no inverse. */
HL_EXPORT bool hl_field_shares(hl_field_work *work, double share[]);

/* Outer patches: where they are and how warm at the last solution. */
typedef struct hl_field_patch {
    hl_face face;
    double low[3], high[3]; /* m */
    double mean;            /* K */
    double heat;            /* W leaving */
} hl_field_patch;
HL_EXPORT size_t hl_field_patches(const hl_field *field);
HL_EXPORT void hl_field_patch_of(const hl_field_work *work, size_t patch, hl_field_patch *out);

/* ---------------------------------------------------------------- in time -- */

/* A warm-up of a field made with `warm`. One thread at a time. */
typedef struct hl_field_warming hl_field_warming;
HL_EXPORT hl_field_warming *hl_field_warming_create(const hl_field *field); /* NULL: not made so; no memory */
HL_EXPORT void hl_field_warming_destroy(hl_field_warming *warming);

/* Begin at time 0 with the whole box at one temperature, K; or in the steady state of hl_field_solve. */
HL_EXPORT hl_status hl_field_warm_even(hl_field_warming *warming, const hl_surroundings *surroundings,
                                       double temperature);
HL_EXPORT hl_status hl_field_warm_steady(hl_field_warming *warming, const hl_surroundings *surroundings,
                                         const double power[], const double slope[], const double at[]);
/* Go on to `until`, s.  heat: as hl_heat of a network, with the bodies' means; it may jump where a call
 * begins or ends and is asked just inside.  HL_RUNAWAY: a place passed 2000 K.  Allocates nothing. */
HL_EXPORT hl_status hl_field_warm(hl_field_warming *warming, hl_heat heat, void *context, double until);
/* Now: means of the bodies, their hottest places, the faces.  Each may be NULL. */
HL_EXPORT void hl_field_warm_read(hl_field_warming *warming, double mean[], hl_field_spot hottest[],
                                  hl_field_face faces[]);
/* Since the beginning: [0] heat put in, [1] handed out, [2] stored, J; and the steps taken. */
HL_EXPORT void hl_field_warm_book(const hl_field_warming *warming, double energy[3], size_t *steps);

#ifdef __cplusplus
}
#endif
#endif
