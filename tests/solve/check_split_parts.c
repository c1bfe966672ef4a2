/* check_split_parts.c - windings and core, element and can as two nodes when the part states what is between.
 */
#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "story.h"

static const char parts[] = "parts:\n"
                            "  high: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V }\n"
                            "  low: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V }\n"
                            "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm, "
                            "resistance_inside: 5 K/W }\n";

/* A buck whose coil is cooled at its core alone. */
START_TEST(the_windings_stand_above_the_core_by_their_heat)
{
    hl_host *host = hl_host_create();
    hl_diagnostics *said = hl_diagnostics_create();
    ck_assert_int_eq(hl_host_load_shipped(host, said), HL_OK);
    hl_catalogue *catalogue = hl_catalogue_create(host);
    ck_assert_int_eq(hl_catalogue_read_text(catalogue, "parts", parts, strlen(parts), said), HL_OK);
    hl_draft *draft = hl_draft_create(host, "bench");
    hl_draft_source(draft, NULL, 24, 0, said);
    hl_draft_stage(draft, NULL, "buck", "synchronous_buck", "source", said);
    hl_draft_set(draft, NULL, "buck", "switching_frequency", "200 kHz", said);
    hl_draft_fill(draft, NULL, "buck", "high_switch", hl_catalogue_find(catalogue, "high"), 1, said);
    hl_draft_fill(draft, NULL, "buck", "low_switch", hl_catalogue_find(catalogue, "low"), 1, said);
    hl_draft_fill(draft, NULL, "buck", "inductor", hl_catalogue_find(catalogue, "coil"), 1, said);
    hl_draft_port(draft, NULL, "out", "buck", 12, 5, said);
    const double p[4] = {0.1};
    hl_draft_link(draft, NULL, "buck.high_switch", "ambient", HL_LAW_FIXED, 0, p, said);
    hl_draft_link(draft, NULL, "buck.low_switch", "ambient", HL_LAW_FIXED, 0, p, said);
    hl_draft_link(draft, NULL, "buck.inductor core", "ambient", HL_LAW_FIXED, 0, p, said);
    hl_design *design = hl_draft_finish(draft, said);
    ck_assert_msg(design != NULL, "%s", hl_diagnostics_count(said) ? hl_diagnostics_text(said, 0) : "");
    hl_workspace *workspace = hl_workspace_create(design);
    double settings[300];
    ck_assert_uint_lt(hl_design_settings(design), 300);
    hl_design_defaults(design, settings);
    ck_assert_int_eq(hl_solve(workspace, settings), HL_OK);
    ck_assert_int_eq(hl_result_outcome(workspace), HL_SOLVED);
    size_t coil = 0, core = 0;
    while (strcmp(hl_design_item(design, coil)->slot, "inductor")) coil++;
    while (strcmp(hl_design_node_name(design, core), "buck.inductor core")) core++;
    double loss = hl_result_item_loss(workspace, coil), in_core = hl_result_loss(workspace, coil, HL_CORE);
    double windings = hl_result_item_temperature(workspace, coil);
    double outside = hl_result_node_temperature(workspace, core);
    ck_assert(loss > 0.4);
    ck_near(windings - outside, 5 * (loss - in_core), 1e-8, 0);
    ck_near(outside - 298.15, loss / 0.1, 1e-8, 0);
    ck_near(hl_result_power(workspace)->heat_imbalance, 0, 0, 1e-9);
    hl_workspace_destroy(workspace);
    hl_design_destroy(design);
    hl_draft_destroy(draft);
    hl_catalogue_destroy(catalogue);
    hl_host_destroy(host);
    hl_diagnostics_destroy(said);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_windings_stand_above_the_core_by_their_heat);
}

int main(void)
{
    return story_main("split parts", fill);
}
