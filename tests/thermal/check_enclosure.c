/* check_enclosure.c - the rule-of-thumb box against field solutions, and what must hold for any box. */
#include "heatledger/thermal.h"

#include "lottery.h"
#include "reference_box.h"
#include "rule_box.h"
#include "story.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* -------------------------------------------------------- field solutions -- */

/* What rules reach on the field-solved boxes (tests/reference/box_open.json), in percent of the rise over the
 * ambient: root mean square over parts, boards and faces, and the worst part.  These are the accuracies
 * measured when the rules were written, rounded up; a rule network is a first look. */
/* clang-format off */
static const struct {
    const char *id;
    double parts, boards, faces, worst_part;
} accuracy[] = {
    /*            parts boards faces worst */
    {"BX01",       7,    4,     4.5, 13},   /* brick, air */
    {"BX02",       9,    7.5,   6.5, 21.5}, /* the same potted: small cold parts read hot */
    {"BX06",       6.5,  2,     4,   14},   /* on its end */
    {"BX07",       7,    5.5,   5.5, 11},   /* cube */
    {"BX10",       8.5,  9.5,   8,   12.5}, /* slim on a table */
    {"BX13",       9,    6.5,  14,   22},   /* slim potted */
    {"BX15",       6.5,  4.5,   4.5, 12.5}, /* as the first, copper in layers */
};
/* clang-format on */

typedef struct deviation {
    double square, worst;
    size_t n;
} deviation;

static void count(deviation *d, double rule, double field, double ambient)
{
    double off = 100 * (rule - field) / (field - ambient);
    d->square += off * off;
    d->worst = fmax(d->worst, fabs(off));
    d->n++;
}

static double root_mean(const deviation *d)
{
    return sqrt(d->square / (double)d->n);
}

START_TEST(rules_reach_their_stated_accuracy_on_field_solved_boxes)
{
    reference_box b;
    rule_box s;
    deviation parts = {0}, boards = {0}, faces = {0};
    reference_box_open(&b, accuracy[_i].id);
    rule_box_build(&s, &b.box, b.n_boards, b.boards, b.n_bodies, b.bodies, b.ambient);
    memcpy(s.watts, b.watts, sizeof b.watts);
    rule_box_solve(&s);
    for (size_t i = 0; i < b.n_bodies; i++) count(&parts, s.temperature[i], b.body_mean[i], b.ambient);
    for (size_t i = 0; i < b.n_boards; i++)
        count(&boards, s.temperature[b.n_bodies + i], b.board_mean[i], b.ambient);
    for (size_t f = 0; f < HL_FACES; f++)
        count(&faces, s.temperature[b.n_bodies + b.n_boards + 1 + f], b.face_mean[f], b.ambient);
    ck_assert_msg(root_mean(&parts) <= accuracy[_i].parts, "%s: parts %.2f %%", b.bodies[0].name,
                  root_mean(&parts));
    ck_assert_msg(root_mean(&boards) <= accuracy[_i].boards, "boards %.2f %%", root_mean(&boards));
    ck_assert_msg(root_mean(&faces) <= accuracy[_i].faces, "faces %.2f %%", root_mean(&faces));
    ck_assert_msg(parts.worst <= accuracy[_i].worst_part, "worst part %.2f %%", parts.worst);
    double total = 0;
    for (size_t i = 0; i < b.n_bodies; i++) total += b.watts[i];
    ck_near(rule_box_heat_out(&s), total, 1e-9, 0);
    rule_box_release(&s);
    reference_box_close(&b);
}
END_TEST

/* ------------------------------------------------------------- properties -- */

