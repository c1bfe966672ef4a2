/* check_inductor_cycle.c - the step by which a steady cycle is looked for.
 *
 * A wrong step often leads to the same cycle, only later: no figure of a stage tells. */
#include "../../plugins/stages/inductor_search.h"

#include "lottery.h"
#include "story.h"

/* Three equations in three unknowns, and a singular matrix refused. */
START_TEST(three_equations_are_solved)
{
    lottery luck = lottery_open("three equations");
    double m[3][3], wanted[3], f[3], x[3];
    for (int run = 0; run < 1000; run++) {
        for (int i = 0; i < 3; i++) {
            wanted[i] = lottery_between(&luck, -2, 2);
            for (int j = 0; j < 3; j++) m[i][j] = lottery_between(&luck, -1, 1) + 3 * (i == j);
        }
        for (int i = 0; i < 3; i++) f[i] = m[i][0] * wanted[0] + m[i][1] * wanted[1] + m[i][2] * wanted[2];
        ck_assert(solve_three(m, f, x));
        for (int i = 0; i < 3; i++) ck_near(x[i], wanted[i], 0, 1e-12);
    }
    for (int j = 0; j < 3; j++) m[2][j] = 0;
    ck_assert(!solve_three(m, f, x));
}
END_TEST

/* ------------------------------------------------------------- circuits -- */

/* A stage with a period of one, 0.5 to 2 V and A: on | dead time | off | dead time, one way in the dead times
 * and, unless `reverses`, while off. */
static void draw_stage(lottery *luck, bool boosts, bool reverses, inductor_cycle *c)
{
    double input = lottery_between(luck, 0.5, 2), ratio = lottery_between(luck, 0.1, 0.9), dead = 0.01;
    double output = boosts ? input / ratio : input * ratio, load = lottery_scale(luck, 0.05, 2);
    double series = lottery_scale(luck, 1e-4, 0.03) * input / fmax(load, load / ratio), drop = 0.02 * input;
    bool soft = lottery_below(luck, 3) > 0;
    *c = (inductor_cycle){
        .output = {.inductance = lottery_scale(luck, 0.1, 5) * input * ratio * (1 - ratio) / load,
                   .elastance = soft ? output / load * lottery_scale(luck, 1e-3, 0.2) : 0.0,
                   .esr = soft ? output / load * lottery_scale(luck, 1e-4, 0.02) : 0.0,
                   .load = load},
        .voltage = output,
        .control_limit = 0.95};
    inductor_path on = {input, series, !boosts, 1};
    inductor_path off = {boosts ? input : 0.0, series, true, 2};
    inductor_path body = {off.source - drop, series, true, 4};
    inductor_path back = {input + drop, series, !boosts, 8};
    gate_state states[4] = {{on, on, true, 0, 1},
                            {body, back, false, dead, 0},
                            {off, back, reverses, 1 - 2 * dead, -1},
                            {body, back, false, dead, 0}};
    c->states = 4;
    for (int k = 0; k < 4; k++) c->state[k] = states[k];
}

/* The current rests, starts or turns at another place: no derivative spans that. */
static bool same_kind(const inductor_cycle *a, const inductor_cycle *b)
{
    if (a->spans != b->spans) return false;
    for (size_t k = 0; k < a->spans; k++)
        if (a->span[k].idle != b->span[k].idle || a->span[k].path.who != b->span[k].path.who) return false;
    return true;
}

/* What Newton's steps go by: wrong, they lead to the same cycle, only later or not at all. */
START_TEST(the_matrix_of_the_steps_holds_derivatives)
{
    lottery luck = lottery_open("cycle matrix");
    int looked = 0, rested = 0;
    for (int run = 0; run < 3000; run++) {
        inductor_cycle c, beside[2];
        draw_stage(&luck, run % 2, run % 3 == 0, &c);
        double x[3] = {lottery_between(&luck, 0.05, 0.9), lottery_between(&luck, -0.5, 2) * c.output.load,
                       c.voltage * lottery_between(&luck, 0.8, 1.2)};
        double f[3], m[3][3], g[2][3], unused[3][3];
        if (run % 5 == 0) x[1] = 0.0;
        if (run % 7 == 0) { /* the period is the control */
            c.state[0].base = x[0];
            c.state[0].rate = 0;
            c.state[2].base = -x[0];
            c.state[2].rate = 1;
            x[0] += lottery_between(&luck, 0.1, 3);
        }
        cycle_walk w = walk_cycle(&c, x[0], x[1], x[2]);
        cycle_equations(&c, &w, x[1], x[2], f, m);
        for (int k = x[1] == 0.0 ? 2 : 0; k < 3; k++) {
            double step = 1e-6, there[3] = {x[0], x[1], x[2]};
            for (int side = 0; side < 2; side++) {
                there[k] = x[k] + (side ? step : -step);
                beside[side] = c;
                w = walk_cycle(&beside[side], there[0], there[1], there[2]);
                cycle_equations(&beside[side], &w, there[1], there[2], g[side], unused);
            }
            if (!same_kind(&beside[0], &c) || !same_kind(&beside[1], &c)) continue;
            for (int side = 0; side < 2; side++) /* of the area: over the period as it is */
                if (c.output.elastance > 0.0) g[side][2] *= beside[side].period / c.period;
            for (int i = 0; i < 3; i++) ck_near(m[i][k], (g[1][i] - g[0][i]) / (2 * step), 1e-6, 1e-6);
            looked++;
            rested += c.spans > 4;
        }
    }
    ck_assert_int_gt(looked, 5000);
    ck_assert_int_gt(rested, 1000);
}
END_TEST

