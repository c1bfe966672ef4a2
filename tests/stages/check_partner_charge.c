/* check_partner_charge.c - charge and recovery of the device that a switch turns off are booked once: by the
 * table of the switch where it has one, else by the device (plugins/stages/partner_charge.h). Stages and the
 * shipped device models together, against sums by hand from the models' own equations: a table that is a
 * straight line, E = 20 uJ/A i at 400 V; Q ~ v^1/2, of which V Q - E(V) = 2/3 V Q; the printed recovery at
 * its own current and slope. That a turn-on energy holds both: IEC 60747-9, inductive load, from memory. */
#include <math.h>

#include "boost_pfc_design.h"
#include "device_bench.h"
#include "flyback_design.h"
#include "story.h"

static const double room = 298.15, slope = 3e8; /* K, A/s: the stages' own commutation_slope */
static const double per_ampere = 20e-6, charge = 22e-9;
static device_bench *diode, *junction, *with_table, *plain;
static const double left_per_ampere = 4e-6; /* J/A, that the table leaves to the diode it turns off */

/* Output charge and gate left out: what is booked is the table's or the recovery's. */
static device_bench *transistor(double first)
{
    device_bench *b = device_bench_create("silicon_mosfet");
    double i[] = {first, 100}, on[] = {first * per_ampere, 100 * per_ampere}, off[] = {1e-9, 2e-9};
    double left[] = {first * left_per_ampere, 100 * left_per_ampere};
    device_bench_set(b, "on_resistance", 0.05);
    device_bench_set(b, "rated_voltage", 650);
    device_bench_set(b, "recovery_charge", 1e-6);
    device_bench_set(b, "recovery_current", 5);
    device_bench_set(b, "recovery_slope", slope);
    if (first > 0) {
        device_bench_curve(b, "turn_on_energy", 2, i, on);
        device_bench_curve(b, "turn_off_energy", 2, i, off);
        device_bench_curve(b, "recovery_energy", 2, i, left);
        device_bench_set(b, "energy_voltage", 400);
    }
    device_bench_expect_prepared(b);
    return b;
}

static void set_up(void)
{
    diode = device_bench_create("silicon_carbide_schottky");
    junction = device_bench_create("junction_diode");
    device_bench *each[] = {diode, junction};
    for (int d = 0; d < 2; d++) {
        device_bench_set(each[d], "rated_voltage", 650);
        device_bench_set(each[d], "rated_current", 8);
        device_bench_set(each[d], "capacitive_charge", charge);
        device_bench_set(each[d], "capacitive_voltage", 400);
    }
    device_bench_set(junction, "recovery_charge", 60e-9);
    device_bench_set(junction, "recovery_current", 5);
    device_bench_set(junction, "recovery_slope", slope);
    device_bench_expect_prepared(diode);
    device_bench_expect_prepared(junction);
    with_table = transistor(2.0);
    plain = transistor(0.0);
}

static void tear_down(void)
{
    device_bench *each[] = {diode, junction, with_table, plain};
    for (int d = 0; d < 4; d++) device_bench_destroy(each[d]);
}

/* The terminal of a shipped switch in an ideal slot, without its output charge. */
static void show(const device_bench *device, hl_terminal *slot)
{
    hl_terminal shown = device_bench_terminal(device, room, 400);
    slot->turn_on_table = shown.turn_on_table;
    slot->turn_on_first = shown.turn_on_first;
}

static double booked(const device_bench *device, const hl_stress *stress, hl_mechanism what)
{
    return device_bench_loss(device, stress, room).watts[what];
}

START_TEST(a_switch_shows_its_table)
{
    hl_terminal with = device_bench_terminal(with_table, room, 400),
                without = device_bench_terminal(plain, room, 400);
    ck_near(with.turn_on_table, 1, 0, 0);
    ck_near(with.turn_on_first, 2, 0, 0);
    ck_near(without.turn_on_table + without.turn_on_first, 0, 0, 0);
}
END_TEST

/* J: of int (top - u) C du over a swing up to `top`, C = dQ/du of Q = charge (u / 400 V)^q, by the midpoint
 * rule in Q, which is smooth. */
static double charged_by_hand(double q, double top, double swing)
{
    double sum = 0, low = pow((top - swing) / 400, q), high = pow(top / 400, q);
    for (int k = 0; k < 20000; k++) {
        double share = low + (high - low) * (k + 0.5) / 20000;
        sum += (top - 400 * pow(share, 1 / q)) * charge * (high - low) / 20000;
    }
    return sum;
}

