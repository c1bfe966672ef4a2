#include "solved_field.h"

#include <string.h>

#include "story.h"

void solved_field_make(solved_field *s, const hl_field_box *box)
{
    memset(s, 0, sizeof *s);
    hl_diagnostics *messages = hl_diagnostics_create();
    s->field = hl_field_create(box, messages);
    ck_assert_msg(s->field != NULL, "%s",
                  hl_diagnostics_count(messages) ? hl_diagnostics_text(messages, 0) : "no message");
    hl_diagnostics_destroy(messages);
    s->work = hl_field_work_create(s->field);
    ck_assert_ptr_nonnull(s->work);
    hl_field_facts_of(s->field, &s->facts);
    s->bodies = hl_field_bodies(s->field);
    ck_assert_uint_le(s->bodies, FIELD_BODIES);
    for (size_t i = 0; i < box->n_blocks; i++) s->power[i] = box->blocks[i].heat;
}

void solved_field_solve(solved_field *s, const hl_surroundings *room)
{
    ck_assert_int_eq(hl_field_solve(s->work, room, s->power, NULL, NULL, s->mean), HL_OK);
    hl_field_spots(s->work, s->hottest, s->faces);
}

void solved_field_drop(solved_field *s)
{
    hl_field_work_destroy(s->work);
    hl_field_destroy(s->field);
}

hl_field_box plain_field_box(hl_field_board *board, hl_field_block *block)
{
    *board = (hl_field_board){.name = "board",
                              .low = {0.005, 0.005, 0.006},
                              .high = {0.035, 0.035, 0.0076},
                              .normal = 2,
                              .conductivity_in = 20,
                              .conductivity_through = 0.3,
                              .density_heat = 2e6,
                              .emissivity = 0.9};
    *block = (hl_field_block){.name = "part",
                              .low = {0.015, 0.015, 0.0076},
                              .high = {0.025, 0.025, 0.0116},
                              .conductivity = {3, 3, 3},
                              .density_heat = 3e6,
                              .emissivity = 0.9,
                              .heat = 1.5,
                              .contact = 1e-4,
                              .on = 0};
    hl_field_box box = {.size = {0.04, 0.04, 0.02},
                        .shell = 0.002,
                        .shell_conductivity = 0.2,
                        .shell_density_heat = 1.4e6,
                        .shell_emissivity = 0.9,
                        .fill_conductivity = 0.027,
                        .fill_density_heat = 1200,
                        .still = true,
                        .n_boards = 1,
                        .n_blocks = 1,
                        .boards = board,
                        .blocks = block,
                        .surroundings = {298.15, 101325},
                        .fineness = 0.7};
    for (int face = 0; face < HL_FACES; face++)
        box.sides[face] = (hl_field_side){HL_FIELD_NATURAL, HL_VERTICAL, 0.02, 0, 0.9, 0, 0, 0, 0};
    box.sides[HL_FACE_Z0].orientation = HL_FACING_DOWN;
    box.sides[HL_FACE_Z1].orientation = HL_FACING_UP;
    box.sides[HL_FACE_Z0].length = box.sides[HL_FACE_Z1].length = 0.01;
    return box;
}
