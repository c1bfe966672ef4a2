/* check_beside.c - a point begins beside a line that is solved already when that leads better, and its answer
 * is the same. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#include "cli/session.h"
#include "story.h"

enum { POINTS = 8, LINES = 4 };

typedef struct grid {
    session opened;
    const hl_design *design;
    hl_workspace *work;
    double *settings;
    size_t load, ambient;
    hl_start *point[LINES][POINTS], *next;
} grid;

static void grid_open(grid *g)
{
    char script[512];
    snprintf(script, sizeof script, "%s/examples/desk_charger/charger.lua", HL_PROJECT_SOURCE);
    const session_options options = {.script = script, .quiet = true};
    ck_assert(session_open(&g->opened, &options));
    g->design = g->opened.bound->design;
    g->settings = g->opened.bound->settings;
    g->work = g->opened.bound->workspace;
    g->load = hl_design_find_setting(g->design, "load", NULL);
    g->ambient = hl_design_find_setting(g->design, "ambient.temperature", NULL);
    g->settings[hl_design_find_setting(g->design, "pfc.switch.on_resistance", NULL)] *= 1.6;
    for (int j = 0; j < LINES; j++)
        for (int k = 0; k < POINTS; k++) ck_assert_ptr_nonnull(g->point[j][k] = hl_start_create(g->design));
    ck_assert_ptr_nonnull(g->next = hl_start_create(g->design));
}

static void grid_close(grid *g)
{
    for (int j = 0; j < LINES; j++)
        for (int k = 0; k < POINTS; k++) hl_start_destroy(g->point[j][k]);
    hl_start_destroy(g->next);
    session_close(&g->opened);
}

/* Lines over ambient, one for each load. Rounds of all but the first, and the input of every point. */
static unsigned walk(grid *g, bool beside, double input[LINES][POINTS])
{
    unsigned rounds = 0;
    for (int j = 0; j < LINES; j++)
        for (int k = 0; k < POINTS; k++) {
            const hl_start *past[POINTS], *other[POINTS + 1];
            g->settings[g->load] = 0.6 + 0.06 * j;
            g->settings[g->ambient] = 275.15 + 5 * k;
            for (int i = 0; i < k; i++) past[i] = g->point[j][k - 1 - i];
            for (int i = 0; i <= k && j; i++) other[i] = g->point[j - 1][k - i];
            size_t n = (size_t)k, m = j && beside ? n + 1 : 0;
            bool led = hl_start_beside(g->next, past, n, other, m);
            ck_assert(led == (k > 0));
            ck_assert_int_eq(hl_solve_from(g->work, g->settings, led ? g->next : NULL), HL_OK);
            ck_assert(hl_start_take(g->point[j][k], g->work));
            input[j][k] = hl_result_power(g->work)->input;
            if (j) rounds += hl_result_power(g->work)->passes;
        }
    return rounds;
}

START_TEST(a_line_beside_another_takes_fewer_rounds)
{
    grid g = {.load = 0};
    double alone[LINES][POINTS], beside[LINES][POINTS];
    grid_open(&g);
    unsigned by_itself = walk(&g, false, alone), together = walk(&g, true, beside);
    ck_assert_msg(together < by_itself, "%u rounds beside another line, %u alone", together, by_itself);
    for (int j = 0; j < LINES; j++)
        for (int k = 0; k < POINTS; k++) ck_near(beside[j][k], alone[j][k], 1e-9, 0);
    grid_close(&g);
}
END_TEST

/* One that is empty leads nowhere, and those behind it neither. */
START_TEST(an_empty_start_ends_the_line)
{
    grid g = {.load = 0};
    double input[LINES][POINTS];
    grid_open(&g);
    const hl_start *none[] = {g.next}, *empty = hl_start_create(g.design);
    ck_assert(!hl_start_beside(g.next, none, 0, NULL, 0));
    walk(&g, true, input);
    const hl_start *past[] = {g.point[1][1], g.point[1][0]}, *gone[] = {empty, g.point[0][1], g.point[0][0]};
    ck_assert(hl_start_beside(g.next, past, 2, gone, 3));
    past[0] = empty;
    ck_assert(!hl_start_beside(g.next, past, 2, gone, 3));
    hl_start_destroy((hl_start *)empty);
    grid_close(&g);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_line_beside_another_takes_fewer_rounds);
    tcase_add_test(tests, an_empty_start_ends_the_line);
}

int main(void)
{
    return story_main("beside", fill);
}
