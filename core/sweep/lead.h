/* lead.h - where each point of a grid begins: beyond or beside points of its group that are solved.
 *
 * Groups are fixed by the plan, as many points each in its order, and each is walked from its first point on.
 * So a point's bits do not depend on workers, shards or interruptions. */
#ifndef HEATLEDGER_LEAD_H
#define HEATLEDGER_LEAD_H

#include "sweep/plan.h"

enum { LEAD_MOST = 256 };

typedef struct lead {
    const hl_sweep *sweep;
    hl_start *point[LEAD_MOST],
        *blend;              /* of the group in its order; those before `next` are solved, or empty */
    size_t size;             /* points of a group */
    size_t first, next;      /* of the group in work; the point that comes next */
    size_t stride[AXES_MAX]; /* points from one entry of an axis to the next */
    double *settings;        /* of points before the one at hand */
} lead;

/* Points of a group, at most LEAD_MOST: whole lines along the fastest axis, or pieces of one. */
size_t lead_group(const hl_sweep *sweep);
bool lead_create(lead *made, const hl_sweep *sweep, const double base[]);
void lead_clear(lead *made);
/* Solve `point` of a grid in `work`, whose settings are `settings`; what its group needs before is solved
 * too. */
hl_status lead_solve(lead *l, hl_workspace *work, size_t point, const double settings[]);

#endif
