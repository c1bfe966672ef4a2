/* check_trace.c - ways of the heat, links by hand in place of others, limits that no part states. */
#include <math.h>
#include <string.h>

#include "leaky_buck.h"
#include "story.h"

static const double celsius = 273.15;

static void join(drafted_adapter *b, const char *one, const char *other, double conductance)
{
    const double p[4] = {conductance};
    drafted_must(b, hl_draft_link(b->draft, NULL, one, other, HL_LAW_FIXED, 0, p, b->said));
}

/* The diode also heats a plate that gives to the room by two links; so does the switch. */
static void add_plate(drafted_adapter *b)
{
    drafted_must(b, hl_draft_node(b->draft, NULL, "plate", 10, b->said));
    join(b, "buck.low_switch", "plate", 0.1);
    join(b, "buck.high_switch", "plate", 0.02);
    join(b, "plate", "ambient", 0.3);
    join(b, "plate", "ambient", 0.2);
}

static int node_of(const drafted_adapter *b, const char *name)
{
    for (size_t i = 0; i < hl_design_nodes(b->design); i++)
        if (!strcmp(hl_design_node_name(b->design, i), name)) return (int)i;
    ck_abort_msg("no node %s", name);
    return -1;
}

START_TEST(every_watt_finds_its_way_out)
{
    drafted_adapter b;
    leaky_buck_open_with(&b, 20, 0, add_plate);
    ck_assert_int_eq(leaky_buck_at(&b, 25), HL_SOLVED);
    hl_trace *trace = hl_trace_create(b.workspace);
    ck_assert_ptr_nonnull(trace);
    size_t n = hl_design_nodes(b.design), links = hl_network_links(hl_design_network(b.design));
    double out = 0, flows = 0;
    for (size_t s = 0; s < n; s++) {
        double heat = hl_result_node_heat(b.workspace, s), all = 0;
        for (size_t i = 0; i < n; i++) all += hl_trace_exit(trace, (int)s, (int)i);
        ck_near(all, heat, 1e-9, 1e-15);
        out += all;
        hl_heat_path path[8];
        size_t ways = hl_trace_paths(trace, (int)s, 1e-4, path, 8);
        double told = 0;
        for (size_t k = 0; k < ways; k++) {
            ck_assert_int_eq(path[k].node[0], (int)s);
            if (k > 0) ck_assert(path[k].watts <= path[k - 1].watts);
            told += path[k].watts;
        }
        ck_near(told, heat, 1e-9, 1e-15);
    }
    for (size_t k = 0; k < links; k++) {
        const hl_link *link = hl_network_link(hl_design_network(b.design), (int)k);
        if (link->b == HL_AMBIENT) flows += hl_trace_flow(trace, k);
    }
    ck_near(out, flows, 1e-9, 0);
    /* by hand: the diode's own link of 1/20 W/K against the one to the plate */
    int diode = node_of(&b, "buck.low_switch"), plate = node_of(&b, "plate");
    double t = hl_result_node_temperature(b.workspace, (size_t)diode) - 25 - celsius;
    double p = hl_result_node_temperature(b.workspace, (size_t)plate) - 25 - celsius;
    double own = hl_trace_exit(trace, diode, diode), all = hl_result_node_heat(b.workspace, (size_t)diode);
    ck_near(own / (all - own), 0.05 * t / (0.1 * (t - p)), 1e-9, 0);
    hl_trace_destroy(trace);
    drafted_end(&b);
}
END_TEST

static void override_plate(drafted_adapter *b)
{
    const double p[4] = {0.7}, none[4] = {0};
    add_plate(b);
    drafted_must(b, hl_draft_override(b->draft, NULL, "ambient", "plate", HL_LAW_FIXED, 0, p, b->said));
    drafted_must(
        b, hl_draft_override(b->draft, NULL, "buck.high_switch", "plate", HL_LAW_FIXED, 0, none, b->said));
}

START_TEST(an_overridden_link_stands_alone)
{
    drafted_adapter b;
    leaky_buck_open_with(&b, 20, 0, override_plate);
    ck_assert_int_eq(leaky_buck_at(&b, 25), HL_SOLVED);
    int plate = node_of(&b, "plate"), diode = node_of(&b, "buck.low_switch");
    double t = hl_result_node_temperature(b.workspace, (size_t)diode) - 25 - celsius;
    double p = hl_result_node_temperature(b.workspace, (size_t)plate) - 25 - celsius;
    ck_near(0.7 * p, 0.1 * (t - p), 1e-9, 0); /* neither 0.5 W/K of before nor the switch counts */
    drafted_end(&b);
}
END_TEST

static void state_limits(drafted_adapter *b)
{
    const hl_insulation_class classes[] = {{"A", 105 + celsius, 100 + celsius},
                                           {"B", 130 + celsius, 120 + celsius}};
    add_plate(b);
    drafted_must(b, hl_draft_limit(b->draft, NULL, "plate", "plate touch", 45 + celsius, b->said));
    drafted_must(b, hl_draft_insulation(b->draft, NULL, 2, classes, "A", b->said));
    drafted_must(b, hl_draft_derating(b->draft, NULL, "voltage", 0.8, 0, b->said));
    drafted_must(b, hl_draft_derating(b->draft, NULL, "temperature", 1, 20, b->said));
}

