/* check_board_links.c - what the name of a board stands for once rules have made quarters of it: links by
 * hand, a measured resistance, heat that belongs to no part. */
#include <math.h>
#include <string.h>

#include "drafted_adapter.h"
#include "story.h"

static const double celsius = 273.15;

static const char parts[] =
    "parts:\n"
    "  high: { model: measured_switch, resistance: 60 mohm, rated_voltage: 100 V, size: 6 x 6 x 2 mm,\n"
    "          resistance_board: { typical: 5 K/W, tolerance: 20 % } }\n"
    "  low: { model: measured_switch, resistance: 50 mohm, rated_voltage: 100 V, size: 6 x 6 x 2 mm,\n"
    "         resistance_board: { typical: 7 K/W, tolerance: 20 % } }\n"
    "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm, size: 12 x 12 x 6 mm }\n";

static const char *const quarters[] = {"main x0 y0", "main x1 y0", "main x0 y1", "main x1 y1"};

/* The high switch sits in the middle line of a board of 80 x 40 mm, a third of it on the x0 side, the low one
 * at the x0 end, the coil at the other. */
static void begin(drafted_adapter *a, bool placed)
{
    static const double x[] = {46, 14, 70};
    static const char *const item[] = {"buck.high_switch", "buck.low_switch", "buck.inductor"};
    const hl_box box = {.size = {0.09, 0.05, 0.03},
                        .wall = 0.002,
                        .wall_conductivity = 0.2,
                        .wall_density_heat = 1.4e6,
                        .emissivity_outside = 0.9,
                        .emissivity_inside = 0.9,
                        .up = HL_FACE_Z1};
    const hl_board board = {"main", {0.005, 0.005, 0.006}, {0.085, 0.045, 0.0076}, 20, 0.3, 2.1e6};
    drafted_begin(a, parts);
    drafted_source(a, 24, 0);
    drafted_stage(a, "buck", "synchronous_buck", "source");
    drafted_set(a, "buck", "switching_frequency", 200e3);
    drafted_fill(a, "buck", "high_switch", "high");
    drafted_fill(a, "buck", "low_switch", "low");
    drafted_fill(a, "buck", "inductor", "coil");
    drafted_stage(a, "controller", "housekeeping", "source");
    drafted_set(a, "controller", "power", 0.4);
    drafted_port(a, "out", "buck", 12, 5);
    drafted_must(a, hl_draft_box(a->draft, NULL, &box, a->said));
    drafted_must(a, hl_draft_board(a->draft, NULL, &board, a->said));
    for (int i = 0; i < 3 && placed; i++) {
        const hl_position at = {
            .centre = {1e-3 * x[i], 0.015, 0.0086}, .board = "main", .pad_face = HL_FACES};
        drafted_must(a, hl_draft_position(a->draft, NULL, item[i], &at, a->said));
    }
}

static int node_of(const drafted_adapter *a, const char *name)
{
    for (size_t i = 0; i < hl_design_nodes(a->design); i++)
        if (!strcmp(hl_design_node_name(a->design, i), name)) return (int)i;
    return -1;
}

static double kelvin(const drafted_adapter *a, const char *name)
{
    return hl_result_node_temperature(a->workspace, (size_t)node_of(a, name));
}

/* W/K of the fixed links between two nodes. */
static double fixed_between(const drafted_adapter *a, int from, int to)
{
    const hl_network *network = hl_design_network(a->design);
    double sum = 0;
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        bool joins = (link->a == from && link->b == to) || (link->a == to && link->b == from);
        if (joins && link->law == HL_LAW_FIXED) sum += link->p[0];
    }
    return sum;
}

static double seat(const drafted_adapter *a, const char *part, double share[4])
{
    double sum = 0;
    for (int k = 0; k < 4; k++) sum += share[k] = fixed_between(a, node_of(a, part), node_of(a, quarters[k]));
    for (int k = 0; k < 4; k++) share[k] /= sum;
    return sum;
}

/* Heat from a part into its board, W, by the network that the point was solved with. */
static double into_board(const drafted_adapter *a, const char *part)
{
    const hl_network *network = hl_design_network(a->design);
    hl_trace *trace = hl_trace_create(a->workspace);
    double sum = 0;
    int from = node_of(a, part);
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        if (link->law != HL_LAW_FIXED || (link->a != from && link->b != from)) continue;
        sum += (link->a == from ? 1 : -1) * hl_trace_flow(trace, k);
    }
    hl_trace_destroy(trace);
    return sum;
}

/* 1 / sum: the part's own figure and the spreading under it; two thirds of the footprint are beyond the
 * middle. */
START_TEST(a_part_shares_its_way_by_its_footprint)
{
    drafted_adapter a;
    double share[4];
    begin(&a, true);
    drafted_solve(&a);
    seat(&a, "buck.high_switch", share);
    ck_near(share[0], 1.0 / 3, 1e-12, 0);
    ck_near(share[1], 2.0 / 3, 1e-12, 0);
    ck_assert(share[2] == 0 && share[3] == 0);
    seat(&a, "buck.low_switch", share);
    ck_near(share[0], 1, 1e-12, 0);
    ck_assert_double_gt(kelvin(&a, quarters[0]), kelvin(&a, quarters[2]) + 1);
    drafted_end(&a);
}
END_TEST

