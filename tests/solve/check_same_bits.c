/* check_same_bits.c - a point's answer depends on its settings alone: first or after others, in one thread or
 * in two at once, the same bits; and solving takes no memory.  On the parts of the desk charger, with every
 * item on one heat spreader. */
#include <math.h>
#include <pthread.h>
#include <string.h>

#include "scarce_memory.h"
#include "spreader_charger.h"
#include "story.h"

enum { FIGURES_MAX = 4000, LAPS = 3 };

/* ---------------------------------------------------------------- answers -- */

/* Everything a solved point says, as bits. */
typedef struct answer {
    size_t n;
    double figure[FIGURES_MAX];
} answer;

static void say(answer *a, double figure)
{
    if (a->n < FIGURES_MAX) a->figure[a->n] = figure;
    a->n++;
}

static void read_answer(const hl_design *design, const hl_workspace *work, answer *a)
{
    const hl_power_figures *f = hl_result_power(work);
    const double whole[] = {f->input,           f->output,         f->loss,
                            f->power_imbalance, f->heat_imbalance, hl_result_feedback_gain(work, NULL),
                            f->input_current,   f->passes};
    memset(a, 0, sizeof *a);
    for (size_t i = 0; i < sizeof whole / sizeof *whole; i++) say(a, whole[i]);
    for (size_t i = 0; i < hl_design_items(design); i++) {
        say(a, hl_result_item_temperature(work, i));
        for (int m = 0; m < HL_MECHANISMS; m++) say(a, hl_result_loss(work, i, (hl_mechanism)m));
    }
    for (size_t s = 0; s < hl_design_stages(design); s++)
        for (size_t q = 0; q < hl_result_quantities(work, s); q++)
            say(a, hl_result_quantity(work, s, q)->value);
    for (size_t i = 0; i < hl_design_nodes(design); i++) say(a, hl_result_node_temperature(work, i));
}

static bool solve(hl_workspace *work, const double settings[])
{
    return hl_solve(work, settings) == HL_OK && hl_result_outcome(work) == HL_SOLVED;
}

/* Each point first in a workspace of its own. */
static void solve_alone(const charger *c, answer alone[POINTS])
{
    for (size_t p = 0; p < POINTS; p++) {
        hl_workspace *work = hl_workspace_create(c->design);
        ck_assert_ptr_nonnull(work);
        bool solved = solve(work, c->point[p]);
        ck_assert_msg(solved, "point %zu: %s", p, hl_result_reason(work));
        read_answer(c->design, work, &alone[p]);
        ck_assert_uint_lt(alone[p].n, FIGURES_MAX);
        hl_workspace_destroy(work);
    }
}

static bool same_answer(const answer *a, const answer *b)
{
    return a->n == b->n && !memcmp(a->figure, b->figure, a->n * sizeof a->figure[0]);
}

/* The k-th point of a lap: another order each time, and each point at least once after itself. */
static size_t nth(size_t lap, size_t k)
{
    static const size_t stride[LAPS] = {1, 5, 11};
    return k / 2 * stride[lap] % POINTS;
}

/* ------------------------------------------------------------------ tests -- */

