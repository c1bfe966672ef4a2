/* warmup.h - the course of a warm-up while it is being made. */
#ifndef HEATLEDGER_SOLVE_WARMUP_H
#define HEATLEDGER_SOLVE_WARMUP_H

#include "heatledger/ladder.h"
#include "heatledger/warmup.h"
#include "solve/workspace.h"

struct hl_course {
    size_t nodes, items, rows, room;
    double *time, *load, *loss, *temperature; /* rows; temperature[row * nodes + node] */
    hl_course_peak *peak;                     /* nodes */
    double *junction;                         /* items, K */
    hl_outcome outcome;
    char reason[512];
    hl_course_figures figures;
};

hl_course *course_create(const hl_design *design, const double limit[]);
/* One more row; false: no memory, or more rows than HL_PROFILE_ROWS_MAX. */
bool course_add(hl_course *course, double time, double load, double loss, const double temperature[]);
/* Peaks, and limits crossed since the state before (at `time` - `step`). */
void course_watch(hl_course *course, double time, double step, const double before[],
                  const double temperature[]);

/* Foster ladder of an item, from its junction to its node; false: none is stated. */
bool item_ladder(const design_item *item, hl_ladder *foster);

#endif
