/* check_board_quarters.c - a board by rule has four quarters: as far apart as a heated strip says, and
 * without a jump where a part passes the middle. */
#include "rule_box.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "story.h"

/* Halves of a plate of a x b m, the heated one less the other, K: by the joints that the rules lay between
 * the quarters of a board of that size, each quarter losing `loss` W/(m^2 K) to the ambient.  `along` says
 * which halves: 1 W goes evenly into the two quarters at that axis's low end. */
static double halves_apart(double a, double b, int along, double loss)
{
    hl_box box = rule_box_plain();
    hl_board board = rule_box_board();
    hl_body body = rule_box_body("part", 0.03, 0.025, 0.005);
    for (int k = 0; k < 2; k++) {
        box.size[k] = 0.01 + (k ? b : a);
        board.high[k] = board.low[k] + (k ? b : a);
    }
    body.low[0] = board.low[0], body.high[0] = board.low[0] + 0.005;
    body.low[1] = board.low[1], body.high[1] = board.low[1] + 0.005;
    rule_box of_rules, s = {.room = {300, hl_air_pressure(0)}, .nodes = 5};
    rule_box_build(&of_rules, &box, 1, &board, 1, &body, 300);
    s.network = hl_network_create();
    for (int i = 0; i < 5; i++) hl_network_add_node(s.network, i < 4 ? rule_box_quarter[i] : "board", 1);
    for (int i = 0; i < 5; i++)
        for (int k = i + 1; k < 5; k++) {
            double joint = rule_box_conductance(of_rules.network, hl_network_node_name(s.network, i),
                                                hl_network_node_name(s.network, k));
            hl_network_add_link(s.network, &(hl_link){i, k, HL_LAW_FIXED, 0, {joint, 0, 0, 0}});
        }
    for (int i = 0; i < 4; i++) {
        hl_link lost = {i, HL_AMBIENT, HL_LAW_FIXED, 0, {0.25 * loss * a * b, 0, 0, 0}};
        hl_network_add_link(s.network, &lost);
        s.watts[i] = i >> along & 1 ? 0 : 0.5;
    }
    for (int i = 0; i < 5; i++) s.temperature[i] = 300;
    s.work = hl_network_work_create(s.network);
    rule_box_solve(&s);
    double apart = 0;
    for (int i = 0; i < 4; i++) apart += (i >> along & 1 ? -0.5 : 0.5) * s.temperature[i];
    double mean = 0;
    for (int i = 0; i < 4; i++) mean += 0.25 * s.temperature[i];
    ck_near(s.temperature[4], mean, 0, 1e-8); /* the board's name: the mean of its quarters */
    rule_box_release(&s);
    rule_box_release(&of_rules);
    return apart;
}

/* A strip of length L and sheet S = k t W/K, insulated at its ends, losing h, is heated by q W/m^2 on one
 * half. Of q = q/2 + (+-q/2) the second part makes the halves differ: with the middle at rest each is a fin
 * with an insulated tip (S T'' = h T - q/2; Incropera & DeWitt section 3.6), whose mean is q/(2 h) (1 - tanh
 * x / x), x = L/2 sqrt(h / S).  Quarters tell q/(2 h) / (1 + pi^2 / (4 x^2)): never less, and at most 12/pi^2
 * of it, when nothing is lost. */
START_TEST(halves_of_a_board_differ_as_those_of_a_heated_strip)
{
    static const double sides[][2] = {{0.084, 0.040}, {0.05, 0.05}, {0.03, 0.09}};
    static const double losses[] = {0.5, 5, 12, 25, 60, 200};
    const double sheet = 20 * 0.0016; /* of rule_box_board */
    double most = 0;
    for (int size = 0; size < 3; size++)
        for (int along = 0; along < 2; along++)
            for (int k = 0; k < 6; k++) {
                double a = sides[size][0], b = sides[size][1], length = along ? b : a;
                double x = 0.5 * length * sqrt(losses[k] / sheet);
                double strip = 2 / (a * b) / losses[k] * (1 - tanh(x) / x);
                double share = halves_apart(a, b, along, losses[k]) / strip;
                ck_assert_msg(share > 0.999 && share < 1.2159,
                              "%g x %g, loss %g, along %d: %.4f of the strip's", a, b, losses[k], along,
                              share);
                most = fmax(most, share);
            }
    printf("halves of a board differ by %.1f %% more than a strip's at most\n", 100 * (most - 1));
}
END_TEST

/* Heat at one end warms that end, wherever the part stands, without a jump where it passes the middle: no
 * step moves more than twice what the whole change shares out over the part's width. */
START_TEST(a_part_warms_its_own_end_of_the_board)
{
    hl_box box = rule_box_plain();
    hl_board board = rule_box_board();
    double before = 0, first = 0;
    for (int step = 0; step <= 240; step++) {
        hl_body body = rule_box_body("part", 0.010 + 0.25e-3 * step, 0.012, 0.008);
        rule_box s;
        rule_box_build(&s, &box, 1, &board, 1, &body, 300);
        ck_assert_str_eq(hl_network_node_name(s.network, (int)s.nodes - 4), rule_box_quarter[0]);
        s.watts[0] = 3;
        rule_box_solve(&s);
        const double *quarter = s.temperature + s.nodes - 4;
        double apart = quarter[0] - quarter[1];
        if (step == 0) first = apart;
        ck_assert_double_gt(first, 10);
        if (step == 240) ck_near(apart, -first, 0.05, 0);
        ck_assert_double_gt(quarter[0], quarter[2]);
        if (step > 0) ck_near(apart, before, 0, 2 * first * 2 / (0.008 / 0.25e-3));
        before = apart;
        rule_box_release(&s);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, halves_of_a_board_differ_as_those_of_a_heated_strip);
    tcase_add_test(tests, a_part_warms_its_own_end_of_the_board);
}

int main(void)
{
    return story_main("quarters of a board", fill);
}
