/* check_draft.c - what a draft refuses, each with its sentence; a refused call leaves the draft as it was. */
#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "heatledger/limits.h"
#include "story.h"

static const char parts[] =
    "parts:\n"
    "  high: { model: measured_switch, resistance: 9 mohm, rated_voltage: 80 V }\n"
    "  other: { model: measured_switch, resistance: 5 mohm, rated_voltage: 80 V }\n"
    "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm }\n"
    "  bulk: { model: ceramic_capacitor, capacitance: 10 uF, rated_voltage: 25 V, esr: 3 mohm }\n";

static hl_host *host;
static hl_diagnostics *said;
static hl_catalogue *catalogue;
static hl_draft *draft;

static void open_draft(void)
{
    host = hl_host_create();
    said = hl_diagnostics_create();
    ck_assert_int_eq(hl_host_load_shipped(host, said), HL_OK);
    catalogue = hl_catalogue_create(host);
    ck_assert_int_eq(hl_catalogue_read_text(catalogue, "parts", parts, strlen(parts), said), HL_OK);
    draft = hl_draft_create(host, "draft");
    ck_assert_int_eq(hl_draft_source(draft, NULL, 48, 0, said), HL_OK);
    ck_assert_int_eq(hl_draft_stage(draft, NULL, "buck", "synchronous_buck", "source", said), HL_OK);
}

static void close_draft(void)
{
    hl_draft_destroy(draft);
    hl_catalogue_destroy(catalogue);
    hl_host_destroy(host);
    hl_diagnostics_destroy(said);
}

static const hl_part *part(const char *name)
{
    return hl_catalogue_find(catalogue, name);
}

/* The last sentence said, after a call that must have been refused. */
static void refused(hl_status status, const char *sentence)
{
    size_t n = hl_diagnostics_count(said);
    ck_assert_msg(status == HL_BAD_INPUT, "not refused: %s", sentence);
    ck_assert_uint_gt(n, 0);
    ck_assert_str_eq(hl_diagnostics_text(said, n - 1), sentence);
}