START_TEST(a_point_is_the_same_whatever_came_before)
{
    charger *c = charger_begin();
    static answer alone[POINTS], now;
    solve_alone(c, alone);
    hl_workspace *work = hl_workspace_create(c->design);
    for (size_t lap = 0; lap < LAPS; lap++)
        for (size_t k = 0; k < 2 * POINTS; k++) {
            size_t p = nth(lap, k);
            ck_assert(solve(work, c->point[p]));
            read_answer(c->design, work, &now);
            ck_assert_msg(same_answer(&now, &alone[p]), "lap %zu, step %zu: point %zu differs", lap, k, p);
        }
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

START_TEST(points_that_differ_give_other_answers)
{
    charger *c = charger_begin();
    static answer alone[POINTS];
    solve_alone(c, alone);
    for (size_t p = 0; p < POINTS; p++)
        for (size_t q = 0; q < p; q++) ck_assert_msg(!same_answer(&alone[p], &alone[q]), "%zu and %zu", p, q);
    charger_end(c);
}
END_TEST

/* A failed point must leave nothing behind either. */
START_TEST(a_point_after_an_impossible_one_is_the_same)
{
    charger *c = charger_begin();
    static answer alone[POINTS], now;
    static double wrong[SETTINGS_MAX];
    solve_alone(c, alone);
    hl_workspace *work = hl_workspace_create(c->design);
    size_t mains = hl_design_find_setting(c->design, "mains.voltage", NULL),
           load = hl_design_find_setting(c->design, "load", NULL);
    for (size_t p = 0; p < POINTS; p++) {
        memcpy(wrong, c->point[p], sizeof wrong);
        wrong[mains] = p % 2 ? 5 : 230; /* too little to live on; or a hundredfold load */
        wrong[load] = p % 2 ? 1 : 100;
        ck_assert(!solve(work, wrong));
        ck_assert(solve(work, c->point[p]));
        read_answer(c->design, work, &now);
        ck_assert_msg(same_answer(&now, &alone[p]), "point %zu differs", p);
    }
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

typedef struct walker {
    const charger *charger;
    const answer *alone;
    hl_workspace *work;  /* given up at the end */
    size_t first, wrong; /* where it starts; how many answers differed */
    answer now;
} walker;

static void *walk(void *argument)
{
    walker *w = argument;
    const charger *c = w->charger;
    for (size_t k = 0; k < LAPS * POINTS; k++) {
        size_t p = (w->first + k * 7) % POINTS;
        bool solved = solve(w->work, c->point[p]);
        read_answer(c->design, w->work, &w->now);
        w->wrong += !solved || !same_answer(&w->now, &w->alone[p]);
    }
    hl_workspace_destroy(w->work);
    return NULL;
}

/* `shared`: what one has learnt of the design is there for all, and who learns it is left to chance. */
static void walk_at_once(const charger *c, const answer alone[POINTS], bool shared)
{
    enum { WALKERS = 3 };
    static walker walkers[WALKERS];
    pthread_t thread[WALKERS];
    for (size_t i = 0; i < WALKERS; i++) {
        walkers[i] = (walker){.charger = c, .alone = alone, .first = i * 5};
        walkers[i].work =
            shared && i ? hl_workspace_beside(walkers[i - 1].work) : hl_workspace_create(c->design);
        ck_assert_ptr_nonnull(walkers[i].work);
    }
    for (size_t i = 0; i < WALKERS; i++)
        ck_assert_int_eq(pthread_create(&thread[i], NULL, walk, &walkers[i]), 0);
    for (size_t i = 0; i < WALKERS; i++) pthread_join(thread[i], NULL);
    for (size_t i = 0; i < WALKERS; i++) ck_assert_uint_eq(walkers[i].wrong, 0);
}

START_TEST(threads_at_once_give_the_same)
{
    charger *c = charger_begin();
    static answer alone[POINTS];
    solve_alone(c, alone);
    walk_at_once(c, alone, false);
    walk_at_once(c, alone, true);
    charger_end(c);
}
END_TEST

/* What the first has learnt stays when the first is gone, and what the second learns is its own affair. */
START_TEST(a_workspace_outlives_the_one_it_stands_beside)
{
    charger *c = charger_begin();
    static answer alone[POINTS], now;
    solve_alone(c, alone);
    hl_workspace *first = hl_workspace_create(c->design);
    ck_assert(solve(first, c->point[1]));
    hl_workspace *second = hl_workspace_beside(first);
    ck_assert_ptr_nonnull(second);
    hl_workspace_destroy(first);
    for (size_t p = 0; p < POINTS; p++) {
        ck_assert(solve(second, c->point[p]));
        read_answer(c->design, second, &now);
        ck_assert_msg(same_answer(&now, &alone[p]), "point %zu differs", p);
    }
    hl_workspace_destroy(second);
    charger_end(c);
}
END_TEST

/* A start that has learnt leads any workspace to the same bits, whatever that has solved before. */
START_TEST(a_learnt_start_leads_all_alike)
{
    charger *c = charger_begin();
    hl_workspace *work = hl_workspace_create(c->design);
    hl_start *start = hl_start_create(c->design);
    const size_t moving[] = {hl_design_find_setting(c->design, "ambient.temperature", NULL)};
    const double step[] = {0.1};
    static answer now, fresh;
    c->point[0][hl_design_find_setting(c->design, "load", NULL)] = 0.9;
    ck_assert(solve(work, c->point[0]) && hl_start_take(start, work));
    ck_assert(hl_start_learn(start, work, moving, step, 1));
    hl_workspace *other = hl_workspace_create(c->design);
    for (size_t k = 0; k < 60; k++) {
        c->point[0][moving[0]] = 298.15 + pow(10, 0.1 * (double)k - 5);
        ck_assert_int_eq(hl_solve_from(work, c->point[0], start), HL_OK);
        read_answer(c->design, work, &now);
        ck_assert_int_eq(hl_solve_from(other, c->point[0], start), HL_OK);
        read_answer(c->design, other, &fresh);
        ck_assert_msg(same_answer(&now, &fresh), "%.2g K on", c->point[0][moving[0]] - 298.15);
    }
    hl_workspace_destroy(other);
    hl_start_destroy(start);
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

START_TEST(solving_takes_no_memory)
{
    if (!scarce_memory_works()) return;
    charger *c = charger_begin();
    scarce_memory_begin(-1);
    hl_workspace *work = hl_workspace_create(c->design);
    ck_assert_int_gt(scarce_memory_end(), 0); /* the count counts */
    for (size_t p = 0; p < POINTS; p++) {
        scarce_memory_begin(-1);
        bool solved = solve(work, c->point[p]);
        long asked = scarce_memory_end();
        ck_assert(solved);
        ck_assert_msg(asked == 0, "point %zu took memory %ld times", p, asked);
    }
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

/* Begun from any other point the answer is the same to the tolerance of solving, 1e-9 of a power and of a
 * temperature; and begun from the same one, to the bit, whatever the workspace did in between. */
START_TEST(a_start_changes_the_way_not_the_answer)
{
    charger *c = charger_begin();
    hl_workspace *work = hl_workspace_create(c->design), *other = hl_workspace_create(c->design);
    hl_start *start = hl_start_create(c->design);
    static answer cold, warm, again;
    ck_assert(!hl_start_take(start, work));
    for (size_t from = 0; from < POINTS; from++) {
        ck_assert(solve(work, c->point[from]));
        ck_assert(hl_start_take(start, work));
        for (size_t to = 0; to < POINTS; to++) {
            ck_assert(solve(work, c->point[to]));
            read_answer(c->design, work, &cold);
            ck_assert_int_eq(hl_solve_from(other, c->point[to], start), HL_OK);
            ck_assert_int_eq(hl_result_outcome(other), HL_SOLVED);
            read_answer(c->design, other, &warm);
            for (size_t k = 0; k < 3; k++) ck_near(warm.figure[k], cold.figure[k], 1e-9, 0);
            ck_assert_double_le(fabs(warm.figure[3]), 1e-9 * cold.figure[0]);
            for (size_t i = 0; i < hl_design_nodes(c->design); i++)
                ck_near(hl_result_node_temperature(other, i), hl_result_node_temperature(work, i), 1e-9, 0);
            ck_assert_int_eq(hl_solve_from(work, c->point[to], start), HL_OK);
            read_answer(c->design, work, &again);
            ck_assert(again.n == warm.n && !memcmp(again.figure, warm.figure, sizeof warm.figure));
        }
    }
    hl_start_destroy(start);
    hl_workspace_destroy(other);
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

static void expect_same_point(const charger *c, hl_workspace *work, hl_workspace *other,
                              const hl_start *start, const double settings[])
{
    static answer cold, warm;
    ck_assert(solve(work, settings));
    read_answer(c->design, work, &cold);
    ck_assert_int_eq(hl_solve_from(other, settings, start), HL_OK);
    ck_assert_int_eq(hl_result_outcome(other), HL_SOLVED);
    read_answer(c->design, other, &warm);
    for (size_t k = 0; k < 3; k++) ck_near(warm.figure[k], cold.figure[k], 1e-9, 0);
    ck_assert_double_le(fabs(warm.figure[3]), 1e-10 * cold.figure[0]);
    for (size_t i = 0; i < hl_design_nodes(c->design); i++)
        ck_near(hl_result_node_temperature(other, i), hl_result_node_temperature(work, i), 1e-9, 0);
}

/* Starts that know how the point moves, and such between and beyond others, lead to the same answers, and
 * sooner. */
START_TEST(a_start_may_learn_and_be_blended)
{
    charger *c = charger_begin();
    hl_workspace *work = hl_workspace_create(c->design), *other = hl_workspace_create(c->design);
    hl_start *start = hl_start_create(c->design), *far = hl_start_create(c->design),
             *blend = hl_start_create(c->design), *empty = hl_start_create(c->design);
    size_t load = hl_design_find_setting(c->design, "load", NULL);
    const size_t moving[] = {hl_design_find_setting(c->design, "ambient.temperature", NULL),
                             hl_design_find_setting(c->design, "mains.voltage", NULL)};
    const double step[] = {0.1, 0.1};
    ck_assert(!hl_start_learn(empty, work, moving, step, 2));
    c->point[0][load] = 0.9; /* not the design as it stands, which asks for no derivative */
    ck_assert(solve(work, c->point[0]));
    unsigned cold = hl_result_power(work)->passes;
    ck_assert(hl_start_take(start, work));
    ck_assert(hl_start_learn(start, work, moving, step, 2));
    c->point[0][moving[0]] += 5;
    c->point[0][moving[1]] -= 8;
    expect_same_point(c, work, other, start, c->point[0]);
    ck_assert_uint_le(hl_result_power(other)->passes, cold + 1);
    c->point[0][load] = 0.85;
    ck_assert(solve(work, c->point[0]) && hl_start_take(far, work));
    c->point[0][load] = 0.86;
    ck_assert(solve(work, c->point[0]) && hl_start_take(start, work));
    const hl_start *const line[] = {start, far}, *const broken[] = {start, empty};
    const double beyond[] = {2, -1};
    ck_assert(!hl_start_blend(blend, broken, beyond, 2));
    ck_assert(hl_start_blend(blend, line, beyond, 2));
    c->point[0][load] = 0.87;
    expect_same_point(c, work, other, blend, c->point[0]);
    hl_start *starts[] = {start, far, blend, empty};
    for (size_t k = 0; k < sizeof starts / sizeof *starts; k++) hl_start_destroy(starts[k]);
    hl_workspace_destroy(other);
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

/* Along a line of fine steps most points end with their first round, since what ends foretold lack is known
 * from neighbours: with the powers and temperatures that more rounds would give, and quantities but for 1e-7.
 */
START_TEST(a_line_ends_sooner_at_the_same)
{
    enum { LINE = 16, PAST = 6 };
    charger *c = charger_begin();
    hl_workspace *work = hl_workspace_create(c->design), *other = hl_workspace_create(c->design);
    hl_start *past[PAST], *next = hl_start_create(c->design), *blend = hl_start_create(c->design);
    for (size_t k = 0; k < PAST; k++) past[k] = hl_start_create(c->design);
    size_t load = hl_design_find_setting(c->design, "load", NULL);
    unsigned rounds = 0;
    static answer first, last;
    ck_assert(!hl_start_onward(blend, (const hl_start *const *)past, 0));
    for (size_t p = 0; p < LINE; p++) {
        c->point[0][load] = 0.6 + 0.01 * (double)p;
        bool led = hl_start_onward(blend, (const hl_start *const *)past, p < PAST ? p : PAST);
        ck_assert(led == (p > 0));
        ck_assert_int_eq(hl_solve_from(work, c->point[0], led ? blend : NULL), HL_OK);
        ck_assert_int_eq(hl_result_outcome(work), HL_SOLVED);
        rounds += hl_result_power(work)->passes;
        read_answer(c->design, work, &first);
        ck_assert(hl_start_take(next, work));
        hl_start *oldest = past[PAST - 1];
        memmove(past + 1, past, (PAST - 1) * sizeof past[0]);
        past[0] = next, next = oldest;
        for (size_t k = 0; k < 4; k++) {
            ck_assert_int_eq(hl_solve_from(other, c->point[0], k ? next : past[0]), HL_OK);
            ck_assert(hl_start_take(next, other));
        }
        read_answer(c->design, other, &last);
        for (size_t k = 0; k < 3; k++) ck_near(first.figure[k], last.figure[k], 1e-9, 0);
        ck_assert_double_le(fabs(first.figure[3]), 1e-10 * first.figure[0]);
        ck_assert_double_le(fabs(first.figure[4]), 1e-9 * first.figure[2]);
        for (size_t i = 0; i < hl_design_nodes(c->design); i++)
            ck_near(hl_result_node_temperature(work, i), hl_result_node_temperature(other, i), 1e-9, 0);
        for (size_t k = 8; k < first.n; k++) ck_near(first.figure[k], last.figure[k], 1e-7, 1e-7);
    }
    ck_assert_uint_lt(rounds, 7 * LINE / 4); /* cold, they take two each */
    hl_start_destroy(next);
    hl_start_destroy(blend);
    for (size_t k = 0; k < PAST; k++) hl_start_destroy(past[k]);
    hl_workspace_destroy(other);
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

/* Rounds end when what is still to come is little, and a last correction foresees that: so more rounds, begun
 * where the answer stands, may change nothing but the last digits. Losses of single parts, where a part in
 * 1e9 of the power is much, to 2e-8. */
START_TEST(more_rounds_change_nothing)
{
    charger *c = charger_begin();
    hl_workspace *work = hl_workspace_create(c->design);
    hl_start *start = hl_start_create(c->design);
    static answer first, last;
    for (size_t p = 0; p < POINTS; p++) {
        ck_assert(solve(work, c->point[p]));
        read_answer(c->design, work, &first);
        for (size_t k = 0; k < 4; k++) {
            ck_assert(hl_start_take(start, work));
            ck_assert_int_eq(hl_solve_from(work, c->point[p], start), HL_OK);
        }
        read_answer(c->design, work, &last);
        for (size_t k = 0; k < 3; k++) ck_near(first.figure[k], last.figure[k], 1e-9, 0);
        ck_assert_double_le(fabs(first.figure[3]), 1e-10 * first.figure[0]);
        ck_assert_double_le(fabs(first.figure[4]), 1e-9 * first.figure[2]);
        ck_assert_uint_eq(first.n, last.n);
        for (size_t k = 8; k < first.n; k++) ck_near(first.figure[k], last.figure[k], 2e-8, 1e-7);
    }
    hl_start_destroy(start);
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

/* What anchors know of a round leaves a thousandth of a miss: two rounds or three a point, some more far out.
 * With a poor derivative the answer is the same after more rounds, so only their number tells. */
START_TEST(few_rounds_make_a_point)
{
    charger *c = charger_begin();
    hl_workspace *work = hl_workspace_create(c->design);
    unsigned rounds = 0;
    for (size_t p = 0; p < POINTS; p++) {
        ck_assert(solve(work, c->point[p]));
        rounds += hl_result_power(work)->passes;
    }
    ck_assert_uint_le(rounds, 45); /* 41 */
    hl_workspace_destroy(work);
    charger_end(c);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_start_may_learn_and_be_blended);
    tcase_add_test(tests, more_rounds_change_nothing);
    tcase_add_test(tests, few_rounds_make_a_point);
    tcase_add_test(tests, a_line_ends_sooner_at_the_same);
    tcase_add_test(tests, a_start_changes_the_way_not_the_answer);
    tcase_add_test(tests, a_point_is_the_same_whatever_came_before);
    tcase_add_test(tests, points_that_differ_give_other_answers);
    tcase_add_test(tests, a_point_after_an_impossible_one_is_the_same);
    tcase_add_test(tests, threads_at_once_give_the_same);
    tcase_add_test(tests, a_workspace_outlives_the_one_it_stands_beside);
    tcase_add_test(tests, a_learnt_start_leads_all_alike);
    tcase_add_test(tests, solving_takes_no_memory);
}

int main(void)
{
    return story_main("same bits", fill);
}
