/* check_flyback_parts.c - parts that no flyback works with are refused, each with what is wrong. */
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "flyback_design.h"
#include "story.h"

/* An adapter's flyback with every slot filled, its drain ringing where it is quasi-resonant. */
static void build(double frequency)
{
    flyback_design d = flyback_adapter(325, 1.2, frequency);
    d.valley = frequency > 0 ? 0 : 1;
    flyback_lay_out(flyback_bench, &d);
    hl_terminal *diode = stage_bench_fill(flyback_bench, "clamp_diode", HL_FAMILY_DIODE, 1);
    hl_terminal *sense = stage_bench_fill(flyback_bench, "sense_resistor", HL_FAMILY_RESISTOR, 1);
    *diode = (hl_terminal){.struct_size = sizeof *diode, .resistance = 0.1, .voltage = 0.7};
    *sense = (hl_terminal){.struct_size = sizeof *sense, .resistance = 0.2};
}

static hl_terminal *part_in(const char *slot)
{
    const hl_stage *stage = flyback_bench->model->stage;
    for (size_t s = 0; s < stage->n_slots; s++)
        if (!strcmp(stage->slots[s].name, slot)) return &flyback_bench->part[s];
    ck_abort_msg("there is no slot %s", slot);
    return NULL;
}

#define AT(member) offsetof(hl_terminal, member)
static const struct {
    const char *slot;
    size_t figure;
    double number;
    const char *sentence;
} spoilt[] = {
    {"switch", AT(resistance), -10, "negative or no number"},
    {"switch", AT(reverse_resistance), -1, "negative or no number"},
    {"switch", AT(reverse_voltage), -0.5, "negative or no number"},
    {"switch", AT(reverse_voltage), INFINITY, "negative or no number"},
    {"sense_resistor", AT(resistance), -0.01, "negative or no number"},
    {"transformer", AT(winding_resistance[0]), -0.01, "negative or no number"},
    {"transformer", AT(winding_resistance[1]), -1, "negative or no number"},
    {"transformer", AT(winding_resistance[1]), NAN, "negative or no number"},
    {"rectifier", AT(resistance), -1, "negative or no number"},
    {"rectifier", AT(voltage), -0.1, "negative or no number"},
    {"clamp_diode", AT(resistance), -0.01, "negative or no number"},
    {"clamp_diode", AT(voltage), -0.1, "negative or no number"},
    {"transformer", AT(turns_ratio), 0, "it needs both"},
    {"transformer", AT(turns_ratio), INFINITY, "it needs both"},
    {"transformer", AT(inductance), 0, "it needs both"},
    {"transformer", AT(inductance), INFINITY, "it needs both"},
    {"transformer", AT(leakage), -1e-6, "is not between none and the primary inductance"},
    {"transformer", AT(leakage), 1, "is not between none and the primary inductance"},
};

START_TEST(a_part_that_cannot_be_is_refused)
{
    build(68e3);
    flyback_solved();
    hl_terminal *part = part_in(spoilt[_i].slot);
    memcpy((char *)part + spoilt[_i].figure, &spoilt[_i].number, sizeof spoilt[_i].number);
    ck_assert_int_eq(stage_bench_solve(flyback_bench), HL_STAGE_INFEASIBLE);
    if (!strstr(flyback_bench->out.reason.text, spoilt[_i].sentence))
        ck_abort_msg("said: %s", flyback_bench->out.reason.text);
}
END_TEST

/* 2 sqrt(L / C) = 2 sqrt(489 uH / 105 pF) = 4316 ohm end the ring: half of that also leaves no current. */
START_TEST(a_drain_that_does_not_ring_is_said)
{
    build(0);
    flyback_solved();
    part_in("transformer")->winding_resistance[0] = 4400;
    ck_assert_int_eq(stage_bench_solve(flyback_bench), HL_STAGE_INFEASIBLE);
    ck_assert_msg(strstr(flyback_bench->out.reason.text, "4316 ohm end the ring") != NULL, "%s",
                  flyback_bench->out.reason.text);
    part_in("transformer")->winding_resistance[0] = 2200;
    ck_assert_int_eq(stage_bench_solve(flyback_bench), HL_STAGE_INFEASIBLE);
    ck_assert_msg(strstr(flyback_bench->out.reason.text, "no steady cycle delivers 1.2 A") != NULL, "%s",
                  flyback_bench->out.reason.text);
}
END_TEST

