/* draw.h - values of a part or a stage anywhere in the plausible box of its parameter table. */
#ifndef HEATLEDGER_DRAW_H
#define HEATLEDGER_DRAW_H

#include "heatledger/catalogue.h"
#include "prove/chance.h"

enum { DRAW_POINTS = 9 }; /* of a curve or a list */

typedef enum draw_mode {
    DRAW_REQUIRED, /* required ones drawn, defaults at their defaults, nothing else */
    DRAW_ALL,      /* every parameter drawn */
    DRAW_SOME,     /* required ones drawn, of the others some drawn, some at their defaults, some absent */
    DRAW_LOW,      /* every parameter at the low end of its range */
    DRAW_HIGH,
    DRAW_CORNER, /* every parameter at one of its ends */
    DRAW_MODES
} draw_mode;

/* Values with the memory their curves and lists live in. */
typedef struct drawn_values {
    const hl_model *model;
    hl_value *values; /* [n_parameters], in table order */
    double *rows;     /* [n_parameters][2][DRAW_POINTS] */
    bool flat;        /* curves are lone numbers: for laws that a table may bend */
} drawn_values;

/* false: no memory */
bool drawn_values_create(drawn_values *drawn, const hl_model *model);
void drawn_values_destroy(drawn_values *drawn);
void drawn_values_draw(drawn_values *drawn, chance *luck, draw_mode mode);
/* Put one number in the place of a value, whatever its kind (also into lists and curves). */
void drawn_values_put(drawn_values *drawn, size_t index, double number);

/* A number in [low, high]: evenly in the logarithm where the range is wide, its very ends now and then. */
double draw_within(chance *luck, double low, double high);

#endif