START_TEST(stages_and_their_parameters)
{
    open_draft();
    refused(hl_draft_stage(draft, NULL, "two", NULL, "buck", said),
            "no stage model ''; `heatledger models` lists the stages; one of a plugin of your own comes with "
            "--plugins");
    refused(hl_draft_stage(draft, NULL, "two", "resistor", "buck", said),
            "model 'resistor' is a device, not a stage; `heatledger models` lists the stages");
    refused(hl_draft_stage(draft, NULL, "two", "synchronous_bukc", "buck", said),
            "no stage model 'synchronous_bukc'; did you mean 'synchronous_buck'?");
    refused(hl_draft_stage(draft, NULL, "two", "synchronous_buck", "", said),
            "stage 'two' does not say what feeds it; name a stage, or mains");
    refused(hl_draft_set(draft, NULL, "bukc", "switching_frequency", "50 kHz", said),
            "no stage is named 'bukc'");
    refused(hl_draft_set(draft, NULL, NULL, "switching_frequency", "50 kHz", said), "no stage is named ''");
    refused(hl_draft_set(draft, NULL, "buck", "switching_frequenzy", "50 kHz", said),
            "buck: no parameter 'switching_frequenzy'; did you mean 'switching_frequency'?");
    refused(hl_draft_set(draft, NULL, "buck", "zzzzzzzzzzzz", "50 kHz", said),
            "buck: no parameter 'zzzzzzzzzzzz'; `heatledger models synchronous_buck` lists them");
    refused(hl_draft_set_number(draft, NULL, "bukc", "switching_frequency", 2e5, said),
            "no stage is named 'bukc'");
    refused(hl_draft_set_number(draft, NULL, "buck", "switching_frequenzy", 2e5, said),
            "buck: no parameter 'switching_frequenzy'; did you mean 'switching_frequency'?");
    ck_assert_int_eq(hl_draft_set_number(draft, NULL, "buck", "switching_frequency", 2e5, said), HL_OK);
    ck_assert_int_eq(hl_draft_set_number(draft, NULL, "buck", "switching_frequency", NAN, said),
                     HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_set_number(draft, NULL, "buck", "light_load", 1, said), HL_OK);
    ck_assert_int_eq(hl_draft_set_number(draft, NULL, "buck", "light_load", 0.5, said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_set_number(draft, NULL, "buck", "light_load", 99, said), HL_BAD_INPUT);
    close_draft();
}
END_TEST

START_TEST(a_draft_has_so_many_stages)
{
    open_draft();
    char name[16];
    for (int i = 1; i < HL_STAGES_MAX; i++) {
        snprintf(name, sizeof name, "s%d", i);
        ck_assert_int_eq(hl_draft_stage(draft, NULL, name, "synchronous_buck", "source", said), HL_OK);
    }
    refused(hl_draft_stage(draft, NULL, "more", "synchronous_buck", "source", said),
            "more than 256 stages; join some, such as switches in series");
    close_draft();
}
END_TEST

START_TEST(parts_in_slots)
{
    open_draft();
    refused(hl_draft_fill(draft, NULL, "bukc", "high_switch", part("high"), 1, said),
            "no stage is named 'bukc'");
    refused(hl_draft_fill(draft, NULL, "buck", "high_swich", part("high"), 1, said),
            "buck: no slot 'high_swich'; did you mean 'high_switch'?");
    ck_assert_int_eq(hl_draft_fill(draft, NULL, "buck", "zzzzzz", part("high"), 1, said), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(hl_diagnostics_text(said, hl_diagnostics_count(said) - 1),
                                 "buck: no slot 'zzzzzz'; a synchronous_buck has: high_switch, low_switch"));
    refused(hl_draft_fill(draft, NULL, "buck", "high_switch", part("high"), 0, said),
            "high_switch: 0 parts in parallel; use 1 to 64");
    refused(hl_draft_fill(draft, NULL, "buck", "high_switch", part("high"), 65, said),
            "high_switch: 65 parts in parallel; use 1 to 64");
    refused(hl_draft_fill(draft, NULL, "buck", "high_switch", part("coil"), 1, said),
            "buck.high_switch: part 'coil' is a magnetic; this slot takes a switch");
    ck_assert_int_eq(hl_draft_fill(draft, NULL, "buck", "high_switch", part("high"), 1, said), HL_OK);
    refused(hl_draft_fill(draft, NULL, "buck", "high_switch", part("high"), 1, said),
            "buck.high_switch is filled twice; keep one");
    close_draft();
}
END_TEST

START_TEST(capacitors_on_the_bus)
{
    open_draft();
    refused(hl_draft_bus_capacitor(draft, NULL, "bukc", "c", part("bulk"), 1, said),
            "no stage is named 'bukc'");
    refused(hl_draft_bus_capacitor(draft, NULL, "buck", "c", part("bulk"), 0, said),
            "c: 0 parts in parallel; use 1 to 64");
    refused(hl_draft_bus_capacitor(draft, NULL, "buck", "c", part("coil"), 1, said),
            "buck: part 'coil' on the output bus is not a capacitor; put it into a slot of a stage");
    refused(hl_draft_bus_capacitor(draft, NULL, "buck", "c d", part("bulk"), 1, said),
            "buck: capacitor name 'c d' is not usable; use 1 to 48 letters, digits, _ or -");
    refused(hl_draft_bus_capacitor(draft, NULL, "buck", "inductor", part("bulk"), 1, said),
            "buck: 'inductor' is a slot of this stage; give the bus capacitor another name");
    ck_assert_int_eq(hl_draft_bus_capacitor(draft, NULL, "buck", "c", part("bulk"), 1, said), HL_OK);
    refused(hl_draft_bus_capacitor(draft, NULL, "buck", "c", part("bulk"), 1, said),
            "buck: two bus capacitors are named 'c'; use a count or two names");
    char label[16];
    for (int i = 1; i < HL_BUS_CAPACITORS_MAX; i++) {
        snprintf(label, sizeof label, "c%d", i);
        ck_assert_int_eq(hl_draft_bus_capacitor(draft, NULL, "buck", label, part("bulk"), 1, said), HL_OK);
    }
    refused(hl_draft_bus_capacitor(draft, NULL, "buck", "more", part("bulk"), 1, said),
            "buck: more than 16 kinds of capacitor on one bus; state alike ones once, with a count");
    close_draft();
}
END_TEST

START_TEST(parts_to_choose_from)
{
    open_draft();
    refused(hl_draft_alternative(draft, NULL, "buck", "high_switch", part("other"), said),
            "'buck.high_switch' holds no part, so there is nothing to put 'other' in the place of");
    refused(hl_draft_alternative(draft, NULL, "bukc", "high_switch", part("other"), said),
            "'bukc.high_switch' holds no part, so there is nothing to put 'other' in the place of");
    ck_assert_int_eq(hl_draft_fill(draft, NULL, "buck", "high_switch", part("high"), 1, said), HL_OK);
    ck_assert_int_eq(hl_draft_bus_capacitor(draft, NULL, "buck", "c", part("bulk"), 1, said), HL_OK);
    refused(hl_draft_alternative(draft, NULL, "buck", "high_switch", part("coil"), said),
            "buck.high_switch: part 'coil' is a magnetic; this slot takes a switch");
    refused(hl_draft_alternative(draft, NULL, "buck", "c", part("coil"), said),
            "buck.c: part 'coil' is a magnetic, which does not fit there; the bus takes capacitors");
    refused(hl_draft_alternative(draft, NULL, "buck", "no_such", part("bulk"), said),
            "'buck.no_such' holds no part, so there is nothing to put 'bulk' in the place of");
    ck_assert_int_eq(hl_draft_alternative(draft, NULL, "buck", "high_switch", part("high"), said), HL_OK);
    ck_assert_int_eq(hl_draft_alternative(draft, NULL, "buck", "high_switch", part("other"), said), HL_OK);
    ck_assert_int_eq(hl_draft_alternative(draft, NULL, "buck", "high_switch", part("other"), said), HL_OK);
    hl_catalogue *second = hl_catalogue_create(host);
    static const char twin[] =
        "\nparts:\n  other: { model: measured_switch, resistance: 5 mohm, rated_voltage: 60 V }\n";
    ck_assert_int_eq(hl_catalogue_read_text(second, "twin", twin, strlen(twin), said), HL_OK);
    refused(
        hl_draft_alternative(draft, NULL, "buck", "high_switch", hl_catalogue_find(second, "other"), said),
        "buck.high_switch: two different parts are named 'other'; rename one in its part file");
    bool there;
    ck_assert(!hl_draft_takes(draft, "bukc", "high_switch", part("other"), &there) && !there);
    ck_assert(!hl_draft_takes(draft, "buck", "high_switch", part("coil"), NULL));
    ck_assert(hl_draft_takes(draft, "buck", "high_switch", part("other"), &there) && there);
    hl_catalogue_destroy(second);
    close_draft();
}
END_TEST

START_TEST(ports_boards_and_spreaders)
{
    open_draft();
    refused(hl_draft_port(draft, NULL, "out", "", 12, 1, said),
            "port 'out' does not say what feeds it; name a stage");
    ck_assert_int_eq(hl_draft_port(draft, NULL, "out", "buck", NAN, 1, said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_port(draft, NULL, "out", "buck", 12, NAN, said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_ambient(draft, NULL, NAN, 0, said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_draft_ambient(draft, NULL, 298.15, NAN, said), HL_BAD_INPUT);
    hl_box box = {.size = {0.1, 0.06, 0.03}};
    ck_assert_int_eq(hl_draft_box(draft, NULL, &box, said), HL_OK);
    refused(hl_draft_box(draft, NULL, &box, said), "a second enclosure; an adapter has one: keep one");
    hl_board board = {.name = "a b"};
    refused(hl_draft_board(draft, NULL, &board, said),
            "board name 'a b' is not usable; use 1 to 48 letters, digits, _ or -");
    board.name = NULL;
    refused(hl_draft_board(draft, NULL, &board, said),
            "board name '' is not usable; use 1 to 48 letters, digits, _ or -");
    board.name = "main";
    ck_assert_int_eq(hl_draft_board(draft, NULL, &board, said), HL_OK);
    refused(hl_draft_board(draft, NULL, &board, said), "two boards are named 'main'; rename one");
    hl_spreader spreader = {.name = "foil!", .high = {0.1, 0.06, 1e-4}, .conductivity = 380};
    refused(hl_draft_spreader(draft, NULL, &spreader, said),
            "spreader name 'foil!' is not usable; use 1 to 48 letters, digits, _ or -");
    spreader.name = "foil";
    spreader.high[1] = 0;
    refused(hl_draft_spreader(draft, NULL, &spreader, said),
            "spreader 'foil' has no extent along y: low is not below high; swap its corners");
    spreader.high[1] = 0.06;
    spreader.conductivity = NAN;
    refused(hl_draft_spreader(draft, NULL, &spreader, said), "spreader 'foil' needs a conductivity above 0");
    hl_position position = {.board = "main"};
    ck_assert_int_eq(hl_draft_position(draft, NULL, "buck.inductor", &position, said), HL_OK);
    refused(hl_draft_position(draft, NULL, "buck.inductor", &position, said),
            "'buck.inductor' is placed twice; keep one");
    refused(hl_draft_node(draft, NULL, "sink plate", 10, said),
            "node 'sink plate': the name must be plain and the capacity zero or more");
    refused(hl_draft_node(draft, NULL, NULL, 10, said),
            "node '': the name must be plain and the capacity zero or more");
    refused(hl_draft_node(draft, NULL, "sink", NAN, said),
            "node 'sink': the name must be plain and the capacity zero or more");
    refused(hl_draft_node(draft, NULL, "sink", INFINITY, said),
            "node 'sink': the name must be plain and the capacity zero or more");
    close_draft();
}
END_TEST

START_TEST(limits_and_deratings)
{
    open_draft();
    refused(hl_draft_limit(draft, NULL, "sink", "touch", 60, said),
            "the limit 'touch' of sink must be -23 to 527 degC; check the unit");
    refused(hl_draft_limit(draft, NULL, "sink", "", 330, said),
            "the limit '' of sink must be -23 to 527 degC; check the unit");
    refused(hl_draft_limit_case(draft, NULL, NULL, NAN, said),
            "the limit '' of the case must be -23 to 527 degC; check the unit");
    const hl_insulation_class classes[] = {{"A", 378.15, 373.15}, {"B", 403.15, 393.15}};
    ck_assert_int_eq(hl_draft_insulation(draft, NULL, 2, classes, "B", said), HL_OK);
    refused(hl_draft_insulation(draft, NULL, 2, classes, "Q", said),
            "no insulation class is called 'Q'; classes are letters, A to R");
    const hl_insulation_class upside_down[] = {{"B", 393.15, 403.15}};
    refused(
        hl_draft_insulation(draft, NULL, 1, upside_down, "B", said),
        "insulation class 'B': a mean of 403.15 K beside a hottest spot of 393.15 K; the mean is above 0 and "
        "no higher than the spot");
    static const struct {
        const char *limit;
        double factor, margin;
    } wrong[] = {{"voltage", 0, 0},  {"voltage", 1.1, 0}, {"voltage", NAN, 0},
                 {"voltage", 1, -1}, {"voltage", 1, 201}, {"voltage", 1, NAN}};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        refused(hl_draft_derating(draft, NULL, wrong[i].limit, wrong[i].factor, wrong[i].margin, said),
                "derating of 'voltage': a factor above 0 and up to 1, or a margin of 0 to 200 K");
    refused(hl_draft_derating(draft, NULL, NULL, 0.8, 0, said),
            "derating of '': a factor above 0 and up to 1, or a margin of 0 to 200 K");
    refused(hl_draft_derating(draft, NULL, "", 0.8, 0, said),
            "derating of '': a factor above 0 and up to 1, or a margin of 0 to 200 K");
    ck_assert_int_eq(hl_draft_derating(draft, NULL, "voltage", 0.8, 0, said), HL_OK);
    close_draft();
}
END_TEST

/* A whole design: a limit of a node that is not there is told at the end; one that is there counts. */
static hl_design *whole(const char *limited)
{
    static const char *const slots[][2] = {
        {"high_switch", "high"}, {"low_switch", "high"}, {"inductor", "coil"}};
    const hl_place place = {"adapter.lua", 7, 0};
    for (size_t i = 0; i < 3; i++)
        ck_assert_int_eq(hl_draft_fill(draft, NULL, "buck", slots[i][0], part(slots[i][1]), 1, said), HL_OK);
    ck_assert_int_eq(hl_draft_set(draft, NULL, "buck", "switching_frequency", "200 kHz", said), HL_OK);
    ck_assert_int_eq(hl_draft_port(draft, NULL, "out", "buck", 12, 2, said), HL_OK);
    const double way[4] = {0.05};
    ck_assert_int_eq(hl_draft_node(draft, NULL, "sink", 10, said), HL_OK);
    for (size_t i = 0; i < 3; i++) {
        char item[40];
        snprintf(item, sizeof item, "buck.%s", slots[i][0]);
        ck_assert_int_eq(hl_draft_link(draft, NULL, item, "sink", HL_LAW_FIXED, 0, way, said), HL_OK);
    }
    ck_assert_int_eq(hl_draft_link(draft, NULL, "sink", "ambient", HL_LAW_FIXED, 0, way, said), HL_OK);
    ck_assert_int_eq(hl_draft_limit(draft, &place, limited, "touch", 320, said), HL_OK);
    ck_assert_int_eq(hl_draft_derating(draft, NULL, "temperature", 1, 10, said), HL_OK);
    ck_assert_int_eq(hl_draft_derating(draft, NULL, "drain voltage", 0.8, 0, said), HL_OK);
    return hl_draft_finish(draft, said);
}

START_TEST(a_limit_of_a_node)
{
    open_draft();
    ck_assert_ptr_null(whole("sinc"));
    bool told = false;
    for (size_t i = 0; i < hl_diagnostics_count(said); i++)
        told |= strstr(hl_diagnostics_text(said, i),
                       "limit 'touch': no thermal node is called 'sinc'; did you mean 'sink'?") != NULL;
    ck_assert_msg(told, "%s", hl_diagnostics_text(said, hl_diagnostics_count(said) - 1));
    close_draft();
    open_draft();
    hl_design *design = whole("sink");
    ck_assert_msg(design != NULL, "%s", hl_diagnostics_text(said, hl_diagnostics_count(said) - 1));
    hl_workspace *workspace = hl_workspace_create(design);
    double settings[400];
    hl_design_defaults(design, settings);
    ck_assert_int_eq(hl_solve(workspace, settings), HL_OK);
    size_t found = 0;
    for (size_t node = 0; node < 12; node++) {
        hl_headroom room[4];
        size_t n = hl_result_node_headroom(workspace, node, room, 4);
        for (size_t k = 0; k < n; k++) found += !strcmp(room[k].limit.name, "touch");
    }
    ck_assert_uint_eq(found, 1);
    hl_workspace_destroy(workspace);
    hl_design_destroy(design);
    close_draft();
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, stages_and_their_parameters);
    tcase_add_test(tests, a_draft_has_so_many_stages);
    tcase_add_test(tests, parts_in_slots);
    tcase_add_test(tests, capacitors_on_the_bus);
    tcase_add_test(tests, parts_to_choose_from);
    tcase_add_test(tests, ports_boards_and_spreaders);
    tcase_add_test(tests, limits_and_deratings);
    tcase_add_test(tests, a_limit_of_a_node);
}

int main(void)
{
    return story_main("draft", fill);
}