START_TEST(mirrored_box_gives_mirrored_temperatures)
{
    for (int potted = 0; potted < 2; potted++) {
        hl_box box = rule_box_plain();
        box.potted = potted;
        hl_board board = rule_box_board();
        hl_body bodies[] = {rule_box_body("left", 0.02, 0.025, 0.01),
                            rule_box_body("right", 0.06, 0.025, 0.01)};
        rule_box s;
        rule_box_build(&s, &box, 1, &board, 2, bodies, 300);
        s.watts[0] = s.watts[1] = 1.5;
        rule_box_solve(&s);
        ck_near(s.temperature[0], s.temperature[1], 0, 1e-8);
        for (size_t f = 4; f < 8; f += 2) ck_near(s.temperature[f], s.temperature[f + 1], 0, 1e-8);
        ck_assert_str_eq(hl_network_node_name(s.network, 2), "board");
        ck_assert_str_eq(hl_network_node_name(s.network, 3), potted ? "fill" : "inner air");
        ck_assert_str_eq(hl_network_node_name(s.network, 4), "face x0");
        ck_assert_str_eq(hl_network_node_name(s.network, 9), "face z1");
        rule_box_release(&s);
    }
}
END_TEST

static void random_bodies(lottery *draw, hl_body bodies[], double watts[], size_t n)
{
    for (size_t i = 0; i < n; i++) {
        bodies[i] = rule_box_body("part", lottery_between(draw, 0.015, 0.065),
                                  lottery_between(draw, 0.015, 0.035), lottery_between(draw, 0.003, 0.014));
        bodies[i].board_resistance = lottery_below(draw, 3) == 0 ? 0 : lottery_between(draw, 0.1, 30);
        if (lottery_below(draw, 3) == 0) {
            bodies[i].pad_face = HL_FACE_Z1;
            bodies[i].pad_resistance = lottery_between(draw, 1, 20);
        }
        watts[i] = lottery_between(draw, 0, 2);
    }
}

static hl_box random_box(lottery *draw)
{
    hl_box box = rule_box_plain();
    box.potted = lottery_below(draw, 2) == 1;
    box.up = (hl_face)lottery_below(draw, HL_FACES);
    box.covered[HL_FACE_Z0] = lottery_between(draw, 0, 1);
    box.cover_conductance = lottery_between(draw, 0, 10);
    box.air_speed = lottery_below(draw, 2) == 1 ? 0 : lottery_between(draw, 0, 3);
    box.wall_conductivity = lottery_between(draw, 0.15, 5);
    return box;
}

static void warm_one_box(lottery *draw, int round)
{
    hl_body bodies[6];
    rule_box s;
    double first[RULE_BOX_NODES], watts[6];
    hl_box box = random_box(draw);
    hl_board board = rule_box_board();
    random_bodies(draw, bodies, watts, 6);
    rule_box_build(&s, &box, 1, &board, 6, bodies, lottery_between(draw, 260, 330));
    memcpy(s.watts, watts, sizeof watts);
    rule_box_solve(&s);
    memcpy(first, s.temperature, sizeof first);
    size_t warmed = lottery_below(draw, 6);
    s.watts[warmed] += lottery_between(draw, 0.001, 1);
    rule_box_solve(&s);
    for (size_t i = 0; i < s.nodes; i++)
        ck_assert_msg(s.temperature[i] >= first[i] - 1e-9,
                      "HL_TEST_SEED=%llu round %d: '%s' cooled by %g K when part %zu took more", draw->seed,
                      round, hl_network_node_name(s.network, (int)i), first[i] - s.temperature[i], warmed);
    double total = 0;
    for (size_t i = 0; i < s.nodes; i++) total += s.watts[i];
    ck_near(rule_box_heat_out(&s), total, 1e-9, 0);
    memcpy(first, s.temperature, sizeof first);
    s.room.temperature += 5;
    rule_box_solve(&s);
    for (size_t i = 0; i < s.nodes; i++)
        ck_assert_msg(s.temperature[i] > first[i], "HL_TEST_SEED=%llu round %d: '%s' cooled in a warmer room",
                      draw->seed, round, hl_network_node_name(s.network, (int)i));
    rule_box_release(&s);
}

