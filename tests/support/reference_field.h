/* reference_field.h - the field-solved boxes of tests/reference/box_open.json as grids know them. */
#ifndef REFERENCE_FIELD_H
#define REFERENCE_FIELD_H

#include "heatledger/field.h"

#include "reference_case.h"

enum { FIELD_BODIES = 32, FIELD_BOARDS = 8, FIELD_ZONES = 32 };

typedef struct reference_field {
    json_t *root, *one_case;
    hl_field_box box;
    hl_field_board boards[FIELD_BOARDS];
    hl_field_block blocks[FIELD_BODIES], spreaders[FIELD_BODIES];
    hl_field_zone zones[FIELD_BOARDS][FIELD_ZONES];
} reference_field;

extern const char *const reference_face_name[HL_FACES];

void reference_field_open(reference_field *field, const char *id);
void reference_field_close(reference_field *field);
/* K: outputs.<format> of the case, which is in degrees Celsius. */
double reference_field_answer(const reference_field *field, const char *format, const char *name);
/* The estimate of its own error that goes with it. */
double reference_field_doubt(const reference_field *field, const char *format, const char *name);

#endif
