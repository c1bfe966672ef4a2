/* solved_field.h - condensed fields, solved; and a plain box to vary.  What fails, fails the running test. */
#ifndef SOLVED_FIELD_H
#define SOLVED_FIELD_H

#include "heatledger/field.h"
#include "reference_field.h"

typedef struct solved_field {
    hl_field *field;
    hl_field_work *work;
    hl_field_facts facts;
    size_t bodies;
    double power[FIELD_BODIES], mean[FIELD_BODIES];
    hl_field_spot hottest[FIELD_BODIES];
    hl_field_face faces[HL_FACES];
} solved_field;

/* The power of the box's blocks, not solved yet. */
void solved_field_make(solved_field *s, const hl_field_box *box);
void solved_field_solve(solved_field *s, const hl_surroundings *room);
void solved_field_drop(solved_field *s);

/* 40 x 40 x 20 mm of plastic round a board with a part of 1.5 W in its middle; the air in it stands still. */
hl_field_box plain_field_box(hl_field_board *board, hl_field_block *block);

#endif
