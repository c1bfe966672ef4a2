/* spread.h - what the files of a design's spread share. */
#ifndef HEATLEDGER_SPREAD_INTERNAL_H
#define HEATLEDGER_SPREAD_INTERNAL_H

#include "spread/unknowns.h"

typedef struct spread_reason {
    char *text;
    size_t count;
    hl_outcome outcome;
} spread_reason;

struct hl_spread {
    arena *memory;
    const hl_design *design;
    hl_figures *figures;
    unknowns unknowns;
    double *base; /* [settings] */
    size_t samples, solved;
    double *p;              /* [samples x unknowns] */
    double *central;        /* [figures] */
    double *y;              /* [figures x samples]; sorted at the end */
    size_t *good;           /* [figures] values that are not NaN */
    char **said;            /* [samples] why a point has no solution; NULL: solved */
    unsigned char *outcome; /* [samples] */
    spread_reason *reasons;
    size_t n_reasons;
    hl_driver **drivers; /* [n_about] */
    size_t *n_drivers;
    size_t n_about;
    hl_separator *separators; /* [n_separators] */
    size_t n_separators;
    double seconds, solving;
};

/* One workspace and one array of settings for each worker. */
typedef struct crew {
    const hl_spread *spread;
    hl_workspace **workspace;
    double *settings; /* [workers x settings] */
    double *figures;  /* [workers x figures] */
    size_t workers;
    hl_start *start; /* the central point, from which all begin */
} crew;

bool crew_gather(crew *made, const hl_spread *spread, size_t workers);
void crew_dismiss(crew *made);
/* Solve at p in this worker; false: no solution. */
bool crew_solve(const crew *workers, size_t worker, const double p[]);

/* drivers.c: what drives the figures asked about. */
hl_status drivers_find(hl_spread *spread, const hl_spread_options *options, const crew *workers);

/* separators.c: what separates points without a solution from the others.  false: no memory. */
bool separators_find(hl_spread *spread);

#endif
