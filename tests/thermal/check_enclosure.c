/* check_enclosure.c - the rule-of-thumb box against field solutions, and what must hold for any box. */
#include "heatledger/thermal.h"

#include "lottery.h"
#include "reference_box.h"
#include "story.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { NODES = 64 };

/* --------------------------------------------------------------- fixture -- */

typedef struct solved_box {
    hl_network *network;
    hl_network_work *work;
    size_t nodes;
    hl_surroundings room;
    double temperature[NODES], watts[NODES];
} solved_box;

static void heat_of(void *context, double time, const double temperature[], double power[], double slope[])
{
    const solved_box *s = context;
    (void)time, (void)temperature;
    memcpy(power, s->watts, s->nodes * sizeof *power);
    memset(slope, 0, s->nodes * sizeof *slope);
}

static void build(solved_box *s, const hl_box *box, size_t n_boards, const hl_board boards[], size_t n_bodies,
                  const hl_body bodies[], double ambient)
{
    memset(s, 0, sizeof *s);
    hl_diagnostics *messages = hl_diagnostics_create();
    s->network = hl_network_create();
    hl_status status = hl_enclosure_by_rule(s->network, box, n_boards, boards, n_bodies, bodies, messages);
    ck_assert_msg(status == HL_OK, "%s", status == HL_OK ? "" : hl_diagnostics_text(messages, 0));
    ck_assert_int_eq(hl_network_check(s->network, messages), HL_OK);
    hl_diagnostics_destroy(messages);
    s->nodes = hl_network_nodes(s->network);
    ck_assert_uint_le(s->nodes, NODES);
    s->work = hl_network_work_create(s->network);
    s->room = (hl_surroundings){ambient, hl_air_pressure(0)};
    for (size_t i = 0; i < s->nodes; i++) s->temperature[i] = ambient;
}

static void solve(solved_box *s)
{
    ck_assert_int_eq(hl_network_steady(s->work, &s->room, heat_of, s, s->temperature), HL_OK);
}

static void release(solved_box *s)
{
    hl_network_work_destroy(s->work);
    hl_network_destroy(s->network);
}

static double heat_out(const solved_box *s)
{
    double flow[1024], out = 0;
    ck_assert_uint_le(hl_network_links(s->network), 1024);
    hl_network_flows(s->network, &s->room, s->temperature, flow);
    for (size_t k = 0; k < hl_network_links(s->network); k++) {
        const hl_link *link = hl_network_link(s->network, (int)k);
        out += link->b == HL_AMBIENT ? flow[k] : link->a == HL_AMBIENT ? -flow[k] : 0;
    }
    return out;
}

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
    solved_box s;
    deviation parts = {0}, boards = {0}, faces = {0};
    reference_box_open(&b, accuracy[_i].id);
    build(&s, &b.box, b.n_boards, b.boards, b.n_bodies, b.bodies, b.ambient);
    memcpy(s.watts, b.watts, sizeof b.watts);
    solve(&s);
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
    ck_near(heat_out(&s), total, 1e-9, 0);
    release(&s);
    reference_box_close(&b);
}
END_TEST

/* ------------------------------------------------------------- properties -- */

static hl_box plain_box(void)
{
    return (hl_box){.size = {0.08, 0.05, 0.03},
                    .wall = 0.002,
                    .wall_conductivity = 0.2,
                    .wall_density_heat = 1.4e6,
                    .emissivity_outside = 0.9,
                    .emissivity_inside = 0.9,
                    .fill_conductivity = 0.5,
                    .fill_density_heat = 1.5e6,
                    .up = HL_FACE_Z1};
}

static hl_board plain_board(void)
{
    return (hl_board){"board", {0.005, 0.005, 0.006}, {0.075, 0.045, 0.0076}, 20, 0.3, 2.1e6};
}

static hl_body plain_body(const char *name, double x, double y, double size)
{
    return (hl_body){.name = name,
                     .low = {x - size / 2, y - size / 2, 0.0076},
                     .high = {x + size / 2, y + size / 2, 0.0076 + size},
                     .conductivity = 2,
                     .board = 0,
                     .board_resistance = 2,
                     .pad_face = HL_FACES};
}

