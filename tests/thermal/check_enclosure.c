/* check_enclosure.c - the rule-of-thumb box against field solutions, and what must hold for any box. */
#include "heatledger/thermal.h"

#include "lottery.h"
#include "reference_box.h"
#include "story.h"

#include <math.h>
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
    {"BX01",       8,    6,     5,   14}, /* brick, air */
    {"BX02",      10,    7.5,   7.5, 23}, /* the same potted: small cold parts read hot */
    {"BX06",       7,    4,     5,   15}, /* on its end */
    {"BX07",       9,    7.5,   7,   13}, /* cube */
    {"BX10",       9.5, 10.5,   9,   15}, /* slim on a table */
    {"BX13",      10,    8,    15,   24}, /* slim potted */
    {"BX15",       7,    6,     5,   14}, /* as the first, copper in layers */
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

/* K/W of the fixed links between a part and a place. */
static double part_resistance(const hl_body *body, const char *place)
{
    hl_box box = plain_box();
    hl_board board = plain_board();
    solved_box s;
    build(&s, &box, 1, &board, 1, body, 300);
    double conductance = conductance_between(s.network, "part", place);
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
    tcase_add_test(tests, layers_of_a_potted_box_conduct_by_area_over_depth);
    tcase_add_test(tests, rounding_takes_nothing_out_of_the_box);
    tcase_add_test(tests, each_figure_of_a_box_has_its_range);
    tcase_add_test(tests, node_without_a_way_out_is_named);
}

int main(void)
{
    return story_main("enclosure", fill);
}
