/* border.h - how far load and ambient may rise before run-away, and how far they must come down after one. */
#ifndef HEATLEDGER_BORDER_H
#define HEATLEDGER_BORDER_H

#include <jansson.h>
#include <stdio.h>

#include "heatledger/heatledger.h"

enum { BORDERS = 2 };

typedef struct border {
    const char *setting, *key;
    double low, most; /* SI: where the search begins below a point that ran away, and where it ends above */
    bool temperature, known;
    hl_critical found;
} border;

/* Beside the point that `workspace` holds: upward from a solved one, up to it where it ran away. */
void border_find(const hl_workspace *workspace, const double settings[], border list[BORDERS]);

/* One line each. */
void border_text(FILE *to, const hl_design *design, const border list[BORDERS]);
/* Below the reason of a run-away: what settles, and what to do. */
void border_way_back(FILE *to, const hl_workspace *workspace, const border list[BORDERS]);
/* { load = ..., ambient = ... } */
json_t *border_document(const hl_design *design, const border list[BORDERS]);

#endif