static const hl_headroom *named(const hl_headroom list[], size_t n, const char *name)
{
    for (size_t k = 0; k < n; k++)
        if (!strcmp(list[k].limit.name, name)) return &list[k];
    ck_abort_msg("no limit '%s'", name);
    return NULL;
}

static size_t item_called(const drafted_adapter *b, const char *slot)
{
    size_t i = 0;
    while (strcmp(hl_design_item(b->design, i)->slot, slot)) i++;
    return i;
}

START_TEST(limits_and_policy_show_as_headroom)
{
    drafted_adapter plain, b;
    hl_headroom before[24], after[24];
    leaky_buck_open_with(&plain, 20, 0, add_plate);
    leaky_buck_open_with(&b, 20, 0, state_limits);
    ck_assert_int_eq(leaky_buck_at(&plain, 25), HL_SOLVED);
    ck_assert_int_eq(leaky_buck_at(&b, 25), HL_SOLVED);
    size_t plate = (size_t)node_of(&b, "plate");
    ck_assert_uint_eq(hl_result_node_headroom(plain.workspace, plate, before, 24), 0);
    ck_assert_uint_eq(hl_result_node_headroom(b.workspace, plate, after, 24), 1);
    ck_assert_str_eq(after[0].limit.name, "plate touch");
    /* 20 K below 45 degC is the ambient itself: all of it is used up */
    ck_assert(isinf(after[0].used));
    size_t coil = item_called(&b, "inductor");
    size_t n = hl_result_headroom(b.workspace, coil, after, 24);
    ck_near(named(after, n, "insulation class A mean (assumed)")->limit.rated, 80 + celsius, 0, 1e-9);
    size_t diode = leaky_buck_diode(&b), m = hl_result_headroom(plain.workspace, diode, before, 24);
    n = hl_result_headroom(b.workspace, diode, after, 24);
    ck_assert_uint_eq(m, n);
    for (size_t k = 0; k < n; k++) {
        if (!strcmp(before[k].limit.unit, "V")) ck_near(after[k].used, before[k].used / 0.8, 1e-9, 0);
        if (!strcmp(before[k].limit.unit, "A")) ck_near(after[k].used, before[k].used, 1e-9, 0);
        if (!strcmp(before[k].limit.unit, "degC"))
            ck_near(after[k].limit.rated, before[k].limit.rated - 20, 0, 1e-9);
    }
    drafted_end(&plain);
    drafted_end(&b);
}
END_TEST

static void state_limits_of_parts(drafted_adapter *b)
{
    static const char *const names[] = {"touch", "solder", "board"};
    state_limits(b);
    for (int k = 0; k < 3; k++)
        drafted_must(b,
                     hl_draft_limit(b->draft, NULL, "buck.low_switch", names[k], 110 + k + celsius, b->said));
}

/* A caller with little room gets as many as fit, the same ones, and nothing beyond is written. */
START_TEST(headroom_keeps_to_its_room)
{
    drafted_adapter b;
    hl_headroom all[24], few[24];
    leaky_buck_open_with(&b, 20, 0, state_limits_of_parts);
    ck_assert_int_eq(leaky_buck_at(&b, 25), HL_SOLVED);
    size_t diode = leaky_buck_diode(&b), coil = item_called(&b, "inductor"), told = 0;
    for (int turn = 0; turn < 2; turn++) {
        size_t item = turn ? coil : diode, n = hl_result_headroom(b.workspace, item, all, 24);
        told += n;
        for (size_t room = 0; room <= n; room++) {
            few[room].used = -1;
            ck_assert_uint_eq(hl_result_headroom(b.workspace, item, few, room), room);
            for (size_t k = 0; k < room; k++) ck_assert_str_eq(few[k].limit.name, all[k].limit.name);
            ck_assert(few[room].used == -1);
        }
    }
    ck_assert_uint_gt(told, 4);
    drafted_end(&b);
}
END_TEST

static void refuse_limits(drafted_adapter *b)
{
    const hl_insulation_class classes[] = {{"A", 378.15, 373.15}};
    ck_assert_int_eq(hl_draft_limit(b->draft, NULL, "plate", "x", NAN, b->said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_insulation(b->draft, NULL, 1, classes, "Q", b->said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_derating(b->draft, NULL, "voltage", 0, 0, b->said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_derating(b->draft, NULL, "voltage", NAN, 0, b->said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_derating(b->draft, NULL, "temperature", 1, -5, b->said), HL_BAD_INPUT);
}

START_TEST(senseless_limits_are_refused)
{
    drafted_adapter b;
    leaky_buck_open_with(&b, 20, 0, refuse_limits);
    drafted_end(&b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_watt_finds_its_way_out);
    tcase_add_test(tests, an_overridden_link_stands_alone);
    tcase_add_test(tests, limits_and_policy_show_as_headroom);
    tcase_add_test(tests, headroom_keeps_to_its_room);
    tcase_add_test(tests, senseless_limits_are_refused);
}

int main(void)
{
    return story_main("trace", fill);
}
