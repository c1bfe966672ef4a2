/* check_field_refusals.c - boxes that a field cannot be of: refused with their name. */
#include "solved_field.h"

#include <math.h>
#include <string.h>

#include "story.h"

START_TEST(what_is_no_box_is_refused_with_its_name)
{
    for (int wrong = 0; wrong < 14; wrong++) {
        hl_field_board board;
        hl_field_block block;
        hl_field_box box = plain_field_box(&board, &block);
        hl_field_film film = {.below = HL_FIELD_SHELL, .above = 0, .axis = 2, .thickness = 1e-4};
        if (wrong == 0) block.conductivity[1] = NAN;
        if (wrong == 1) block.high[0] = 1;
        if (wrong == 2) board.normal = 3;
        if (wrong == 3) box.shell = 0.02;
        if (wrong == 4) box.sides[0].length = 0;
        if (wrong == 8) block.high[0] = block.low[0] + 0.9e-7; /* thinner than any solid */
        if (wrong == 9) block.low[0] = -1e-8;
        if (wrong == 10) box.sides[2].covered = 1.01;
        if (wrong == 11) box.sides[2].covered = NAN;
        if (wrong == 12) box.sides[2].cover = -1;
        if (wrong == 13) box.sides[2].cover = NAN;
        if (wrong == 5)
            for (int face = 0; face < HL_FACES; face++) box.sides[face].law = HL_FIELD_ADIABATIC;
        if (wrong == 6 || wrong == 7) {
            int solids = (int)(box.n_boards + box.n_blocks);
            box.films = &film;
            box.n_films = 1;
            if (wrong == 6) film.below = solids; /* they are numbered from 0 */
            if (wrong == 7) film.above = solids;
        }
        hl_diagnostics *messages = hl_diagnostics_create();
        ck_assert_ptr_null(hl_field_create(&box, messages));
        ck_assert_uint_ge(hl_diagnostics_errors(messages), 1);
        hl_diagnostics_destroy(messages);
    }
}
END_TEST

/* So many parts that their edges alone are too many planes: said as that, not as want of memory. */
START_TEST(crowded_box_is_refused_with_its_cells)
{
    enum { PARTS = 40 };
    hl_field_board board;
    hl_field_block block, parts[PARTS];
    hl_field_box box = plain_field_box(&board, &block);
    for (int i = 0; i < PARTS; i++) {
        parts[i] = block;
        for (int axis = 0; axis < 3; axis++) {
            parts[i].low[axis] = 0.003 + 0.0002 * ((i * (7 + 4 * axis)) % PARTS) + 1e-5 * axis;
            parts[i].high[axis] = parts[i].low[axis] + 0.00531;
        }
    }
    box.blocks = parts;
    box.n_blocks = PARTS;
    hl_diagnostics *messages = hl_diagnostics_create();
    ck_assert_ptr_null(hl_field_create(&box, messages));
    ck_assert_uint_eq(hl_diagnostics_count(messages), 1);
    ck_assert_msg(strstr(hl_diagnostics_text(messages, 0), "cells") != NULL, "%s",
                  hl_diagnostics_text(messages, 0));
    hl_diagnostics_destroy(messages);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, what_is_no_box_is_refused_with_its_name);
    tcase_add_test(tests, crowded_box_is_refused_with_its_cells);
}

int main(void)
{
    return story_main("refusals of a field", fill);
}
