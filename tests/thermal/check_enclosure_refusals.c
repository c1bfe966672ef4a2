/* check_enclosure_refusals.c - boxes and networks that are none: refused by name, figure by figure. */
#include "rule_box.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "story.h"

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
    hl_box box = rule_box_plain();
    hl_board board = rule_box_board();
    hl_body body = rule_box_body("bulk capacitor", 0.03, 0.025, 0.01);
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

/* Corners are sums of places and sizes: one that passes the wall by rounding is at the wall, either side. */
START_TEST(rounding_takes_nothing_out_of_the_box)
{
    hl_box box = rule_box_plain();
    hl_board board = rule_box_board();
    hl_body body = rule_box_body("bulk capacitor", 0.03, 0.025, 0.01);
    for (int k = 0; k < 2; k++) {
        board.low[k] = -1e-12;
        board.high[k] = box.size[k] + 1e-12;
    }
    rule_box s;
    rule_box_build(&s, &box, 1, &board, 1, &body, 300);
    rule_box_release(&s);
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
            box = rule_box_plain(), board = rule_box_board(), body = rule_box_body("fuse", 0.03, 0.025, 0.01);
            box.potted = true, box.fill_conductivity = 0.5;
            *row[i].figure = tries[k];
            if (row[i].figure == &board.low[1] && k > 0) /* past the high corner, or no number */
                expect_refusal(&box, &board, &body, "board 'board': its corners are not in order");
            else
                expect_refusal(&box, &board, &body, row[i].words);
        }
    }
    box = rule_box_plain(), board = rule_box_board(), body = rule_box_body(NULL, 0.03, 0.025, 0.01);
    body.emissivity = 2;
    expect_refusal(&box, &board, &body, "part: emissivity must be 0 to 1");
    body = rule_box_body("fuse", 0.03, 0.025, 0.01);
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
    tcase_add_test(tests, wrong_geometry_is_refused_by_name);
    tcase_add_test(tests, rounding_takes_nothing_out_of_the_box);
    tcase_add_test(tests, each_figure_of_a_box_has_its_range);
    tcase_add_test(tests, node_without_a_way_out_is_named);
}

int main(void)
{
    return story_main("refusals of an enclosure", fill);
}
