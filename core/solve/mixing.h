/* mixing.h - from the last few rounds of a fixed point, a better place for the next. */
#ifndef HEATLEDGER_MIXING_H
#define HEATLEDGER_MIXING_H

#include <stdbool.h>

#include "diagnostic/arena.h"

enum { MIXING_DEPTH = 5 };

/* Unknowns x, and what a round g makes of them.  Each unknown has a scale: what counts as much as one. */
typedef struct mixing {
    size_t n;                     /* unknowns */
    unsigned kept, next;          /* differences kept, and where the next one goes */
    bool begun;                   /* x and g hold a round */
    bool weighed;                 /* the scales are set */
    double *asked, *answered;     /* [n] of the last round */
    double *scale;                /* [n] the inverse of what counts as one */
    double *miss[MIXING_DEPTH];   /* [n] differences of scaled g - x */
    double *answer[MIXING_DEPTH]; /* [n] differences of g */
    double *basis[MIXING_DEPTH];  /* [n] room for the least squares */
} mixing;

bool mixing_create(mixing *m, arena *memory, size_t n);
/* Forget all rounds. */
void mixing_begin(mixing *m);
/* The differences and scales of another, to begin with: how rounds answer there is a fair guess here. */
void mixing_copy(mixing *to, const mixing *from);
/* The scales alone, where something better than rounds tells the way. */
void mixing_copy_scale(mixing *to, const mixing *from);
/* Take in a round that was asked with `asked` and answered `answered`.  Returns how much of a change of x the
 * round passed on, |dg| / |dx|, in scaled norms; 1 when there is nothing to compare with. */
double mixing_learn(mixing *m, const double asked[], const double answered[]);
/* Overwrite `answered` with the place to ask next. */
void mixing_propose(mixing *m, double answered[]);

#endif