/* ----------------------------------------------------------------- boost -- */

static stage_bench *pfc(const char *model, double load)
{
    stage_bench *bench = stage_bench_create(model, NULL);
    boost_pfc_lay_out_ideal(bench, 5e-4);
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 67e3);
    boost_pfc_mains(bench, 115, 60);
    stage_bench_load(bench, 400, load);
    return bench;
}

/* Sums over the line, W: table, charge at a diode, and recovery at its printed slope. `with`: the table
 * stands. A cycle in which the diode still conducts at turn-on charges it all, another by the drain's swing.
 */
typedef struct by_hand {
    double table, charged, recovered;
    size_t above, below;
} by_hand;

static by_hand count(const hl_stress *sw, bool with)
{
    by_hand sum = {0};
    for (size_t k = 0; k < sw->n; k++) {
        double i = sw->current_on[k], wf = sw->weight[k] * sw->frequency[k], v = sw->voltage_on[k] / 400;
        double own = !with ? 1.0 : i < 2.0 ? 1.0 - i / 2.0 : 0.0;
        /* integral of (V - u) C du from V - s to V, C = dQ/du, Q = charge (u / 400 V)^1/2, V = 400 V */
        double from = 1.0 - v, swung = 400 * charge * (2.0 / 3 - sqrt(from) + pow(from, 1.5) / 3);
        one_cycle_store store;
        hl_stress full = one_cycle_stress(
            &store, (one_cycle){.frequency = 1, .off = i, .slope = slope, .voltage_off = 400});
        sum.table += wf * per_ampere * i * pow(v, 1.3);
        sum.charged += wf * own * swung;
        sum.recovered += wf * own * booked(junction, &full, HL_REVERSE_RECOVERY);
        sum.above += i >= 2.0;
        sum.below += i > 0.0 && i < 2.0;
    }
    return sum;
}

START_TEST(a_boost_books_its_diode_once)
{
    bool with = _i;
    stage_bench *bench = pfc("boost_pfc", 0.8);
    if (with) show(with_table, &bench->part[0]);
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    const hl_stress *sw = stage_bench_stress(bench, "switch"), *re = stage_bench_stress(bench, "rectifier");
    by_hand sum = count(sw, with), alone = count(sw, false);
    ck_assert(sum.above > 3 && sum.below > 0); /* both sides of the table's first current are met */
    ck_near(booked(with_table, sw, HL_TURN_ON), sum.table, 1e-9, 0);
    ck_near(booked(diode, re, HL_OUTPUT_CHARGE), sum.charged, 1e-6, 0);
    ck_near(booked(junction, re, HL_OUTPUT_CHARGE), sum.charged, 1e-6, 0);
    ck_near(booked(junction, re, HL_REVERSE_RECOVERY), sum.recovered, 1e-9, 0);
    if (with) ck_assert(sum.charged < 0.5 * alone.charged && sum.recovered < 0.25 * alone.recovered);
    stage_bench_destroy(bench);
}
END_TEST