/* The last step moves the spans instead of walking them anew: they are those of a walk all the same. */
START_TEST(a_found_cycle_is_as_if_walked)
{
    lottery luck = lottery_open("cycle shifted");
    int rested = 0;
    for (int run = 0; run < 600; run++) {
        inductor_cycle c;
        draw_stage(&luck, run % 2, run % 3 == 0, &c);
        ck_assert(cycle_settle(&c, 0.5, c.output.load, c.voltage));
        double nearly = 1.0 + 3e-8 * lottery_between(&luck, -1, 1);
        ck_assert(cycle_newton(&c, c.control * nearly, c.current * nearly, c.capacitor * nearly));
        ck_assert_uint_eq(c.steps, 1);
        inductor_cycle walked = c;
        cycle_walk w = walk_cycle(&walked, c.control, c.current, c.capacitor);
        double size = fabs(c.current) + c.output.load, slope = 10 * c.voltage / c.output.inductance;
        ck_near(w.i, c.current, 0, 1e-12 * (size + slope));
        ck_near(w.charge, 0, 0, 1e-12 * (size + slope));
        ck_near(c.period, walked.period, 1e-14, 0);
        if (!same_kind(&c, &walked)) continue; /* on the very border between two */
        for (size_t k = 0; k < c.spans; k++) {
            const inductor_span *a = &c.span[k], *b = &walked.span[k];
            ck_near(a->duration, b->duration, 0, 1e-12);
            ck_near(a->i0, b->i0, 0, 1e-12 * (size + slope));
            ck_near(a->i1, b->i1, 0, 1e-12 * (size + slope));
            ck_near(a->v0, b->v0, 0, 1e-12 * c.voltage);
            ck_near(a->v1, b->v1, 0, 1e-12 * c.voltage);
            ck_near(a->law.slope, b->law.slope, 0, 1e-12 * slope);
            ck_near(a->slope1, b->slope1, 0, 1e-12 * slope);
            rested += a->stops;
        }
    }
    ck_assert_int_gt(rested, 100);
}
END_TEST

/* Wherever the search begins, it ends at the same cycle and refuses none: what the stages guess only saves
 * steps. */
START_TEST(a_cycle_is_found_from_anywhere)
{
    lottery luck = lottery_open("cycle from anywhere");
    for (int run = 0; run < 200; run++) {
        inductor_cycle c;
        double first = 0.0;
        draw_stage(&luck, run % 2, run % 3 == 0, &c);
        for (int from = 0; from < 10; from++) {
            double control = from ? lottery_scale(&luck, 1e-3, 0.95) : 0.5;
            double current = from ? lottery_between(&luck, -2, 4) * c.output.load : c.output.load;
            double capacitor = from ? c.voltage * lottery_between(&luck, 0.7, 1.3) : c.voltage;
            ck_assert_msg(cycle_settle(&c, control, current, capacitor), "run %d: none found from %g, %g A",
                          run, control, current);
            if (!from) first = c.control;
            ck_near(c.control, first, 1e-9, 0);
        }
        c.output.elastance = c.output.esr = 0.0; /* the bracketed search, for itself */
        ck_assert(cycle_settle(&c, 0.5, c.output.load, c.voltage));
        first = c.control;
        for (int from = 0; from < 2; from++) {
            ck_assert_msg(cycle_search(&c, from ? 0.9 : 0.02, from ? 5 * c.output.load : 0.0),
                          "run %d: not found", run);
            ck_near(c.control, first, 1e-9, 0);
        }
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, three_equations_are_solved);
    tcase_add_test(tests, the_matrix_of_the_steps_holds_derivatives);
    tcase_add_test(tests, a_found_cycle_is_as_if_walked);
    tcase_add_test(tests, a_cycle_is_found_from_anywhere);
}

int main(void)
{
    return story_main("inductor cycle", fill);
}
