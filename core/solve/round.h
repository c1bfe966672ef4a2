/* round.h - one round of a point, and what it hands to the next. */
#ifndef HEATLEDGER_ROUND_H
#define HEATLEDGER_ROUND_H

#include "solve/workspace.h"

enum { DESTROYED = 900 }; /* K: no part is left; losses outran the network */

typedef struct round_way {
    unsigned walk; /* walks of this point before: early ones forgive a stage that finds no operating point */
    bool hurry;    /* one Newton step in the network rather than a balance */
    bool first;    /* nothing is known of the temperatures yet */
    double open;   /* share that the last round left */
} round_way;

typedef struct round_end {
    double electrical, thermal; /* greatest change: share of a stage's power or voltage; K */
    size_t failed;              /* stage that gave no answer */
    hl_status heat;             /* HL_RUNAWAY: no balance, or hotter than any part survives */
} round_end;

/* HL_STAGE_SOLVED: end is filled. */
hl_stage_status round_make(hl_workspace *work, const round_way *way, round_end *end);
/* Temperatures once more, after losses have moved by next to nothing. */
hl_status round_rebalance(hl_workspace *work);

/* What a round hands to the next: of each stage what it draws beyond its waveforms, what its bus draws and
 * its voltage; and the temperatures. */
size_t round_unknowns(const hl_design *design);
void round_pack(const hl_workspace *work, double handed[]);
void round_unpack(hl_workspace *work, const double handed[]);
/* A balance with every loss as it was booked, whatever the temperature. */
hl_status round_stand_still(hl_workspace *work);

#endif