START_TEST(more_heat_or_a_warmer_room_never_cools_any_node)
{
    lottery draw = lottery_open("check_enclosure");
    for (int round = 0; round < 200; round++) warm_one_box(&draw, round);
}
END_TEST

START_TEST(thin_air_runs_hotter_and_a_blanket_hotter_still)
{
    hl_box box = rule_box_plain();
    hl_board board = rule_box_board();
    hl_body body = rule_box_body("part", 0.03, 0.025, 0.01);
    rule_box s;
    rule_box_build(&s, &box, 1, &board, 1, &body, 300);
    s.watts[0] = 4;
    rule_box_solve(&s);
    double low_land = s.temperature[0];
    s.room.pressure = hl_air_pressure(4000);
    rule_box_solve(&s);
    double high_land = s.temperature[0];
    rule_box_release(&s);
    box.covered[HL_FACE_Z0] = box.covered[HL_FACE_Z1] = 1;
    box.cover_conductance = 1;
    rule_box_build(&s, &box, 1, &board, 1, &body, 300);
    s.watts[0] = 4;
    rule_box_solve(&s);
    ck_assert(high_land > low_land + 1 && s.temperature[0] > high_land + 5);
    rule_box_release(&s);
}
END_TEST

/* K/W of the fixed links between a part and a place; of a board that is its quarters. */
static double part_resistance(const hl_body *body, const char *place)
{
    hl_box box = rule_box_plain();
    hl_board board = rule_box_board();
    rule_box s;
    rule_box_build(&s, &box, 1, &board, 1, body, 300);
    double conductance = rule_box_conductance(s.network, "part", place);
    for (int k = 0; k < 4 && !strcmp(place, "board"); k++)
        conductance += rule_box_conductance(s.network, "part", rule_box_quarter[k]);
    rule_box_release(&s);
    return 1 / conductance;
}

/* A part's figures begin at its hot spot, so what its block is made of counts only where it states none: then
 * L / (3 k A), from the mean of an evenly heated block to one side (Carslaw & Jaeger 1959, slab with heat
 * produced within).  What the board spreads and the wall under a pad are outside the part and stay. */
START_TEST(stated_resistances_hold_the_inside_of_a_part)
{
    const double size = 0.01, kind[] = {0.5, 2, 400};
    hl_body body = rule_box_body("part", 0.03, 0.025, size);
    body.pad_face = HL_FACE_Z1;
    body.pad_resistance = 5;
    for (int i = 0; i < 3; i++) {
        double inside = size / (3 * kind[i] * size * size);
        body.conductivity = kind[i];
        body.board_resistance = body.case_resistance = 0;
        double spreading = part_resistance(&body, "board") - inside - 2e-4 / (size * size);
        double spot = part_resistance(&body, "face z1") - inside - 5;
        body.board_resistance = 4;
        body.case_resistance = 3;
        ck_near(part_resistance(&body, "board"), 4 + spreading, 1e-12, 0);
        ck_near(part_resistance(&body, "face z1"), 8 + spot, 1e-12, 0);
        /* t / (k A) of the wall, a wall wider all round; then from a patch as much wider as a fin reaches,
         * sqrt(k t / h) with h = 11 (Incropera & DeWitt, section 3.6), to the mean of the face */
        double patch = pow(0.01 + 2 * sqrt(0.2 * 0.002 / 11), 2);
        ck_near(spot, 0.002 / (0.2 * 0.014 * 0.014) + (1 / patch - 1 / (0.08 * 0.05)) / 11, 1e-12, 0);
        ck_assert_double_gt(spreading, 0);
    }
}
END_TEST

/* k A / d (Fourier): from the middle of a fill to a wall's inner side over half the box, and through a wall
 * over the mean of its two sides. */
