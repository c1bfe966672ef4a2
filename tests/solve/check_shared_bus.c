/* check_shared_bus.c - stages that switch at one frequency ripple at the same lines of their bus; they are
 * incoherent, so the capacitors lose what they lose when the lines lie just beside one another. */
#include <string.h>

#include "drafted_adapter.h"
#include "story.h"

enum { BUCKS = 3 };

static const char parts[] =
    "parts:\n"
    "  switch: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V }\n"
    "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm }\n"
    "  wet: { model: film_capacitor, capacitance: 100 uF, rated_voltage: 100 V, "
    "esr: 20 mohm, dielectric_loss_factor: 0 }\n"
    "  dry: { model: film_capacitor, capacitance: 4.7 uF, rated_voltage: 100 V, "
    "esr: 4 mohm, dielectric_loss_factor: 0 }\n";

static void add_buck(drafted_adapter *a, const char *name, const char *fed_by, double frequency)
{
    drafted_stage(a, name, "synchronous_buck", fed_by);
    drafted_set(a, name, "switching_frequency", frequency);
    drafted_fill(a, name, "high_switch", "switch");
    drafted_fill(a, name, "low_switch", "switch");
    drafted_fill(a, name, "inductor", "coil");
}

typedef struct bus_losses {
    double wet, dry; /* W */
} bus_losses;

/* Of a bus that one buck feeds and three of unlike load draw from, each by a share faster than the last. */
static bus_losses losses_of(double apart)
{
    static const char *const buck[BUCKS] = {"first", "second", "third"};
    static const char *const port[BUCKS] = {"a", "b", "c"};
    drafted_adapter a;
    drafted_begin(&a, parts);
    drafted_source(&a, 48, 0);
    add_buck(&a, "feed", "source", 150e3);
    drafted_set(&a, "feed", "output_voltage", 24);
    drafted_bus_capacitor(&a, "feed", "wet", "wet");
    drafted_bus_capacitor(&a, "feed", "dry", "dry");
    for (int k = 0; k < BUCKS; k++) {
        add_buck(&a, buck[k], "feed", 200e3 * (1 + k * apart));
        drafted_port(&a, port[k], buck[k], 5 + k, 1 + k);
    }
    drafted_solve(&a);
    bus_losses loss = {0, 0};
    for (size_t i = 0; i < hl_design_items(a.design); i++) {
        const char *slot = hl_design_item(a.design, i)->slot;
        if (!strcmp(slot, "wet")) loss.wet = hl_result_item_loss(a.workspace, i);
        if (!strcmp(slot, "dry")) loss.dry = hl_result_item_loss(a.workspace, i);
    }
    drafted_end(&a);
    return loss;
}

START_TEST(lines_that_fall_together_add_as_lines_side_by_side)
{
    bus_losses together = losses_of(0), beside = losses_of(1e-8);
    ck_assert(together.wet > 0.01 && together.dry > 0.001);
    ck_near(together.wet, beside.wet, 1e-7, 0); /* the frequencies differ by a part in 1e8 */
    ck_near(together.dry, beside.dry, 1e-7, 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, lines_that_fall_together_add_as_lines_side_by_side);
}

int main(void)
{
    return story_main("shared bus", fill);
}