/* What no place is known of stays one board, as before. */
START_TEST(without_places_a_board_is_one_node)
{
    drafted_adapter a;
    begin(&a, false);
    drafted_solve(&a);
    ck_assert_int_eq(node_of(&a, quarters[0]), -1);
    ck_assert_double_gt(fixed_between(&a, node_of(&a, "buck.low_switch"), node_of(&a, "main")), 0);
    drafted_end(&a);
}
END_TEST

/* A measured resistance stands for the whole way into the board, at the quarters that the part stands on. */
START_TEST(a_measured_resistance_replaces_the_way_into_the_board)
{
    drafted_adapter a;
    const double p[4] = {1 / 3.0};
    double share[4];
    begin(&a, true);
    drafted_must(&a,
                 hl_draft_override(a.draft, NULL, "main", "buck.high_switch", HL_LAW_FIXED, 0, p, a.said));
    drafted_solve(&a);
    ck_near(seat(&a, "buck.high_switch", share), 1 / 3.0, 1e-12, 0);
    ck_near(share[0], 1.0 / 3, 1e-12, 0);
    double under = share[0] * kelvin(&a, quarters[0]) + share[1] * kelvin(&a, quarters[1]);
    ck_near(kelvin(&a, "buck.high_switch") - under, 3 * into_board(&a, "buck.high_switch"), 1e-9, 0);
    drafted_end(&a);
}
END_TEST

/* A stud under the board takes its heat from all of it alike; the board's own name is the mean. */
START_TEST(a_link_from_a_board_leaves_from_all_its_quarters)
{
    drafted_adapter plain, a;
    const double p[4] = {0.05};
    begin(&plain, true);
    drafted_solve(&plain);
    begin(&a, true);
    drafted_must(&a, hl_draft_link(a.draft, NULL, "main", "ambient", HL_LAW_FIXED, 0, p, a.said));
    drafted_must(&a, hl_draft_limit(a.draft, NULL, "main", "laminate", 100 + celsius, a.said));
    drafted_solve(&a);
    double mean = 0;
    for (int k = 0; k < 4; k++) {
        ck_near(fixed_between(&a, node_of(&a, quarters[k]), HL_AMBIENT), 0.05 / 4, 1e-12, 0);
        mean += 0.25 * kelvin(&a, quarters[k]);
    }
    ck_near(kelvin(&a, "main"), mean, 0, 1e-8);
    ck_assert_double_lt(mean, kelvin(&plain, "main") - 5);
    hl_headroom limit;
    ck_assert_uint_eq(hl_result_node_headroom(a.workspace, (size_t)node_of(&a, "main"), &limit, 1), 1);
    ck_near(limit.limit.value, mean, 0, 1e-8);
    ck_near(hl_result_power(a.workspace)->heat_imbalance, 0, 0, 1e-9);
    drafted_end(&plain);
    drafted_end(&a);
}
END_TEST

START_TEST(heat_of_no_part_warms_the_board_evenly)
{
    drafted_adapter a;
    begin(&a, true);
    drafted_solve(&a);
    double own = hl_result_own(a.workspace, 0, NULL) + hl_result_own(a.workspace, 1, NULL);
    ck_assert_double_gt(own, 0.39);
    for (int k = 0; k < 4; k++)
        ck_near(hl_result_node_heat(a.workspace, (size_t)node_of(&a, quarters[k])), own / 4, 1e-9, 0);
    drafted_end(&a);
}
END_TEST

/* The part's figure is a setting with its band, as of a part on one node: more of it adds to the whole way.
 */
START_TEST(a_part_on_two_quarters_keeps_its_band)
{
    drafted_adapter a;
    double share[4];
    begin(&a, true);
    drafted_solve(&a);
    double way = 1 / seat(&a, "buck.high_switch", share);
    size_t setting = drafted_setting(&a, "buck.high_switch.resistance_board");
    a.settings[setting] = 9;
    drafted_solve(&a);
    double under = share[0] * kelvin(&a, quarters[0]) + share[1] * kelvin(&a, quarters[1]);
    double heat = into_board(&a, "buck.high_switch");
    ck_near(kelvin(&a, "buck.high_switch") - under, (way + 4) * heat, 1e-9, 0);
    drafted_end(&a);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_part_shares_its_way_by_its_footprint);
    tcase_add_test(tests, without_places_a_board_is_one_node);
    tcase_add_test(tests, a_measured_resistance_replaces_the_way_into_the_board);
    tcase_add_test(tests, a_link_from_a_board_leaves_from_all_its_quarters);
    tcase_add_test(tests, heat_of_no_part_warms_the_board_evenly);
    tcase_add_test(tests, a_part_on_two_quarters_keeps_its_band);
}

int main(void)
{
    return story_main("links of a board", fill);
}
