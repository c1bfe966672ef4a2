/* reference_box.h - the field-solved boxes of tests/reference/box_open.json as enclosure descriptions. */
#ifndef REFERENCE_BOX_H
#define REFERENCE_BOX_H

#include "heatledger/thermal.h"

#include "reference_case.h"

enum { REFERENCE_BODIES = 16, REFERENCE_BOARDS = 4 };

typedef struct reference_box {
    json_t *root, *one_case;
    hl_box box;
    hl_board boards[REFERENCE_BOARDS];
    hl_body bodies[REFERENCE_BODIES];
    size_t n_boards, n_bodies;
    double watts[REFERENCE_BODIES];
    double ambient;                      /* K */
    double body_mean[REFERENCE_BODIES];  /* K, field solution */
    double board_mean[REFERENCE_BOARDS]; /* K */
    double face_mean[HL_FACES];          /* K */
    double face_heat[HL_FACES];          /* W */
} reference_box;

void reference_box_open(reference_box *box, const char *id);
void reference_box_close(reference_box *box);
/* An hl_heat with the box as context: constant power into its bodies, nothing elsewhere.
 * The network has `n` nodes in the order of hl_enclosure_by_rule. */
typedef struct reference_heat {
    const reference_box *box;
    size_t n;
    double factor;
} reference_heat;
void reference_box_heat(void *context, double time, const double temperature[], double power[],
                        double slope[]);

#endif
