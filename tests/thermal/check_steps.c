/* check_steps.c - steps from one answer of a network to the next (thermal/repeat.h) against balances that are
 * found without them. */
#include "heatledger/thermal.h"
#include "thermal/repeat.h"

#include "story.h"

#include <math.h>
#include <string.h>

enum { HOT, BOARD, CASE, NODES };

/* A part on a board in a case: a layer of air, a lying and an upright plate, radiation. */
static hl_network *part_in_a_case(void)
{
    static const hl_link links[] = {
        {HOT, BOARD, HL_LAW_FIXED, 0, {0.05, 0, 0, 0}},
        {HOT, CASE, HL_LAW_GAP, HL_FACING_UP, {1e-3, 0.02, 0.03, 0}},
        {BOARD, CASE, HL_LAW_GAP, HL_VERTICAL, {8e-3, 4e-3, 0.06, 0}},
        {BOARD, CASE, HL_LAW_RADIATION, 0, {8e-3, 0.8, 0, 0}},
        {CASE, HL_AMBIENT, HL_LAW_NATURAL, HL_VERTICAL, {0.012, 0.05, 0, 0}},
        {CASE, HL_AMBIENT, HL_LAW_NATURAL, HL_FACING_UP, {6e-3, 0.02, 0, 0}},
        {CASE, HL_AMBIENT, HL_LAW_RADIATION, 0, {0.018, 0.9, 0, 0}},
    };
    hl_network *network = hl_network_create();
    ck_assert_ptr_nonnull(network);
    ck_assert_int_eq(hl_network_add_node(network, "hot", 1), HOT);
    ck_assert_int_eq(hl_network_add_node(network, "board", 1), BOARD);
    ck_assert_int_eq(hl_network_add_node(network, "case", 1), CASE);
    for (size_t k = 0; k < sizeof links / sizeof links[0]; k++)
        ck_assert_int_ge(hl_network_add_link(network, &links[k]), 0);
    return network;
}

typedef struct watts {
    double at[NODES], slope[NODES]; /* at 330 K; W/K */
} watts;

static void linear(void *context, double time, const double temperature[], double power[], double slope[])
{
    const watts *w = context;
    (void)time;
    for (int i = 0; i < NODES; i++) {
        power[i] = w->at[i] + w->slope[i] * (temperature[i] - 330);
        slope[i] = w->slope[i];
    }
}

static const hl_surroundings room = {298.15, 101325};

static void balance(const hl_network *network, const hl_surroundings *around, watts *heat,
                    double temperature[])
{
    hl_network_work *work = hl_network_work_create(network);
    ck_assert_ptr_nonnull(work);
    for (int i = 0; i < NODES; i++) temperature[i] = 330;
    ck_assert_int_eq(hl_network_steady(work, around, linear, heat, temperature), HL_OK);
    hl_network_work_destroy(work);
}

static double furthest(const double a[], const double b[])
{
    double most = 0;
    for (int i = 0; i < NODES; i++) most = fmax(most, fabs(a[i] - b[i]));
    return most;
}

/* A step of `away`, K at the hottest node, then more steps as heat changes by next to nothing, and once by
 * more; each ends at the balance, and the gain `asked` there is that of a network not seen before. */
