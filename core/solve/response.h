/* response.h - how a round answers to what it is handed, about one solved point. */
#ifndef HEATLEDGER_RESPONSE_H
#define HEATLEDGER_RESPONSE_H

#include <stdbool.h>
#include <stddef.h>

#include "diagnostic/arena.h"
#include "heatledger/design.h"
#include "solve/told.h"

typedef struct response {
    size_t n;       /* unknowns of a round */
    size_t circuit; /* those of the circuit, which come first */
    size_t items;
    size_t rows; /* those, W of one part of each item, W in the circuit of each stage */
    size_t told; /* and besides those, figures of told.h: room for so many of */
    const told *list;
    size_t columns; /* those whose change a round feels */
    bool known, knows_told;
    size_t *column;  /* [columns] which they are */
    double *weight;  /* [columns] greatest answer to one, unknowns counted as shares and in 100 K */
    double *slope;   /* [items] W/K of one part's loss there */
    double *told_at; /* [told] those figures there */
    /* [columns][reach] J (1 - J)^-1, with J the derivative of a round: rows, then what is told, then noughts.
     * Right to parts in ten thousand about a point, which a float holds well. */
    float *gain;
    size_t reach; /* rows and told together, in whole eights */
} response;

/* How rounds answer at a point among those: their mean. */
enum { RESPONSES_MOST = 4 };
typedef struct response_mean {
    const response *from[RESPONSES_MOST];
    double weight[RESPONSES_MOST];
    size_t n;        /* 0: not known */
    bool surrounded; /* they lie around the point: right to parts in ten thousand, not per cent */
} response_mean;

/* One column in all of those, each with its weight times the miss at hand. */
typedef struct mean_column {
    const float *from[RESPONSES_MOST];
    float weight[RESPONSES_MOST];
} mean_column;

/* What learning and applying need besides, one for a workspace. */
typedef struct response_bench {
    double *matrix;        /* [columns][columns] */
    double *asked, *start; /* [rows + told] where the point stands, and what a round makes of it */
    double *column;        /* [rows + told] a difference of that */
    double *row;           /* [columns] */
    double *missed;        /* [rows] what the round at hand made beyond what it was handed */
    mean_column *held;     /* [columns + 1] those that count for the losses */
    size_t n_held, n_besides;
    size_t *besides; /* [columns] those that count for what is told alone */
    size_t *untold;  /* columns held for quantities that are still to be moved; 0: all are */
    float *sum;      /* [reach] of the gain times the miss */
    size_t *pivot;   /* [columns] */
} response_bench;

size_t response_columns(const hl_design *design);
size_t response_rows(const hl_design *design);
/* Numbers that a gain takes. */
size_t response_size(const hl_design *design);
/* `gain` may be room of the caller's, or NULL; `list` is set before it is learnt.  false: no memory. */
bool response_create(response *made, arena *memory, const hl_design *design, const told *list, float *gain);
bool response_bench_create(response_bench *made, arena *memory, const hl_design *design);

/* Learn it at the point the workspace has just solved, one round a column.  The workspace then stands beside
 * that point and its result is gone.  false, and nothing is known: no network, or a round led nowhere. */
bool response_learn(response *to, hl_workspace *work);
/* With the learning done and the settings now other ones: by how much a fixed point lies elsewhere, to first
 * order, `moved` [n].  false: the round led nowhere. */
bool response_moved(const response *known, hl_workspace *work, double moved[]);
/* Newton's step: from what was handed and what the round made of it to where both would be the same. */
void response_apply(const response_mean *near, hl_workspace *work, const double handed[], double made[]);
/* After response_apply, by how much losses will be other there: `more` [rows - n], as in response.  What
 * each part's own temperature does is taken from its slope now, not from where the response was learnt. */
void response_losses(const response_mean *near, const hl_workspace *work, double more[]);
/* And by how much the figures of told.h will be other, those from `first` on before `last`: `more` [last -
 * first], with the columns held for them. Only where they are known. */
bool response_knows_told(const response_mean *near, const hl_workspace *work);
size_t response_hold_told(const response_mean *near, const hl_workspace *work);
void response_told(const response_mean *near, const hl_workspace *work, size_t held, size_t first,
                   size_t last, double more[]);

#endif