/* Leakage of less than a ten-millionth of the inductance is none; then a clamp has nothing to do. */
START_TEST(hardly_any_leakage_is_none)
{
    build(68e3);
    part_in("transformer")->leakage = 0;
    flyback_solved();
    double none = flyback_bench->out.input.power;
    part_in("transformer")->leakage = 0.9e-7 * 480e-6;
    stage_bench_unset(flyback_bench, "clamp_voltage");
    flyback_solved();
    ck_assert(flyback_bench->out.input.power == none && flyback_asked("clamp_loss") == 0.0);
    part_in("transformer")->leakage = 1.1e-7 * 480e-6;
    ck_assert_int_eq(stage_bench_solve(flyback_bench), HL_STAGE_INFEASIBLE);
}
END_TEST

/* Capacitance at the drain that is neither the switch's nor, seen through the turns, the diode's: closing on
 * a capacitor burns C/2 v^2 in the switch, whatever its resistance (source: any textbook of circuits; the
 * energy it held, which nothing takes back). In a valley v is what is left. Nothing where it is not stated,
 * or is no more than the switch's own. */
START_TEST(what_others_store_at_the_drain_is_lost_at_turn_on)
{
    flyback_design d = flyback_adapter(325, 0.3, _i ? 0 : 65e3);
    d.drop = 0.5;
    d.valley = _i ? 2 : 0;
    flyback_lay_out(flyback_bench, &d);
    part_in("switch")->output_charge = 20e-9;
    part_in("rectifier")->output_charge = 2e-9;
    flyback_solved();
    double reflected = 5.6 * 20.5, blocked = 325 / 5.6 + 20;
    double others = 105e-12 - 20e-9 / (325 + reflected) - 2e-9 / blocked / (5.6 * 5.6);
    double v = stage_bench_stress(flyback_bench, "switch")->voltage_on[0];
    ck_near(flyback_asked("continuous_conduction"), 0, 0, 0);
    if (!_i) ck_near(v, 325, 1e-12, 0);
    if (_i) ck_assert(v > 0.5 * 325 && v < 325);
    double hand = flyback_asked("switching_frequency") * 0.5 * others * v * v;
    ck_assert_double_gt(hand, 0.05);
    ck_near(flyback_bench->out.node_loss[0], hand, 1e-12, 0);
    ck_near(flyback_asked("node_loss"), hand, 1e-12, 0);
    part_in("switch")->output_charge = 60e-9;
    flyback_solved();
    ck_near(flyback_bench->out.node_loss[0], 0, 0, 0);
    part_in("switch")->output_charge = 20e-9;
    stage_bench_unset(flyback_bench, "drain_capacitance");
    flyback_solved();
    ck_near(flyback_bench->out.node_loss[0], 0, 0, 0);
}
END_TEST

/* Where the ring has died out the same has lost C/2 V0^2 in the winding, V0 = n (Vout + Vf) above the input
 * where it began: check_dead_ring.c holds that to the circuit in time. In a valley it still rings, and a
 * secondary that never rests lets nothing ring. */
START_TEST(what_others_ring_out_is_lost_in_the_winding)
{
    flyback_design d = flyback_adapter(325, 0.3, 65e3);
    d.drop = 0.5;
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    double reflected = 5.6 * 20.5, hand = flyback_asked("switching_frequency") * 0.5 * 105e-12;
    ck_near(flyback_bench->out.node_loss[1], hand * reflected * reflected, 1e-12, 0);
    flyback_bench->in.input_voltage = 100; /* the body path holds the drain at nothing */
    flyback_solved();
    ck_near(flyback_asked("continuous_conduction"), 0, 0, 0);
    ck_near(flyback_bench->out.node_loss[1], hand * 100 * 100, 1e-12, 0);
    d = flyback_adapter(100, 3, 65e3);
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    ck_near(flyback_asked("continuous_conduction"), 1, 0, 0);
    ck_near(flyback_bench->out.node_loss[1], 0, 0, 0);
    d = flyback_adapter(325, 0.3, 0);
    d.valley = 2;
    flyback_lay_out(flyback_bench, &d);
    flyback_solved();
    ck_near(flyback_bench->out.node_loss[1], 0, 0, 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, flyback_set_up, flyback_tear_down);
    tcase_add_loop_test(tests, a_part_that_cannot_be_is_refused, 0, (int)(sizeof spoilt / sizeof *spoilt));
    tcase_add_test(tests, a_drain_that_does_not_ring_is_said);
    tcase_add_test(tests, hardly_any_leakage_is_none);
    tcase_add_loop_test(tests, what_others_store_at_the_drain_is_lost_at_turn_on, 0, 2);
    tcase_add_test(tests, what_others_ring_out_is_lost_in_the_winding);
}

int main(void)
{
    return story_main("parts of a flyback", fill);
}