START_TEST(mirrored_box_gives_mirrored_temperatures)
{
    for (int potted = 0; potted < 2; potted++) {
        hl_box box = plain_box();
        box.potted = potted;
        hl_board board = plain_board();
        hl_body bodies[] = {plain_body("left", 0.02, 0.025, 0.01), plain_body("right", 0.06, 0.025, 0.01)};
        solved_box s;
        build(&s, &box, 1, &board, 2, bodies, 300);
        s.watts[0] = s.watts[1] = 1.5;
        solve(&s);
        ck_near(s.temperature[0], s.temperature[1], 0, 1e-8);
        for (size_t f = 4; f < 8; f += 2) ck_near(s.temperature[f], s.temperature[f + 1], 0, 1e-8);
        ck_assert_str_eq(hl_network_node_name(s.network, 2), "board");
        ck_assert_str_eq(hl_network_node_name(s.network, 3), potted ? "fill" : "inner air");
        ck_assert_str_eq(hl_network_node_name(s.network, 4), "face x0");
        ck_assert_str_eq(hl_network_node_name(s.network, 9), "face z1");
        release(&s);
    }
}
END_TEST

static void random_bodies(lottery *draw, hl_body bodies[], double watts[], size_t n)
{
    for (size_t i = 0; i < n; i++) {
        bodies[i] = plain_body("part", lottery_between(draw, 0.015, 0.065),
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
    hl_box box = plain_box();
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
    solved_box s;
    double first[NODES], watts[6];
    hl_box box = random_box(draw);
    hl_board board = plain_board();
    random_bodies(draw, bodies, watts, 6);
    build(&s, &box, 1, &board, 6, bodies, lottery_between(draw, 260, 330));
    memcpy(s.watts, watts, sizeof watts);
    solve(&s);
    memcpy(first, s.temperature, sizeof first);
    size_t warmed = lottery_below(draw, 6);
    s.watts[warmed] += lottery_between(draw, 0.001, 1);
    solve(&s);
    for (size_t i = 0; i < s.nodes; i++)
        ck_assert_msg(s.temperature[i] >= first[i] - 1e-9,
                      "HL_TEST_SEED=%llu round %d: '%s' cooled by %g K when part %zu took more", draw->seed,
                      round, hl_network_node_name(s.network, (int)i), first[i] - s.temperature[i], warmed);
    double total = 0;
    for (size_t i = 0; i < s.nodes; i++) total += s.watts[i];
    ck_near(heat_out(&s), total, 1e-9, 0);
    memcpy(first, s.temperature, sizeof first);
    s.room.temperature += 5;
    solve(&s);
    for (size_t i = 0; i < s.nodes; i++)
        ck_assert_msg(s.temperature[i] > first[i], "HL_TEST_SEED=%llu round %d: '%s' cooled in a warmer room",
                      draw->seed, round, hl_network_node_name(s.network, (int)i));
    release(&s);
}

START_TEST(more_heat_or_a_warmer_room_never_cools_any_node)
{
    lottery draw = lottery_open("check_enclosure");
    for (int round = 0; round < 200; round++) warm_one_box(&draw, round);
}
END_TEST

START_TEST(thin_air_runs_hotter_and_a_blanket_hotter_still)
{
    hl_box box = plain_box();
    hl_board board = plain_board();
    hl_body body = plain_body("part", 0.03, 0.025, 0.01);
    solved_box s;
    build(&s, &box, 1, &board, 1, &body, 300);
    s.watts[0] = 4;
    solve(&s);
    double low_land = s.temperature[0];
    s.room.pressure = hl_air_pressure(4000);
    solve(&s);
    double high_land = s.temperature[0];
    release(&s);
    box.covered[HL_FACE_Z0] = box.covered[HL_FACE_Z1] = 1;
    box.cover_conductance = 1;
    build(&s, &box, 1, &board, 1, &body, 300);
    s.watts[0] = 4;
    solve(&s);
    ck_assert(high_land > low_land + 1 && s.temperature[0] > high_land + 5);
    release(&s);
}
END_TEST

/* ----------------------------------------------------------------- errors -- */

static void expect_refusal(const hl_box *box, const hl_board *board, const hl_body *body, const char *words)
{
    hl_diagnostics *messages = hl_diagnostics_create();
    hl_network *network = hl_network_create();
    ck_assert_int_eq(hl_enclosure_by_rule(network, box, 1, board, 1, body, messages), HL_BAD_INPUT);
    ck_assert_uint_ge(hl_diagnostics_errors(messages), 1);
    ck_assert_msg(strstr(hl_diagnostics_text(messages, 0), words) != NULL, "'%s' lacks '%s'",
                  hl_diagnostics_text(messages, 0), words);
    hl_network_destroy(network);
    hl_diagnostics_destroy(messages);
}

START_TEST(wrong_geometry_is_refused_by_name)
{
    hl_box box = plain_box();
    hl_board board = plain_board();
    hl_body body = plain_body("bulk capacitor", 0.03, 0.025, 0.01);
    hl_box no_wall = box, no_size = box;
    no_wall.wall = 0.02;
    no_size.size[1] = NAN;
    expect_refusal(&no_wall, &board, &body, "wall");
    expect_refusal(&no_size, &board, &body, "box");
    hl_board outside = board;
    outside.high[0] = 0.09;
    expect_refusal(&box, &outside, &body, "'board'");
    hl_body tall = body, lost = body, odd = body;
    tall.high[2] = 0.04;
    expect_refusal(&box, &board, &tall, "'bulk capacitor': it reaches out of the box");
    lost.board = 3;
    expect_refusal(&box, &board, &lost, "'bulk capacitor': the board");
    odd.pad_resistance = NAN;
    expect_refusal(&box, &board, &odd, "'bulk capacitor'");
}
END_TEST

/* W/K of the links of fixed conductance between two nodes. */
static double conductance_between(const hl_network *network, const char *a, const char *b)
{
    double sum = 0;
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        if (link->law != HL_LAW_FIXED || link->a < 0 || link->b < 0) continue;
        const char *one = hl_network_node_name(network, link->a),
                   *two = hl_network_node_name(network, link->b);
        bool joins = (!strcmp(one, a) && !strcmp(two, b)) || (!strcmp(one, b) && !strcmp(two, a));
        if (joins) sum += link->p[0];
    }
    return sum;
}

static const char *const quarters[] = {"board x0 y0", "board x1 y0", "board x0 y1", "board x1 y1"};

/* K/W of the fixed links between a part and a place; of a board that is its quarters. */
static double part_resistance(const hl_body *body, const char *place)
{
    hl_box box = plain_box();
    hl_board board = plain_board();
    solved_box s;
    build(&s, &box, 1, &board, 1, body, 300);
    double conductance = conductance_between(s.network, "part", place);
    for (int k = 0; k < 4 && !strcmp(place, "board"); k++)
        conductance += conductance_between(s.network, "part", quarters[k]);
    release(&s);
    return 1 / conductance;
}

/* A part's figures begin at its hot spot, so what its block is made of counts only where it states none: then
 * L / (3 k A), from the mean of an evenly heated block to one side (Carslaw & Jaeger 1959, slab with heat
 * produced within).  What the board spreads and the wall under a pad are outside the part and stay. */
START_TEST(stated_resistances_hold_the_inside_of_a_part)
{
    const double size = 0.01, kind[] = {0.5, 2, 400};
    hl_body body = plain_body("part", 0.03, 0.025, size);
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
    hl_box box = plain_box();
    hl_body body = plain_body("part", 0.03, 0.025, 0.01);
    box.potted = true;
    body.board = -1;
    solved_box s;
    build(&s, &box, 0, NULL, 1, &body, 300);
    for (int f = 0; f < HL_FACES; f++) {
        int one = f / 2 == 0 ? 1 : 0, two = 3 - f / 2 - one;
        double a = box.size[one], b = box.size[two], w = 2 * box.wall;
        double within = (a - w) * (b - w), mean = 0.5 * (a * b + within);
        char inner[40];
        snprintf(inner, sizeof inner, "%s inside", face[f]);
        ck_near(conductance_between(s.network, "fill", inner),
                box.fill_conductivity * within / (0.5 * box.size[f / 2]), 1e-12, 0);
        ck_near(conductance_between(s.network, inner, face[f]), box.wall_conductivity * mean / box.wall,
                1e-12, 0);
    }
    release(&s);
}
END_TEST

/* ---------------------------------------------------------------- quarters -- */

/* Halves of a plate of a x b m, the heated one less the other, K: by the joints that the rules lay between
 * the quarters of a board of that size, each quarter losing `loss` W/(m^2 K) to the ambient.  `along` says
 * which halves: 1 W goes evenly into the two quarters at that axis's low end. */
static double halves_apart(double a, double b, int along, double loss)
{
    hl_box box = plain_box();
    hl_board board = plain_board();
    hl_body body = plain_body("part", 0.03, 0.025, 0.005);
    for (int k = 0; k < 2; k++) {
        box.size[k] = 0.01 + (k ? b : a);
        board.high[k] = board.low[k] + (k ? b : a);
    }
    body.low[0] = board.low[0], body.high[0] = board.low[0] + 0.005;
    body.low[1] = board.low[1], body.high[1] = board.low[1] + 0.005;
    solved_box of_rules, s = {.room = {300, hl_air_pressure(0)}, .nodes = 5};
    build(&of_rules, &box, 1, &board, 1, &body, 300);
    s.network = hl_network_create();
    for (int i = 0; i < 5; i++) hl_network_add_node(s.network, i < 4 ? quarters[i] : "board", 1);
    for (int i = 0; i < 5; i++)
        for (int k = i + 1; k < 5; k++) {
            double joint = conductance_between(of_rules.network, hl_network_node_name(s.network, i),
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
    solve(&s);
    double apart = 0;
    for (int i = 0; i < 4; i++) apart += (i >> along & 1 ? -0.5 : 0.5) * s.temperature[i];
    double mean = 0;
    for (int i = 0; i < 4; i++) mean += 0.25 * s.temperature[i];
    ck_near(s.temperature[4], mean, 0, 1e-8); /* the board's name: the mean of its quarters */
    release(&s);
    release(&of_rules);
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
    const double sheet = 20 * 0.0016; /* of plain_board */
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
    hl_box box = plain_box();
    hl_board board = plain_board();
    double before = 0, first = 0;
    for (int step = 0; step <= 240; step++) {
        hl_body body = plain_body("part", 0.010 + 0.25e-3 * step, 0.012, 0.008);
        solved_box s;
        build(&s, &box, 1, &board, 1, &body, 300);
        ck_assert_str_eq(hl_network_node_name(s.network, (int)s.nodes - 4), quarters[0]);
        s.watts[0] = 3;
        solve(&s);
        const double *quarter = s.temperature + s.nodes - 4;
        double apart = quarter[0] - quarter[1];
        if (step == 0) first = apart;
        ck_assert_double_gt(first, 10);
        if (step == 240) ck_near(apart, -first, 0.05, 0);
        ck_assert_double_gt(quarter[0], quarter[2]);
        if (step > 0) ck_near(apart, before, 0, 2 * first * 2 / (0.008 / 0.25e-3));
        before = apart;
        release(&s);
    }
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
    hl_box box = plain_box();
    hl_board board = plain_board();
    hl_body bodies[] = {plain_body("part", 0.025, 0.025, 0.01), plain_body("first", 0.045, 0.02, 0.01),
                        plain_body("second", 0.06, 0.025, 0.005), plain_body("third", 0.06, 0.03, 0.01)};
    double sides[][2] = {{0.015, 0.024}, {0.022, 0.028}, {0.026, 0.03}}; /* of the posts along y, m */
    for (int i = 0; i < 3; i++) bodies[i + 1].low[1] = sides[i][0], bodies[i + 1].high[1] = sides[i][1];
    solved_box s;
    build(&s, &box, 1, &board, posts + 1, bodies, 300);
    ck_near(area_to(s.network, HL_LAW_RADIATION, "face x1 inside"), open, 1e-12, 0);
    /* the air: this side, the two at y, the one at x0, the top */
    ck_near(area_to(s.network, HL_LAW_NATURAL, "inner air"), open + 4 * 1e-4, 1e-12, 0);
    release(&s);
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

/* Corners are sums of places and sizes: one that passes the wall by rounding is at the wall, either side. */
START_TEST(rounding_takes_nothing_out_of_the_box)
{
    hl_box box = plain_box();
    hl_board board = plain_board();
    hl_body body = plain_body("bulk capacitor", 0.03, 0.025, 0.01);
    for (int k = 0; k < 2; k++) {
        board.low[k] = -1e-12;
        board.high[k] = box.size[k] + 1e-12;
    }
    solved_box s;
    build(&s, &box, 1, &board, 1, &body, 300);
    release(&s);
    board.high[0] = box.size[0] + 1e-5;
    expect_refusal(&box, &board, &body, "it reaches out of the box");
}
END_TEST

/* One figure at a time, each to every value that is none of it. */
START_TEST(each_figure_of_a_box_has_its_range)
{
    static hl_box box;
    static hl_board board;
    static hl_body body;
    const struct {
        double *figure;
        double below, above;
        const char *words;
    } row[] = {
        {&box.size[0], 0.5e-3, 11, "box: each side must be 1 mm to 10 m"},
        {&box.wall, 0, 1, "box: the wall must be above 0 and leave room inside"},
        {&box.wall_conductivity, 0, 1e5, "box: wall conductivity is outside 0.001 to 10000 W/(m K)"},
        {&box.emissivity_outside, -0.1, 1.1, "box: emissivity must be 0 to 1"},
        {&box.emissivity_inside, -0.1, 1.1, "box: emissivity must be 0 to 1"},
        {&box.fill_conductivity, 0, 1e4, "box: a potted box needs the conductivity of its fill"},
        {&box.air_speed, -1, 101, "box: air speed must be 0 to 100 m/s"},
        {&box.covered[HL_FACE_Z0], -0.1, 1.1, "box: the covered part of a face must be 0 to 1"},
        {&box.cover_conductance, -1, 1e7, "box: cover conductance must be 0 to 1e6 W/(m^2 K)"},
        {&board.low[1], -0.01, 0.5, "board 'board': it"},
        {&board.conductivity_in, 0, 1e5, "board 'board': it needs conductivities"},
        {&board.conductivity_through, 0, 1e5, "board 'board': it needs conductivities"},
        {&body.conductivity, -1, 1e10, "part 'fuse': its thermal figures must be finite and not negative"},
        {&body.capacity, -1, 1e10, "part 'fuse': its thermal figures must be finite and not negative"},
        {&body.case_resistance, -1, 1e10, "part 'fuse': its thermal figures must be finite and not negative"},
        {&body.emissivity, -0.1, 1.1, "part 'fuse': emissivity must be 0 to 1"},
        {&body.low[0], -INFINITY, INFINITY, "part 'fuse': its place is not finite"},
        {&body.high[2], -INFINITY, INFINITY, "part 'fuse': its place is not finite"},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const double tries[] = {row[i].below, row[i].above, NAN};
        for (size_t k = 0; k < 3; k++) {
            box = plain_box(), board = plain_board(), body = plain_body("fuse", 0.03, 0.025, 0.01);
            box.potted = true, box.fill_conductivity = 0.5;
            *row[i].figure = tries[k];
            if (row[i].figure == &board.low[1] && k > 0) /* past the high corner, or no number */
                expect_refusal(&box, &board, &body, "board 'board': its corners are not in order");
            else
                expect_refusal(&box, &board, &body, row[i].words);
        }
    }
    box = plain_box(), board = plain_board(), body = plain_body(NULL, 0.03, 0.025, 0.01);
    body.emissivity = 2;
    expect_refusal(&box, &board, &body, "part: emissivity must be 0 to 1");
    body = plain_body("fuse", 0.03, 0.025, 0.01);
    body.board = -2;
    expect_refusal(&box, &board, &body, "part 'fuse': the board it sits on is not described");
    body.board = -1, body.pad_face = (hl_face)(HL_FACES + 1);
    expect_refusal(&box, &board, &body, "part 'fuse': its pad leads to no face of the box");
    body.pad_face = HL_FACES, box.up = HL_FACES;
    expect_refusal(&box, &board, &body, "box: say which face looks up");
    ck_assert_str_eq(hl_face_name(HL_FACE_Z1), "z1");
    ck_assert_str_eq(hl_face_name(HL_FACES), "none");
}
END_TEST

START_TEST(node_without_a_way_out_is_named)
{
    hl_network *network = hl_network_create();
    hl_diagnostics *messages = hl_diagnostics_create();
    int a = hl_network_add_node(network, "case", 1), b = hl_network_add_node(network, "shunt", 1);
    int c = hl_network_add_node(network, "fuse", 1);
    hl_network_add_link(network, &(hl_link){a, HL_AMBIENT, HL_LAW_FIXED, 0, {1, 0, 0, 0}});
    hl_network_add_link(network, &(hl_link){b, c, HL_LAW_FIXED, 0, {1, 0, 0, 0}});
    ck_assert_int_eq(hl_network_check(network, messages), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(hl_diagnostics_text(messages, 0), "'shunt' and 1 more"));
    ck_assert_int_eq(hl_network_add_link(network, &(hl_link){a, a, HL_LAW_FIXED, 0, {1, 0, 0, 0}}), -1);
    ck_assert_int_eq(hl_network_add_link(network, &(hl_link){a, 7, HL_LAW_FIXED, 0, {1, 0, 0, 0}}), -1);
    ck_assert_int_eq(hl_network_add_link(network, &(hl_link){a, b, HL_LAW_FIXED, 0, {-1, 0, 0, 0}}), -1);
    ck_assert_int_eq(hl_network_add_link(network, &(hl_link){a, b, HL_LAW_FIXED, 0, {NAN, 0, 0, 0}}), -1);
    ck_assert_int_eq(hl_network_add_link(network, &(hl_link){a, b, HL_LAW_NATURAL, 0, {1, 0, 0, 0}}), -1);
    hl_diagnostics_destroy(messages);
    hl_network_destroy(network);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, rules_reach_their_stated_accuracy_on_field_solved_boxes, 0,
                        (int)(sizeof accuracy / sizeof accuracy[0]));
    tcase_add_test(tests, mirrored_box_gives_mirrored_temperatures);
    tcase_add_test(tests, more_heat_or_a_warmer_room_never_cools_any_node);
    tcase_add_test(tests, thin_air_runs_hotter_and_a_blanket_hotter_still);
    tcase_add_test(tests, wrong_geometry_is_refused_by_name);
    tcase_add_test(tests, stated_resistances_hold_the_inside_of_a_part);
    tcase_add_test(tests, what_stands_before_a_part_hides_the_wall);
    tcase_add_test(tests, halves_of_a_board_differ_as_those_of_a_heated_strip);
    tcase_add_test(tests, a_part_warms_its_own_end_of_the_board);
    tcase_add_test(tests, layers_of_a_potted_box_conduct_by_area_over_depth);
    tcase_add_test(tests, rounding_takes_nothing_out_of_the_box);
    tcase_add_test(tests, each_figure_of_a_box_has_its_range);
    tcase_add_test(tests, node_without_a_way_out_is_named);
}

int main(void)
{
    return story_main("enclosure", fill);
}
