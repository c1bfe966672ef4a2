/* response.h - how a round answers to what it is handed, about one solved point. */
#ifndef HEATLEDGER_RESPONSE_H
#define HEATLEDGER_RESPONSE_H

#include <stdbool.h>
#include <stddef.h>

#include "diagnostic/arena.h"
#include "heatledger/design.h"

typedef struct response {
    size_t n;       /* unknowns of a round */
    size_t circuit; /* those of the circuit, which come first */
    size_t items;
    size_t rows;    /* those, W of one part of each item, W in the circuit of each stage */
    size_t columns; /* those whose change a round feels */
    bool known;
    bool surrounded; /* a mean of others around the point at hand: right to parts in a thousand, not per cent
                      */
    size_t *column;  /* [columns] which they are */
    double *weight;  /* [columns] greatest answer to one, unknowns counted as shares and in 100 K */
    double *slope;   /* [items] W/K of one part's loss there */
    double *gain;    /* [columns][rows] J (1 - J)^-1, with J the derivative of a round */
} response;

/* What learning needs besides, one for a workspace. */
typedef struct response_bench {
    double *matrix;        /* [columns][columns] */
    double *asked, *start; /* [rows] where the point stands, and what a round makes of it */
    double *row;           /* [columns] */
    size_t *pivot;         /* [columns] */
} response_bench;

size_t response_columns(const hl_design *design);
size_t response_rows(const hl_design *design);
/* `gain` may be room of the caller's, or NULL.  false: no memory. */
bool response_create(response *made, arena *memory, const hl_design *design, double *gain);
bool response_bench_create(response_bench *made, arena *memory, const hl_design *design);

/* Learn it at the point the workspace has just solved, one round a column.  The workspace then stands beside
 * that point and its result is gone.  false, and nothing is known: no network, or a round led nowhere. */
bool response_learn(response *to, hl_workspace *work);
/* Before learning: only the columns that carried weight elsewhere. */
void response_like(response *to, const response *elsewhere);
/* Between others, all known: sum of weight[k] from[k], of the columns they have in common. */
void response_between(response *to, const response *const from[], const double weight[], size_t n);
/* With the learning done and the settings now other ones: by how much a fixed point lies elsewhere, to first
 * order, `moved` [n].  false: the round led nowhere. */
bool response_moved(const response *known, hl_workspace *work, double moved[]);
/* Newton's step: from what was handed and what the round made of it to where both would be the same. */
void response_apply(const response *known, const response_bench *bench, const double handed[], double made[]);
/* After response_apply, by how much losses will be other there: `more` [rows - n], as in response.  What
 * each part's own temperature does is taken from its slope now, not from where the response was learnt. */
void response_losses(const response *known, const hl_workspace *work, double more[]);

#endif