START_TEST(layers_of_a_potted_box_conduct_by_area_over_depth)
{
    static const char *const face[] = {"face x0", "face x1", "face y0", "face y1", "face z0", "face z1"};
    hl_box box = rule_box_plain();
    hl_body body = rule_box_body("part", 0.03, 0.025, 0.01);
    box.potted = true;
    body.board = -1;
    rule_box s;
    rule_box_build(&s, &box, 0, NULL, 1, &body, 300);
    for (int f = 0; f < HL_FACES; f++) {
        int one = f / 2 == 0 ? 1 : 0, two = 3 - f / 2 - one;
        double a = box.size[one], b = box.size[two], w = 2 * box.wall;
        double within = (a - w) * (b - w), mean = 0.5 * (a * b + within);
        char inner[40];
        snprintf(inner, sizeof inner, "%s inside", face[f]);
        ck_near(rule_box_conductance(s.network, "fill", inner),
                box.fill_conductivity * within / (0.5 * box.size[f / 2]), 1e-12, 0);
        ck_near(rule_box_conductance(s.network, inner, face[f]), box.wall_conductivity * mean / box.wall,
                1e-12, 0);
    }
    rule_box_release(&s);
}
END_TEST

/* m^2 of the links of one law from the first body to a node. */
static double area_to(const hl_network *network, hl_law law, const char *node)
{
    double sum = 0;
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        if (link->a != 0 || link->b < 0 || link->law != law) continue;
        if (!strcmp(hl_network_node_name(network, link->b), node)) sum += link->p[law == HL_LAW_RADIATION];
    }
    return sum;
}

/* A cube of 10 mm far from the walls, with posts between its x1 side and the wall: each hides less than half.
 */
static void see_past(size_t posts, double open)
{
    hl_box box = rule_box_plain();
    hl_board board = rule_box_board();
    hl_body bodies[] = {rule_box_body("part", 0.025, 0.025, 0.01), rule_box_body("first", 0.045, 0.02, 0.01),
                        rule_box_body("second", 0.06, 0.025, 0.005),
                        rule_box_body("third", 0.06, 0.03, 0.01)};
    double sides[][2] = {{0.015, 0.024}, {0.022, 0.028}, {0.026, 0.03}}; /* of the posts along y, m */
    for (int i = 0; i < 3; i++) bodies[i + 1].low[1] = sides[i][0], bodies[i + 1].high[1] = sides[i][1];
    rule_box s;
    rule_box_build(&s, &box, 1, &board, posts + 1, bodies, 300);
    ck_near(area_to(s.network, HL_LAW_RADIATION, "face x1 inside"), open, 1e-12, 0);
    /* the air: this side, the two at y, the one at x0, the top */
    ck_near(area_to(s.network, HL_LAW_NATURAL, "inner air"), open + 4 * 1e-4, 1e-12, 0);
    rule_box_release(&s);
}

/* By hand, of 10 mm x 10 mm: the first hides 4 x 10, the second 6 x 5 of which 2 x 5 are hidden already, the
 * third the rest but 2 x 5 up to the top: 24 to 26 mm. */
START_TEST(what_stands_before_a_part_hides_the_wall)
{
    see_past(0, 1e-4);
    see_past(1, 6e-5);
    see_past(2, 4e-5);
    see_past(3, 1e-5);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, rules_reach_their_stated_accuracy_on_field_solved_boxes, 0,
                        (int)(sizeof accuracy / sizeof accuracy[0]));
    tcase_add_test(tests, mirrored_box_gives_mirrored_temperatures);
    tcase_add_test(tests, more_heat_or_a_warmer_room_never_cools_any_node);
    tcase_add_test(tests, thin_air_runs_hotter_and_a_blanket_hotter_still);
    tcase_add_test(tests, stated_resistances_hold_the_inside_of_a_part);
    tcase_add_test(tests, what_stands_before_a_part_hides_the_wall);
    tcase_add_test(tests, layers_of_a_potted_box_conduct_by_area_over_depth);
}

int main(void)
{
    return story_main("enclosure", fill);
}
