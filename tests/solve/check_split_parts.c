/* check_split_parts.c - windings and core, element and can as two nodes when the part states what is between.
 */
#include <math.h>
#include <string.h>

#include "drafted_adapter.h"
#include "story.h"

static const char parts[] = "parts:\n"
                            "  high: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V }\n"
                            "  low: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V }\n"
                            "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm, "
                            "resistance_inside: 5 K/W }\n";

/* IEC 60085 gives a class by its hottest spot; the mean: tests/solve/check_trace.c. */
static const hl_insulation_class class_b = {"B", 403.15, 393.15};

static void the_hottest_spot_is_held_against_the_class(const hl_workspace *workspace, size_t coil)
{
    hl_headroom list[24];
    size_t n = hl_result_headroom(workspace, coil, list, 24), k = 0;
    while (k < n && strcmp(list[k].limit.name, "insulation class B (assumed)")) k++;
    ck_assert_msg(k < n, "no limit by the class");
    ck_near(list[k].limit.rated, 403.15, 0, 1e-9);
    ck_near(list[k].limit.value, hl_result_item_temperature(workspace, coil), 0, 1e-9);
}

/* A buck whose coil is cooled at its core alone. */
START_TEST(the_windings_stand_above_the_core_by_their_heat)
{
    drafted_adapter a;
    drafted_begin(&a, parts);
    drafted_source(&a, 24, 0);
    drafted_stage(&a, "buck", "synchronous_buck", "source");
    drafted_set(&a, "buck", "switching_frequency", 200e3);
    drafted_fill(&a, "buck", "high_switch", "high");
    drafted_fill(&a, "buck", "low_switch", "low");
    drafted_fill(&a, "buck", "inductor", "coil");
    drafted_port(&a, "out", "buck", 12, 5);
    drafted_must(&a, hl_draft_insulation(a.draft, NULL, 1, &class_b, "B", a.said));
    drafted_cool(&a, "buck.high_switch", 0.1);
    drafted_cool(&a, "buck.low_switch", 0.1);
    drafted_cool(&a, "buck.inductor core", 0.1);
    drafted_solve(&a);
    const hl_design *design = a.design;
    const hl_workspace *workspace = a.workspace;
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
    the_hottest_spot_is_held_against_the_class(workspace, coil);
    drafted_end(&a);
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