/* From rest the table says nothing: the diode is charged as without it. */
START_TEST(a_boost_that_rests_keeps_its_diodes_charge)
{
    stage_bench *bench = pfc("boost_pfc", 0.02);
    stage_bench_expect_solved(bench);
    double before = booked(diode, stage_bench_stress(bench, "rectifier"), HL_OUTPUT_CHARGE);
    show(with_table, &bench->part[0]);
    stage_bench_expect_solved(bench);
    ck_assert_double_gt(before, 0);
    ck_near(booked(diode, stage_bench_stress(bench, "rectifier"), HL_OUTPUT_CHARGE), before, 0, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* At rest the node stands at the line voltage, which is what the switch then blocks. */
START_TEST(a_boost_that_rests_charges_its_diode_by_ring_and_switch)
{
    stage_bench *bench = pfc("boost_pfc", 0.02);
    stage_bench_expect_solved(bench);
    const hl_stress *sw = stage_bench_stress(bench, "switch"), *re = stage_bench_stress(bench, "rectifier");
    double hand = 0;
    for (size_t k = 0; k < sw->n; k++) {
        double v = sw->voltage_on[k], each = charged_by_hand(0.5, 400, v);
        ck_near(hl_stress_at(sw->current_on, k), 0, 0, 0);
        hand += sw->weight[k] * sw->frequency[k] * (each + charged_by_hand(0.5, 400 - v, 400 - v));
    }
    ck_near(booked(diode, re, HL_OUTPUT_CHARGE), hand, 1e-6, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* Hz, mean over the cycles. */
static double turned_on(const hl_stress *stress)
{
    double sum = 0.0;
    for (size_t k = 0; k < stress->n; k++) sum += stress->weight[k] * stress->frequency[k];
    return sum;
}

/* The fast leg is switch and rectifier in turn: the same table is the one's that turns on. */
START_TEST(a_totem_pole_recovers_only_without_a_table)
{
    stage_bench *bench = stage_bench_create("totem_pole_pfc", NULL);
    stage_bench_fill(bench, bench->model->stage->slots[0].name, HL_FAMILY_SWITCH, 2);
    stage_bench_fill(bench, bench->model->stage->slots[1].name, HL_FAMILY_SWITCH, 2);
    stage_bench_fill(bench, bench->model->stage->slots[2].name, HL_FAMILY_MAGNETIC, 1)->inductance = 5e-4;
    stage_bench_choose(bench, "mode", "continuous");
    stage_bench_set(bench, "switching_frequency", 67e3);
    boost_pfc_mains(bench, 115, 60);
    stage_bench_load(bench, 400, 2.0);
    stage_bench_expect_solved(bench);
    double before = booked(plain, &bench->out.stress[0], HL_REVERSE_RECOVERY);
    double gate_before = turned_on(&bench->out.stress[0]);
    show(with_table, &bench->part[0]);
    stage_bench_expect_solved(bench);
    ck_assert_double_gt(before, 1.0);
    ck_assert_double_lt(booked(with_table, &bench->out.stress[0], HL_REVERSE_RECOVERY), 0.3 * before);
    ck_near(turned_on(&bench->out.stress[0]), gate_before, 0, 0); /* its gate is driven as before */
    stage_bench_destroy(bench);
}
END_TEST

/* The dc-fed boost and the legs of the buck-boost share their helper with the buck below. */
START_TEST(a_dc_boost_books_its_diode_once)
{
    stage_bench *bench = stage_bench_create("boost", NULL);
    stage_bench_fill(bench, bench->model->stage->slots[0].name, HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, bench->model->stage->slots[1].name, HL_FAMILY_DIODE, 1);
    stage_bench_fill(bench, bench->model->stage->slots[2].name, HL_FAMILY_MAGNETIC, 1)->inductance = 1e-3;
    stage_bench_set(bench, "switching_frequency", 1e5);
    bench->in.input_voltage = 200;
    bench->in.output_capacitance = 1e-4;
    stage_bench_load(bench, 400, 2);
    stage_bench_expect_solved(bench);
    ck_near(booked(diode, &bench->out.stress[1], HL_OUTPUT_CHARGE), 1e5 * 400 * charge * 2 / 3, 1e-9, 0);
    show(with_table, &bench->part[0]);
    stage_bench_expect_solved(bench);
    ck_near(booked(diode, &bench->out.stress[1], HL_OUTPUT_CHARGE), 0, 0, 0);
    ck_assert_double_gt(booked(with_table, &bench->out.stress[0], HL_TURN_ON), 0);
    stage_bench_destroy(bench);
}
END_TEST

/* ------------------------------------------------------------------ rest -- */

/* From rest a diode is charged twice in a cycle: by the ring that brings its node to rest, from 0 V to what
 * it blocks there, and by the switch that turns on, from there on by as much as the node swings. Both come
 * from a stiff voltage V: int (V - u) C du, of a constant C 1/2 C s^2 of a swing s (any textbook: what
 * charging a capacitor through a resistor loses). */
static const struct {
    const char *model, *starter, *partner, *other[2];
    double in, out, load, rest,
        swing; /* V the diode blocks at rest; V the node swings as the switch turns on */
} resting[] = {
    {"synchronous_buck", "high_switch", "low_switch", {NULL}, 400, 100, 0.05, 100, 300},
    {"boost", "switch", "rectifier", {NULL}, 150, 400, 0.02, 250, 150},
    {"four_switch_buck_boost",
     "input_high_switch",
     "input_low_switch",
     {"output_low_switch", "output_high_switch"},
     400,
     100,
     0.05,
     100,
     300},
};

START_TEST(a_diode_at_rest_is_charged_by_ring_and_switch)
{
    int stage = _i / 2;
    double q = _i % 2 ? 1.0 : 0.5;
    stage_bench *bench = stage_bench_create(resting[stage].model, NULL);
    device_bench_set(diode, "capacitive_exponent", q);
    device_bench_expect_prepared(diode);
    stage_bench_fill(bench, resting[stage].starter, HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, resting[stage].partner, HL_FAMILY_DIODE, 1);
    for (int k = 0; k < 2 && resting[stage].other[k]; k++)
        stage_bench_fill(bench, resting[stage].other[k], HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1)->inductance = 1e-4;
    stage_bench_set(bench, "switching_frequency", 1e5);
    stage_bench_choose(bench, "light_load", "diode_emulation");
    bench->in.input_voltage = resting[stage].in;
    stage_bench_load(bench, resting[stage].out, resting[stage].load);
    stage_bench_expect_solved(bench);
    const hl_stress *re = stage_bench_stress(bench, resting[stage].partner);
    double top = resting[stage].rest + resting[stage].swing, rest = resting[stage].rest,
           swing = resting[stage].swing;
    double hand = charged_by_hand(q, rest, rest) + charged_by_hand(q, top, swing);
    if (q == 1.0) ck_near(hand, 0.5 * charge / 400 * (rest * rest + swing * swing), 1e-6, 0);
    ck_near(booked(diode, re, HL_OUTPUT_CHARGE), 1e5 * hand, 1e-6, 0);
    ck_near(booked(junction, re, HL_REVERSE_RECOVERY), 0, 0, 0);
    stage_bench_destroy(bench);
}
END_TEST

/* A ring in time: source v, inductor, resistor and the diode's constant capacitance from 0 V on, by small
 * steps until it rests. What the resistor took is 1/2 C v^2, whatever it is. */
START_TEST(a_ring_that_dies_out_loses_what_a_resistor_would)
{
    double v = 100, c = 55e-12, l = 1e-4, r = _i ? 30 : 300, u = 0, i = 0, lost = 0, step = 2e-11;
    for (double t = 0; t < 6 * 2 * l / r; t += step) {
        double before = i;
        i += step * (v - u - r * i) / l; /* then the capacitor with the new current: keeps the energy */
        u += step * i / c;
        lost += step * r * 0.5 * (before * before + i * i);
    }
    ck_near(lost, 0.5 * c * v * v, 1e-3, 0);
    ck_near(lost, charged_by_hand(1.0, v, v) * c * 400 / charge, 1e-3, 0);
}
END_TEST

/* ------------------------------------------------------------------ buck -- */

/* 400 V to 200 V with no drops: ripple 100 kHz, 1 mH: 1 A, so that `valley` A stand at the turn-on. */
static stage_bench *buck(double valley)
{
    stage_bench *bench = stage_bench_create("synchronous_buck", NULL);
    stage_bench_fill(bench, "high_switch", HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, "low_switch", HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1)->inductance = 1e-3;
    stage_bench_set(bench, "switching_frequency", 1e5);
    stage_bench_set(bench, "dead_time_fall", 0);
    stage_bench_set(bench, "dead_time_rise", 0);
    stage_bench_choose(bench, "light_load", "forced_continuous");
    bench->in.input_voltage = 400;
    stage_bench_load(bench, 200, valley + 0.5);
    return bench;
}

static const struct {
    bool high, low;
    double valley, least, most; /* of V Q f = 40 W, printed at 5 A */
} bucks[] = {
    {false, false, 5.0, 1.0, 1.0},
    {true, false, 5.0, 0.0, 0.0},
    {false, true, 5.0, 1.0, 1.0}, /* the table that would hold it is not the one that turns on */
    {true, true, 5.0, 0.0, 0.0},
    {true, true, 1.0, 0.1, 0.2}, /* half below 2 A: half or more of what 1 A of 5 A leave, a fifth or more */
};

START_TEST(a_buck_recovers_by_the_table_of_its_high_switch)
{
    stage_bench *bench = buck(bucks[_i].valley);
    const device_bench *high = bucks[_i].high ? with_table : plain, *low = bucks[_i].low ? with_table : plain;
    show(high, &bench->part[0]);
    show(low, &bench->part[1]);
    stage_bench_expect_solved(bench);
    const hl_stress *on = stage_bench_stress(bench, "high_switch"),
                    *off = stage_bench_stress(bench, "low_switch");
    ck_near(on->current_on[0], bucks[_i].valley, 1e-9, 0);
    double all = 400 * 1e-6 * 1e5, recovered = booked(low, off, HL_REVERSE_RECOVERY);
    if (bucks[_i].least == bucks[_i].most)
        ck_near(recovered, bucks[_i].most * all, 1e-9, 0);
    else
        ck_assert(recovered > bucks[_i].least * all && recovered < bucks[_i].most * all);
    if (bucks[_i].high) ck_near(booked(high, on, HL_TURN_ON), 1e5 * per_ampere * bucks[_i].valley, 1e-9, 0);
    ck_near(booked(high, on, HL_REVERSE_RECOVERY),
            bucks[_i].high ? 1e5 * left_per_ampere * bucks[_i].valley : 0, 1e-9, 0);
    ck_near(off->frequency[0], 1e5, 1e-12, 0); /* its gate is driven all the same */
    stage_bench_destroy(bench);
}
END_TEST

/* --------------------------------------------------------------- flyback -- */

/* In continuous mode the current leaves the rectifier through the leakage inductance and the switch starts
 * from none, as no table's test does: its table books nothing, and the rectifier all of its own, once. */
static const double leakages[] = {0.0, 9e-6};

START_TEST(a_flyback_books_its_rectifier_once)
{
    flyback_set_up();
    flyback_design d = flyback_adapter(100, 3.0, 100e3);
    d.leakage = leakages[_i];
    d.drop = 0.5;
    flyback_lay_out(flyback_bench, &d);
    show(with_table, &flyback_bench->part[0]);
    flyback_solved();
    const hl_stress *re = stage_bench_stress(flyback_bench, "rectifier"),
                    *sw = stage_bench_stress(flyback_bench, "switch");
    one_cycle_store store;
    hl_stress full = one_cycle_stress(&store, (one_cycle){.frequency = 100e3,
                                                          .off = re->current_off[0],
                                                          .slope = re->slope_off[0],
                                                          .voltage_off = 20 + 100 / 5.6});
    double v = (20 + 100 / 5.6) / 400; /* V Q - E of Q = charge v^1/2 */
    ck_assert_double_gt(re->current_off[0], 0);
    ck_near(booked(with_table, sw, HL_TURN_ON), 0, 0, 0);
    ck_near(booked(with_table, sw, HL_REVERSE_RECOVERY), 0, 0, 0);
    ck_near(booked(junction, re, HL_OUTPUT_CHARGE), 1e5 * 400 * charge * pow(v, 1.5) * 2 / 3, 1e-9, 0);
    ck_near(booked(junction, re, HL_REVERSE_RECOVERY), booked(junction, &full, HL_REVERSE_RECOVERY), 1e-9, 0);
    flyback_tear_down();
}
END_TEST

/* In discontinuous mode its current has run out. At a fixed frequency the dying ring charges it to the 20 V
 * of the output, then the switch by Vin/n; in a valley the ring has given back what it took, and the switch
 * takes what is left at the drain. */
START_TEST(a_flyback_that_rests_charges_its_diode_by_ring_and_switch)
{
    flyback_set_up();
    double in = _i ? 200 : 100;
    flyback_design d = flyback_adapter(in, 0.3, 100e3);
    d.drop = 0.5;
    flyback_lay_out(flyback_bench, &d);
    if (_i) {
        stage_bench_choose(flyback_bench, "mode", "quasi_resonant");
        stage_bench_set(flyback_bench, "drain_capacitance", 150e-12);
    }
    flyback_solved();
    const hl_stress *re = stage_bench_stress(flyback_bench, "rectifier"),
                    *sw = stage_bench_stress(flyback_bench, "switch");
    double all = 20 + in / 5.6, left = sw->voltage_on[0] / 5.6;
    double hand = charged_by_hand(0.5, all, left) + (_i ? 0 : charged_by_hand(0.5, 20, 20));
    if (!_i) ck_near(left, 100 / 5.6, 1e-12, 0);
    if (_i) ck_assert(left > 0 && left < 0.5 * in / 5.6);
    ck_assert(!(re->current_off[0] > 0));
    ck_near(booked(diode, re, HL_OUTPUT_CHARGE), flyback_asked("switching_frequency") * hand, 1e-6, 0);
    flyback_tear_down();
}
END_TEST

/* A transistor in the rectifier's slot: its gate must not be driven more often for being charged. */
typedef struct synchronous_case {
    double in, load, leakage, drain;
    bool resonant, continuous, ring_dies;
    double burst; /* A, least peak current */
    unsigned count;
} synchronous_case;

static const synchronous_case synchronous[] = {
    {100, 3.0, 0, 0, false, true, false, 0, 1},
    {100, 3.0, 9e-6, 0, false, true, false, 0, 1},
    {100, 0.3, 9e-6, 0, false, false, true, 0, 1},
    {100, 0.3, 9e-6, 300e-12, false, false, true, 0, 1}, /* what a user states of the drain adds nothing */
    {200, 0.3, 9e-6, 150e-12, true, false, false, 0, 1}, /* in a valley, which is not deep */
    {90, 0.3, 9e-6, 150e-12, true, false, false, 0, 1},  /* in one that reaches no voltage */
    {200, 0.3, 9e-6, 0, true, false, false, 0, 1},       /* nothing to ring with: its valley comes at once */
    {100, 0.02, 9e-6, 0, false, false, true, 1.0, 1},
    {200, 0.02, 9e-6, 150e-12, true, false, false, 1.0, 1},
    {100, 0.3, 9e-6, 0, false, false, true, 0, 2},
};

static double rectifier_exponent;

/* Q = charge (u / 400 V)^q, of which E / (V Q) = q / (1 + q). */
static device_bench *charged_transistor(double q)
{
    device_bench *b = device_bench_create("silicon_mosfet");
    device_bench_set(b, "on_resistance", 0.01);
    device_bench_set(b, "rated_voltage", 150);
    device_bench_set(b, "output_charge", charge);
    device_bench_set(b, "output_energy", charge * 400 * q / (1 + q));
    device_bench_set(b, "output_voltage", 400);
    device_bench_set(b, "gate_charge", 40e-9);
    device_bench_set(b, "gate_drive_voltage", 10);
    device_bench_expect_prepared(b);
    rectifier_exponent = q;
    return b;
}

/* The flyback with it, solved: the stress of the one that stands for `count` of them. */
static const hl_stress *solve_synchronous(const synchronous_case *c, const device_bench *transistor)
{
    flyback_design d = flyback_adapter(c->in, c->load, 100e3);
    d.leakage = c->leakage;
    d.capacitance = c->drain;
    flyback_lay_out(flyback_bench, &d);
    stage_bench_fill(flyback_bench, "rectifier", HL_FAMILY_SWITCH, c->count);
    hl_slot_view *slot = &flyback_bench->in.slot[2];
    ck_assert_str_eq(flyback_bench->model->stage->slots[2].name, "rectifier");
    slot->device = transistor->model->device;
    slot->state = transistor->state;
    if (c->resonant) stage_bench_choose(flyback_bench, "mode", "quasi_resonant");
    if (!(c->drain > 0)) stage_bench_unset(flyback_bench, "drain_capacitance");
    if (c->burst > 0) stage_bench_set(flyback_bench, "burst_peak_current", c->burst);
    flyback_solved();
    return stage_bench_stress(flyback_bench, "rectifier");
}

/* Continuous: all of Vin/n + Vout. Else from what it blocks at rest, Vout or in the valley, by what is left
 * at the drain; the ring that brought it to rest, where it dies, as what a resistor would lose. */
START_TEST(a_flyback_charges_its_synchronous_rectifier)
{
    static const double exponents[] = {0.5, 1.0, 0.2};
    enum { CASES = sizeof synchronous / sizeof *synchronous };
    const synchronous_case *c = &synchronous[_i % CASES];
    flyback_set_up();
    device_bench *transistor = charged_transistor(exponents[_i / CASES]);
    const hl_stress *re = solve_synchronous(c, transistor), *sw = stage_bench_stress(flyback_bench, "switch");
    double top = 20 + c->in / 5.6, left = c->continuous ? top : sw->voltage_on[0] / 5.6;
    double hand = charged_by_hand(rectifier_exponent, top, left);
    if (c->ring_dies) hand += charged_by_hand(rectifier_exponent, 20, 20);
    if (c->ring_dies) ck_near(left, c->in / 5.6, 1e-12, 0);
    if (c->resonant) ck_assert(left < 0.5 * c->in / 5.6);
    ck_near(flyback_asked("continuous_conduction"), c->continuous, 0, 0);
    double often = flyback_asked("switching_frequency") * flyback_asked("burst_duty");
    if (c->burst > 0) ck_assert(flyback_asked("burst_duty") < 0.9);
    ck_near(booked(transistor, re, HL_OUTPUT_CHARGE), often * hand, 1e-5, hand > 0 ? 0 : 1e-12);
    ck_near(booked(transistor, re, HL_GATE_DRIVE), often * 40e-9 * 10, 1e-9, 0);
    device_bench_destroy(transistor);
    flyback_tear_down();
}
END_TEST

/* J in resistors of the flyback's own circuit in time, apart from its solver: 480 uH and its leakage ring
 * with the rectifier alone, Q = charge (u / 400 V)^1/2, until it rests; then a channel of 100 ohm takes down
 * the drain and `drain` F that hang on it, whose 1/2 C v^2 is not counted. i from the input into the drain at
 * n (top - u). */
static double rung_in_time(double in, double from)
{
    double top = 20 + in / 5.6, l = 489e-6, r = 4e3, q = 0, i = 0, lost = 0, step = 1e-11;
    for (double t = 0; t < 16 * 2 * l / r; t += step) {
        double u = 400 * pow(q / charge, 2) * (q < 0 ? -1 : 1), before = i;
        i += step * (in - 5.6 * (top - u) - r * i) / l;
        q -= step * 5.6 * i;
        lost += step * r * 0.5 * (before * before + i * i);
    }
    ck_near(400 * pow(q / charge, 2), from, 1e-3, 0);
    return lost;
}

static double shorted_in_time(double top, double v, double drain)
{
    double q = charge * sqrt((top - v / 5.6) / 400), lost = 0, at = v;
    while (at > 1e-4 * v) {
        double u = 400 * pow(q / charge, 2), own = charge / sqrt(400 * u) / 2 / (5.6 * 5.6);
        double step = 5e-4 * 100 * (own + drain), taken = step * at / 100; /* A s out of the drain */
        q += 5.6 * taken * own / (own + drain);
        double next = 5.6 * (top - 400 * pow(q / charge, 2));
        lost += 0.5 * (at + next) * taken;
        at = next;
    }
    return lost - 0.5 * drain * v * v;
}

START_TEST(a_flyback_in_time_loses_what_its_rectifier_books)
{
    const synchronous_case *c = &synchronous[_i ? 4 : 2];
    flyback_set_up();
    device_bench *transistor = charged_transistor(0.5);
    const hl_stress *re = solve_synchronous(c, transistor);
    double v = stage_bench_stress(flyback_bench, "switch")->voltage_on[0];
    double lost = shorted_in_time(20 + c->in / 5.6, v, c->drain);
    if (c->ring_dies) lost += rung_in_time(c->in, 20);
    ck_near(booked(transistor, re, HL_OUTPUT_CHARGE), flyback_asked("switching_frequency") * lost, 2e-3, 0);
    device_bench_destroy(transistor);
    flyback_tear_down();
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, a_switch_shows_its_table);
    tcase_add_loop_test(tests, a_boost_books_its_diode_once, 0, 2);
    tcase_add_test(tests, a_boost_that_rests_keeps_its_diodes_charge);
    tcase_add_test(tests, a_boost_that_rests_charges_its_diode_by_ring_and_switch);
    tcase_add_test(tests, a_totem_pole_recovers_only_without_a_table);
    tcase_add_test(tests, a_dc_boost_books_its_diode_once);
    tcase_add_loop_test(tests, a_diode_at_rest_is_charged_by_ring_and_switch, 0,
                        2 * (int)(sizeof resting / sizeof *resting));
    tcase_add_loop_test(tests, a_ring_that_dies_out_loses_what_a_resistor_would, 0, 2);
    tcase_add_loop_test(tests, a_buck_recovers_by_the_table_of_its_high_switch, 0,
                        (int)(sizeof bucks / sizeof *bucks));
    tcase_add_loop_test(tests, a_flyback_that_rests_charges_its_diode_by_ring_and_switch, 0, 2);
    tcase_add_loop_test(tests, a_flyback_books_its_rectifier_once, 0, 2);
    tcase_add_loop_test(tests, a_flyback_charges_its_synchronous_rectifier, 0,
                        3 * (int)(sizeof synchronous / sizeof *synchronous));
    tcase_add_loop_test(tests, a_flyback_in_time_loses_what_its_rectifier_books, 0, 2);
}

int main(void)
{
    return story_main("partner_charge", fill);
}
