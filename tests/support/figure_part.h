/* figure_part.h - parts whose figures are kept: drawn from a model's parameter table, or a part of a file
 * varied. */
#ifndef FIGURE_PART_H
#define FIGURE_PART_H

#include "heatledger/catalogue.h"
#include "kept_figures.h"

enum { FIGURE_ROW = 32 }; /* points of a curve or a list */

typedef struct figure_part {
    const hl_model *model;
    hl_value *values;             /* [n_parameters] */
    double (*row)[2][FIGURE_ROW]; /* [n_parameters], of curves and lists */
    void *state;
    hl_reason reason;
    size_t refused; /* draws that prepare() refused before this one */
} figure_part;

figure_part *figure_part_create(const hl_model *model);
void figure_part_destroy(figure_part *part);
/* The state anew from the values; false, with the reason, when they are refused. */
bool figure_part_prepare(figure_part *part);

/* The number-th part of its model, anywhere in the plausible box, with options present or absent; the same
 * whatever other parameters the model has.  false when none of many is accepted. */
bool figure_part_draw(figure_part *part, size_t number);
/* The values of a part of a file, each up to 20 % off and options now and then left out (number 0: just as
 * they are); false when none of many is accepted. */
bool figure_part_vary(figure_part *part, const hl_part *like, size_t number);

/* Take every value a hair beside, and prepare again. */
void figure_part_beside(figure_part *part, const figure_part *of, figure_hair *hair);

#endif
