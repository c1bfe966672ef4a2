/* check_told.c - an end that is foretold tells its quantities and mechanisms where it is, not where the last
 * round left them; quantities when they are first read. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/session.h"
#include "solve/workspace.h"
#include "story.h"

enum { POINTS = 32, PAST = 6, SETTLING = 3 };

typedef struct line {
    session opened;
    const hl_design *design;
    double *settings;
    size_t knob; /* the setting that goes up */
    double from, step;
    hl_workspace *work, *settled;
    hl_start *past[PAST], *next, *own;
} line;

static void line_open(line *l, const char *knob, double from, double step)
{
    char script[512];
    snprintf(script, sizeof script, "%s/examples/desk_charger/charger.lua", HL_PROJECT_SOURCE);
    const session_options options = {.script = script, .quiet = true};
    ck_assert(session_open(&l->opened, &options));
    l->design = l->opened.bound->design;
    l->settings = l->opened.bound->settings;
    l->work = l->opened.bound->workspace;
    l->settled = hl_workspace_create(l->design);
    l->from = from;
    l->step = step;
    l->knob = hl_design_find_setting(l->design, knob, NULL);
    for (int k = 0; k < PAST; k++) ck_assert_ptr_nonnull(l->past[k] = hl_start_create(l->design));
    ck_assert((l->next = hl_start_create(l->design)) && (l->own = hl_start_create(l->design)) && l->settled);
}

static void line_close(line *l)
{
    for (int k = 0; k < PAST; k++) hl_start_destroy(l->past[k]);
    hl_start_destroy(l->next);
    hl_start_destroy(l->own);
    hl_workspace_destroy(l->settled);
    session_close(&l->opened);
}

/* The k-th point, led to by those before it; and the same until nothing moves. */
static void solve_both(line *l, size_t k)
{
    l->settings[l->knob] = l->from + l->step * (double)k;
    bool led = hl_start_onward(l->next, (const hl_start *const *)l->past, k < PAST ? k : PAST);
    ck_assert_int_eq(hl_solve_from(l->work, l->settings, led ? l->next : NULL), HL_OK);
    ck_assert(hl_start_take(l->own, l->work));
    for (int s = 0; s < SETTLING; s++) {
        ck_assert_int_eq(hl_solve_from(l->settled, l->settings, l->own), HL_OK);
        ck_assert(hl_start_take(l->own, l->settled));
    }
    hl_start *oldest = l->past[PAST - 1];
    memmove(l->past + 1, l->past, (PAST - 1) * sizeof l->past[0]);
    l->past[0] = oldest;
    ck_assert(hl_start_take(oldest, l->work));
}

/* Squares of what figures are off from those of the settled point, as shares. */
typedef struct off {
    double left, now; /* as the round left them; as they are told */
} off;

static double square_off(double figure, double settled)
{
    double share = settled != 0 ? figure / settled - 1 : 0;
    return share * share;
}

/* Of one stage whose quantities the round left as `left`. */
static void add_stage(const line *l, size_t stage, const hl_quantity left[], off *sum)
{
    for (size_t q = 0; q < hl_result_quantities(l->work, stage); q++) {
        double settled = hl_result_quantity(l->settled, stage, q)->value;
        double now = hl_result_quantity(l->work, stage, q)->value;
        sum->left += square_off(left[q].value, settled);
        sum->now += square_off(now, settled);
        ck_assert_double_le(sqrt(square_off(now, settled)), 1e-6);
        ck_assert_double_eq(now, hl_result_quantity(l->work, stage, q)->value); /* not moved twice */
    }
}

static void add_quantities(const line *l, off *sum)
{
    size_t stages = hl_design_stages(l->design);
    hl_quantity(*left)[HL_QUANTITIES_MAX] = calloc(stages, sizeof *left);
    ck_assert_ptr_nonnull(left);
    for (size_t s = 0; s < stages; s++) /* before anybody has read one */
        memcpy(left[s], l->work->stages[s].out.quantity, sizeof *left);
    for (size_t s = 0; s < stages; s++) add_stage(l, s, left[s], sum);
    free(left);
}

/* What a line of points leaves, as a share of what their rounds did. */
static double told_along(line *l)
{
    off sum = {0, 0};
    unsigned moved = 0;
    for (size_t k = 0; k < POINTS; k++) {
        solve_both(l, k);
        if (!*l->work->bench.untold) continue; /* it was as good as settled, or took another round */
        moved++;
        add_quantities(l, &sum);
    }
    ck_assert_uint_gt(moved, 8);
    line_close(l);
    return sqrt(sum.now / sum.left);
}

START_TEST(quantities_are_told_where_the_point_ended)
{
    line l;
    line_open(&l, "load", 0.8, 0.012);
    ck_assert_double_lt(told_along(&l), 0.02); /* 0.011 of it */
}
END_TEST

/* Slopes were learnt with the parts as described, and are fitted to others. */
START_TEST(quantities_of_other_parts_are_told_as_well)
{
    static const struct {
        const char *setting;
        double times;
    } other[] = {{"pfc.switch.on_resistance", 1.5},
                 {"pfc.boost_inductor.dc_resistance", 0.7},
                 {"llc.rectifier.on_resistance", 2},
                 {"llc.switch.on_resistance", 0.6}};
    line l;
    line_open(&l, "mains.voltage", 200, 1.5);
    for (size_t k = 0; k < sizeof other / sizeof *other; k++)
        l.settings[hl_design_find_setting(l.design, other[k].setting, NULL)] *= other[k].times;
    ck_assert_double_lt(told_along(&l), 0.05); /* 0.023 of it; 0.13 by slopes as they were learnt */
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, quantities_are_told_where_the_point_ended);
    tcase_add_test(tests, quantities_of_other_parts_are_told_as_well);
}

int main(void)
{
    return story_main("told", fill);
}
