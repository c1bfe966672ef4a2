/* point.h - one operating point of a stage under trial, every solution watched. */
#ifndef HEATLEDGER_POINT_H
#define HEATLEDGER_POINT_H

#include "prove/draw.h"
#include "prove/guard.h"
#include "prove/ideal.h"
#include "prove/trial.h"

typedef struct point {
    drawn_values drawn;
    hl_value *asked; /* copy of the values */
    hl_terminal part[HL_SLOTS_MAX];
    hl_segment line[3]; /* of the load's slow current */
    hl_stage_input in;
    hl_stage_output out; /* of the last solution */
    hl_scratch scratch;
    guarded room, memory;
    hl_reason reason; /* of prepare */
} point;

typedef enum point_kind {
    POINT_SENSIBLE, /* values and parts that fit each other: most should solve */
    POINT_ANYWHERE, /* values anywhere in their plausible ranges: many will not */
} point_kind;

/* false after trial_fail (no memory) */
bool point_create(trial *t, point *p);
void point_destroy(point *p);
/* Draw until prepare accepts; cold start.  false after trial_fail. */
bool point_draw(trial *t, point *p, point_kind kind);
/* The stage's own prepare over the values as they are; true when it has none. */
bool point_prepare(trial *t, point *p);

/* Rewind the scratch, zero the answer, solve; allocations and overruns are noted in the trial. */
hl_stage_status point_solve(trial *t, point *p);
/* Forget the warm start. */
void point_forget(point *p);
/* Another size of scratch; false: no memory. */
bool point_give_scratch(point *p, size_t size);

/* Sentences for what is wrong with a solved answer; NULL when every figure in it is finite and sane.
 * infinite: let infinities pass, the honest answer to some questions out of any range. */
const char *point_fault(const point *p, const hl_stage *stage, bool infinite, char *text, size_t size);

#endif