static void follow(double away, int asked)
{
    hl_network *network = part_in_a_case();
    watts heat = {{1.2, 0.6, 0}, {4e-3, 1e-3, 0}};
    double at[NODES], expected[NODES];
    balance(network, &room, &heat, at);
    hl_network_work *work = hl_network_work_create(network), *other = hl_network_work_create(network);
    ck_assert(work && other);
    for (int i = 0; i < NODES; i++) at[i] += away * (1 - 0.4 * i);
    ck_assert(network_step(work, &room, linear, &heat, at));
    for (int k = 0; k < 4; k++) {
        heat.at[HOT] += k < 3 ? 4e-9 : 1e-5;
        heat.at[BOARD] -= 2e-9;
        balance(network, &room, &heat, expected);
        ck_assert(network_step(work, &room, linear, &heat, at));
        ck_assert_msg(furthest(at, expected) <= 1e-9, "%g K away, step %d: off by %g K", away, k,
                      furthest(at, expected));
        ck_assert(network_holds(work, &room, at, heat.slope));
        if (k != asked) continue;
        double gain = hl_network_gain(other, &room, at, heat.slope, NULL);
        ck_assert_double_eq_tol(network_gain_near(work, &room, at, heat.slope, NULL, NULL), gain,
                                2e-9 * gain);
    }
    hl_network_work_destroy(work);
    hl_network_work_destroy(other);
    hl_network_destroy(network);
}

START_TEST(steps_follow_heat_to_its_balance)
{
    static const double away[] = {0, 1e-8, 1e-6, 9e-6, 1e-4, 3e-4, 1e-3, 1e-2};
    for (size_t k = 0; k < sizeof away / sizeof away[0]; k++)
        for (int asked = 0; asked < 4; asked++) follow(away[k], asked);
}
END_TEST

/* Nothing that is known of a step's end, or of the links, is carried to other surroundings. */
START_TEST(other_surroundings_are_seen)
{
    static const hl_surroundings others[] = {{298.150001, 101325}, {298.15, 101324.9}};
    for (size_t k = 0; k < sizeof others / sizeof others[0]; k++) {
        hl_network *network = part_in_a_case();
        watts heat = {{1.2, 0.6, 0}, {4e-3, 1e-3, 0}};
        double at[NODES], expected[NODES];
        balance(network, &room, &heat, at);
        balance(network, &others[k], &heat, expected);
        hl_network_work *work = hl_network_work_create(network);
        ck_assert_ptr_nonnull(work);
        ck_assert(network_step(work, &room, linear, &heat, at));
        ck_assert(network_step(work, &others[k], linear, &heat, at));
        ck_assert_double_le(furthest(at, expected), 1e-9);
        hl_network_work_destroy(work);
        hl_network_destroy(network);
    }
}
END_TEST

enum {
    MANY = 600
}; /* beyond what is factored as a small network, where nodes that share no link share nothing */

/* 1 W at each node, but at the first as told. */
static void mostly_one(void *context, double time, const double temperature[], double power[], double slope[])
{
    (void)time, (void)temperature;
    for (int i = 0; i < MANY; i++) {
        power[i] = i == 0 ? *(const double *)context : 1;
        slope[i] = 0;
    }
}

/* What is no number at one node is no step, though the other nodes' steps are nothing. */
START_TEST(heat_that_is_no_number_is_no_step)
{
    hl_network *network = hl_network_create();
    ck_assert_ptr_nonnull(network);
    double at[MANY], first = 1;
    for (int i = 0; i < MANY; i++) {
        ck_assert_int_eq(hl_network_add_node(network, "node", 1), i);
        ck_assert_int_ge(
            hl_network_add_link(network, &(hl_link){i, HL_AMBIENT, HL_LAW_FIXED, 0, {0.1, 0, 0, 0}}), 0);
        at[i] = room.temperature + 10;
    }
    hl_network_work *work = hl_network_work_create(network);
    ck_assert_ptr_nonnull(work);
    ck_assert(network_step(work, &room, mostly_one, &first, at));
    first = NAN;
    ck_assert(!network_step(work, &room, mostly_one, &first, at));
    for (int i = 0; i < MANY; i++) ck_assert_double_eq_tol(at[i], room.temperature + 10, 1e-9);
    hl_network_work_destroy(work);
    hl_network_destroy(network);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, steps_follow_heat_to_its_balance);
    tcase_add_test(tests, other_surroundings_are_seen);
    tcase_add_test(tests, heat_that_is_no_number_is_no_step);
}

int main(void)
{
    return story_main("steps", fill);
}
