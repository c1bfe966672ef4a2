/* check_silicon_mosfet.c - the silicon switch against published worked examples, and its own book-keeping. */
#include <math.h>
#include <string.h>

#include "device_bench.h"
#include "device_properties.h"
#include "published.h"
#include "story.h"

static const double hot = 373.15, room = 298.15;

/* S. Abdel-Rahman, F. Stueckler, K. Siu (Infineon), "PFC boost converter design guide, 1200 W design
 * example", Rev 1.1, 2016, sect. 2.3.1, eq. 16-25 and their data: R 45 mohm, 1.8 times that at 100 degC;
 * C_iss 4.34 nF, C_rss 75 pF (charge equivalent), R_g 1.8 ohm, gate 12 / 3.5 / 5.4 V, E_oss 11.7 uJ, Q_g 93
 * nC, 400 V, 100 kHz. Gate charge from its capacitances: Q_gs2 = C_iss (V_pl - V_th), Q_gd = C_rss (V_ds -
 * V_pl). */
static device_bench *boost_switch(void)
{
    device_bench *b = device_bench_create("silicon_mosfet");
    double t[] = {room, hot}, factor[] = {1.0, 1.8};
    device_bench_set(b, "on_resistance", 0.045);
    device_bench_set(b, "rated_voltage", 650);
    device_bench_curve(b, "resistance_factor", 2, t, factor);
    device_bench_set(b, "gate_source_charge_after_threshold", 4.34e-9 * (5.4 - 3.5));
    device_bench_set(b, "gate_drain_charge", 75e-12 * (400 - 5.4));
    device_bench_set(b, "gate_charge_voltage", 400);
    device_bench_set(b, "gate_charge", 93e-9);
    device_bench_set(b, "gate_drive_voltage", 12);
    device_bench_set(b, "threshold_voltage", 3.5);
    device_bench_set(b, "plateau_voltage", 5.4);
    device_bench_set(b, "gate_resistance_on", 1.8);
    device_bench_set(b, "gate_resistance_off", 1.8);
    device_bench_set(b, "internal_gate_resistance", 0);
    device_bench_set(b, "output_energy", 11.7e-6);
    device_bench_set(b, "output_voltage", 400);
    device_bench_choose(b, "turn_off_law", "channel");
    return b;
}

/* Its currents, eq. 16, 19: all figures lossless, ripple left out. */
static one_cycle boost_current(double mains)
{
    double power = 1200, output = 400, pi = 3.14159265358979;
    double rms = power / mains * sqrt(1 - 8 * sqrt(2) * mains / (3 * pi * output));
    double mean = power / mains * 2 * sqrt(2) / pi;
    return (one_cycle){
        .frequency = 100e3, .rms = rms, .on = mean, .off = mean, .voltage_on = output, .voltage_off = output};
}

/* Printed: 12.2 A, 12.71 A, 12 W, 10 ns, 2.5 W, 13.3 ns (13.25 used), 3.4 W, 1.17 W, 0.11 W, 19.2 W in all.
 * Here: 12.03 W, 10.05 ns, 2.554 W, 13.25 ns, 3.369 W, 1.17 W, 0.1116 W, 19.12 W. The printed turn-on power
 * is that of the rounded 10 ns (2.54, cut to 2.5), so the time is what is compared to its last digit. */
START_TEST(boost_switch_at_low_mains)
{
    device_bench *b = boost_switch();
    device_bench_expect_prepared(b);
    one_cycle_store store;
    one_cycle cycle = boost_current(85);
    hl_stress stress = one_cycle_stress(&store, cycle);
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, eq. 16: switch current rms, A",
                 cycle.rms, 12.2, 0, 0.05);
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, eq. 19: current at turn-on, A",
                 cycle.on, 12.71, 0, 0.005);
    hl_loss loss = device_bench_loss(b, &stress, hot);
    double overlap = 0.5 * 400 * cycle.on * 100e3; /* W per s */
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, conduction, W",
                 loss.watts[HL_CONDUCTION], 12, 0, 0.5);
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, turn-on time, s",
                 loss.watts[HL_TURN_ON] / overlap, 10e-9, 0, 0.5e-9);
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, turn-off time, s",
                 loss.watts[HL_TURN_OFF] / overlap, 13.25e-9, 0, 0.005e-9);
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, turn-off, W",
                 loss.watts[HL_TURN_OFF], 3.4, 0, 0.05);
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, output charge, W",
                 loss.watts[HL_OUTPUT_CHARGE], 1.17, 0, 0.005);
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, gate drive, W",
                 loss.watts[HL_GATE_DRIVE], 0.11, 0, 0.005);
    /* total as printed, without the gate: its parts were rounded before they were added (12 + 2.5 + 3.4
     * + 1.17) */
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, switch in all, W",
                 device_bench_watts(&loss) - loss.watts[HL_GATE_DRIVE], 19.2, 0, 0.1);
    device_bench_destroy(b);
}
END_TEST

/* The same guide, Fig. 20, at 230 V: 16 % of 25.3 W, so 3.92 to 4.17 W by the rounding of the percentage. */
START_TEST(boost_switch_at_high_mains)
{
    device_bench *b = boost_switch();
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, boost_current(230));
    hl_loss loss = device_bench_loss(b, &stress, hot);
    ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W example, "
                 "2016, fig. 20: switch at 230 V, W",
                 device_bench_watts(&loss) - loss.watts[HL_GATE_DRIVE], 0.16 * 25.3, 0, 0.005 * 25.3);
    device_bench_destroy(b);
}
END_TEST

/* The guide warns that the true turn-off loss of a superjunction switch can be down to half the plain
 * overlap, since the output capacitance takes over the current. With its 1.8 ohm gate the channel is shut
 * before the voltage rises (under a tenth is left); with 10 ohm some 70 % is left. */
START_TEST(output_capacitance_relieves_turn_off)
{
    device_bench *b = boost_switch();
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, boost_current(85));
    for (int slow = 0; slow < 2; slow++) {
        device_bench_set(b, "gate_resistance_off", slow ? 10 : 1.8);
        device_bench_choose(b, "turn_off_law", "channel");
        device_bench_expect_prepared(b);
        double plain = device_bench_loss(b, &stress, hot).watts[HL_TURN_OFF];
        device_bench_choose(b, "turn_off_law", "snubbed");
        device_bench_expect_prepared(b);
        double left = device_bench_loss(b, &stress, hot).watts[HL_TURN_OFF] / plain;
        if (slow) ck_near(left, 0.7, 0, 0.15);
        if (!slow) ck_assert(left > 0 && left < 0.1);
    }
    device_bench_destroy(b);
}
END_TEST

/* A switch whose overlap is one stated time: 1/2 (t_on + t_off), put in as plateau charge. */
static device_bench *timed_switch(double resistance, double time)
{
    device_bench *b = device_bench_create("silicon_mosfet");
    device_bench_set(b, "on_resistance", resistance);
    device_bench_set(b, "resistance_exponent", 0);
    device_bench_set(b, "rated_voltage", 30);
    device_bench_set(b, "gate_drive_voltage", 10);
    device_bench_set(b, "threshold_voltage", 4);
    device_bench_set(b, "plateau_voltage", 5);
    device_bench_set(b, "gate_resistance_on", 10);
    device_bench_set(b, "gate_resistance_off", 10);
    device_bench_set(b, "internal_gate_resistance", 0);
    device_bench_set(b, "gate_drain_charge", 0.5 * time); /* t = R Q / 5 V */
    device_bench_set(b, "gate_source_charge_after_threshold", 0);
    device_bench_set(b, "gate_charge_voltage", 12);
    device_bench_choose(b, "turn_off_law", "channel");
    device_bench_expect_prepared(b);
    return b;
}

/* STMicroelectronics, data sheet of a 2 A step-down regulator, application information, eq. 23-27 (excerpts
 * seen): 0.4 ohm hot, 2 A, D 0.3, 12 V, equivalent switching time 70 ns, 250 kHz, 2.5 mA of its own: 0.93 W.
 * Here 0.48 + 0.42 W, and the regulator's 0.03 W besides, which no switch loses. */
START_TEST(regulator_switch)
{
    device_bench *b = timed_switch(0.4, 70e-9);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, (one_cycle){.frequency = 250e3,
                                                            .rms = 2 * sqrt(0.3),
                                                            .on = 2,
                                                            .off = 2,
                                                            .voltage_on = 12,
                                                            .voltage_off = 12});
    hl_loss loss = device_bench_loss(b, &stress, hot);
    ck_published("STMicroelectronics, data sheet of a 2 A step-down regulator, eq. 23-27: loss, W",
                 device_bench_watts(&loss) + 12 * 2.5e-3, 0.93, 0, 0.005);
    device_bench_destroy(b);
}
END_TEST

/* ROHM, data sheet of a 2 A synchronous step-down regulator, 2014, permissible dissipation: 5 V to 3.3 V, 2
 * A, 200 and 160 mohm: duty 0.66, mean resistance 0.1864 ohm, 0.7456 W. Ripple left out. */
START_TEST(two_switches_of_a_synchronous_buck)
{
    double watts = 0, duty = 3.3 / 5, r[] = {0.2, 0.16}, share[] = {duty, 1 - duty};
    for (int k = 0; k < 2; k++) {
        device_bench *b = timed_switch(r[k], 1e-9);
        one_cycle_store store;
        hl_stress stress = one_cycle_stress(&store, (one_cycle){.rms = 2 * sqrt(share[k])});
        watts += device_bench_loss(b, &stress, hot).watts[HL_CONDUCTION];
        device_bench_destroy(b);
    }
    ck_published("ROHM, data sheet of a 2 A synchronous step-down regulator, 2014: mean resistance, ohm",
                 watts / 4, 0.1864, 0, 0.00005);
    ck_published("ROHM, data sheet of a 2 A synchronous step-down regulator, 2014: dissipation, W", watts,
                 0.7456, 0, 0.00005);
}
END_TEST

/* Texas Instruments, data sheet of a 2 MHz step-down regulator, efficiency calculation example, eq. 44-58:
 * 12 V to 3.3 V, 2 A, 150 mohm, D 0.314: conduction 188 mW, switching 480 mW. The source counts one edge of
 * 10 ns as full overlap without the half, which is two edges of 10 ns with it. */
START_TEST(buck_loss_table)
{
    device_bench *b = timed_switch(0.15, 10e-9);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, (one_cycle){.frequency = 2e6,
                                                            .rms = 2 * sqrt(0.314),
                                                            .on = 2,
                                                            .off = 2,
                                                            .voltage_on = 12,
                                                            .voltage_off = 12});
    hl_loss loss = device_bench_loss(b, &stress, hot);
    ck_published("Texas Instruments, data sheet of a 2 MHz step-down regulator, eq. 44-58: conduction, W",
                 loss.watts[HL_CONDUCTION], 0.188, 0, 0.0005);
    ck_published("Texas Instruments, data sheet of a 2 MHz step-down regulator, eq. 44-58: switching, W",
                 loss.watts[HL_TURN_ON] + loss.watts[HL_TURN_OFF], 0.480, 0, 0.0005);
    device_bench_destroy(b);
}
END_TEST

/* L. Dinwoodie (Unitrode / Texas Instruments), application note on an isolated 50 W flyback, eq. 11, 12: gate
 * charge 70 nC at 70 kHz: 4.9 mA from the gate supply. Conduction, 2.74 A in 0.18 ohm, is 1.35 W (not
 * printed). */
START_TEST(gate_current_of_a_flyback)
{
    device_bench *b = timed_switch(0.18, 1e-9);
    device_bench_set(b, "gate_charge", 70e-9);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, (one_cycle){.frequency = 70e3, .rms = 2.74});
    hl_loss loss = device_bench_loss(b, &stress, hot);
    ck_published("L. Dinwoodie, application note on an isolated 50 W flyback, eq. 11-12: gate current, A",
                 loss.watts[HL_GATE_DRIVE] / 10, 4.9e-3, 0, 0.05e-3);
    ck_near(loss.watts[HL_CONDUCTION], 1.351, 1e-3, 0);
    device_bench_destroy(b);
}
END_TEST

/* A. Bouziani, 1200 W 400/48 V LLC design file, "Power efficiency of the LLC", 2026, p. 9 (individual
 * report): 30 A, body diode 1.3 V, channel 0.3 V, two dead times of d per period. The worked line above its
 * table uses 1 V. */
START_TEST(body_diode_in_dead_time)
{
    const struct {
        double d, printed;
    } row[] = {{0, 9}, {0.01, 9.6}, {0.02, 10.2}, {0.05, 12}, {0.10, 15}, {0.20, 21}};
    device_bench *b = timed_switch(0.3 / 30, 1e-9);
    device_bench_set(b, "body_diode_voltage", 1.3);
    device_bench_set(b, "reverse_temperature_coefficient", 0);
    device_bench_expect_prepared(b);
    for (size_t k = 0; k < sizeof row / sizeof *row; k++) {
        double d = row[k].d;
        one_cycle_store store;
        hl_stress stress = one_cycle_stress(&store, (one_cycle){.frequency = 100e3,
                                                                .rms = 30 * sqrt(1 - 2 * d),
                                                                .reverse = 30 * 2 * d,
                                                                .reverse_rms = 30 * sqrt(2 * d)});
        hl_loss loss = device_bench_loss(b, &stress, room);
        ck_published("A. Bouziani, 1200 W 400/48 V LLC design file, 2026, p. 9: body diode in dead time, W",
                     device_bench_watts(&loss), row[k].printed, 0, 0.05);
    }
    device_bench_destroy(b);
}
END_TEST

/* Own stored energy and the co-energy of an equal opposite device make v Q in all: each bus charge is drawn
 * once. */
START_TEST(hard_half_bridge_loses_bus_voltage_times_charge)
{
    double v[] = {0, 1, 10, 25, 50, 100, 400}, c[] = {9e-9, 7e-9, 2e-9, 6e-10, 1.5e-10, 7e-11, 5e-11};
    for (int table = 0; table < 2; table++) {
        device_bench *b = boost_switch();
        if (table) device_bench_curve(b, "output_capacitance", 7, v, c);
        device_bench_expect_prepared(b);
        one_cycle_store store;
        hl_stress stress = one_cycle_stress(
            &store, (one_cycle){.frequency = 1e5, .voltage_on = 380, .voltage_off = 380, .swing = 380});
        double watts = device_bench_loss(b, &stress, room).watts[HL_OUTPUT_CHARGE];
        hl_terminal t = device_bench_terminal(b, room, 380);
        ck_near(watts, 1e5 * 380 * t.output_charge, 1e-12, 0);
        ck_assert_double_lt(t.output_energy, 0.5 * 380 * t.output_charge);
        device_bench_destroy(b);
    }
}
END_TEST

/* Charge and energy of a straight-line table by hand: C = 2 nF - 10 pF/V up to 100 V, 1 nF beyond.
 * Q(150) = 150 nC + 50 nC, E(150) = 1/2 1 nF 150^2 + int_0^100 (1 nF - 10 pF/V u) u du = 11.25 + 1.6667 uJ.
 */
START_TEST(capacitance_table_is_integrated)
{
    double v[] = {0, 100}, c[] = {2e-9, 1e-9};
    device_bench *b = boost_switch();
    device_bench_curve(b, "output_capacitance", 2, v, c);
    device_bench_expect_prepared(b);
    hl_terminal t = device_bench_terminal(b, room, 150);
    ck_near(t.output_charge, 200e-9, 1e-12, 0);
    ck_near(t.output_energy, 11.25e-6 + 5e-6 - 10e-12 * 1e6 / 3, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

/* Table energies hold the opposite device's charge and the own stored energy: hard switching loses what the
 * tables say, soft turn-on gets the stored energy back. */
START_TEST(energy_tables_are_not_added_to_charges)
{
    double i[] = {2, 10, 20}, on[] = {40e-6, 120e-6, 260e-6}, off[] = {18e-6, 40e-6, 90e-6};
    device_bench *b = boost_switch();
    device_bench_curve(b, "turn_on_energy", 3, i, on);
    device_bench_curve(b, "turn_off_energy", 3, i, off);
    device_bench_set(b, "energy_voltage", 400);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    one_cycle hard = {
        .frequency = 1e5, .on = 10, .off = 10, .voltage_on = 400, .voltage_off = 400, .swing = 400};
    hl_stress stress = one_cycle_stress(&store, hard);
    hl_loss loss = device_bench_loss(b, &stress, room);
    ck_near(device_bench_watts(&loss) - loss.watts[HL_GATE_DRIVE], 1e5 * 160e-6, 1e-9, 0);
    hard.voltage_on = hard.swing = 0;
    stress = one_cycle_stress(&store, hard);
    loss = device_bench_loss(b, &stress, room);
    ck_near(device_bench_watts(&loss) - loss.watts[HL_GATE_DRIVE], 1e5 * (40e-6 - 11.7e-6), 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

/* Given back at the test's own current and slope: the printed charge; in proportion to current when the slope
 * is fast; nothing without a current. Booked only where the body diode is commutated (slope or sign). */
START_TEST(body_diode_recovers_when_commutated)
{
    device_bench *b = boost_switch();
    device_bench_set(b, "recovery_charge", 1e-6);
    device_bench_set(b, "recovery_current", 10);
    device_bench_set(b, "recovery_slope", 1e8);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    one_cycle c = {.frequency = 1e5, .off = 10, .voltage_off = 400, .slope = 1e8};
    hl_stress stress = one_cycle_stress(&store, c);
    hl_loss loss = device_bench_loss(b, &stress, room);
    ck_near(loss.watts[HL_REVERSE_RECOVERY], 1e5 * 400 * 1e-6, 1e-9, 0);
    ck_assert_double_eq(loss.watts[HL_TURN_OFF], 0);
    c.slope = 0;
    stress = one_cycle_stress(&store, c);
    loss = device_bench_loss(b, &stress, room);
    ck_assert_double_eq(loss.watts[HL_REVERSE_RECOVERY], 0);
    ck_assert_double_gt(loss.watts[HL_TURN_OFF], 0);
    c.slope = 1e13;
    stress = one_cycle_stress(&store, c);
    double full = device_bench_loss(b, &stress, room).watts[HL_REVERSE_RECOVERY];
    c.off = 5;
    stress = one_cycle_stress(&store, c);
    ck_near(device_bench_loss(b, &stress, room).watts[HL_REVERSE_RECOVERY], 0.5 * full, 1e-2, 0);
    device_bench_destroy(b);
}
END_TEST

/* Conduction ~ I^2, gate and charge ~ f, overlap ~ f. */
START_TEST(scaling_laws)
{
    device_bench *b = boost_switch();
    device_bench_expect_prepared(b);
    one_cycle_store store;
    one_cycle c = boost_current(120);
    hl_stress stress = one_cycle_stress(&store, c);
    hl_loss one = device_bench_loss(b, &stress, room);
    c.rms *= 3, c.frequency *= 2;
    stress = one_cycle_stress(&store, c);
    hl_loss two = device_bench_loss(b, &stress, room);
    ck_near(two.watts[HL_CONDUCTION], 9 * one.watts[HL_CONDUCTION], 1e-12, 0);
    for (int m = HL_TURN_ON; m <= HL_OUTPUT_CHARGE; m++) ck_near(two.watts[m], 2 * one.watts[m], 1e-12, 0);
    ck_near(two.watts[HL_GATE_DRIVE], 2 * one.watts[HL_GATE_DRIVE], 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

START_TEST(wrong_data_is_refused_with_a_reason)
{
    device_bench *b = boost_switch();
    device_bench_set(b, "plateau_voltage", 13);
    ck_assert(!device_bench_prepare(b));
    ck_assert(b->reason.text[0]);
    device_bench_set(b, "plateau_voltage", 5.4);
    device_bench_set(b, "output_charge", 20e-9); /* holds 8 uJ at most */
    ck_assert(!device_bench_prepare(b));
    ck_assert(b->reason.text[0]);
    device_bench_destroy(b);
}
END_TEST

START_TEST(drain_limits)
{
    device_bench *b = boost_switch();
    device_bench_set(b, "rated_current", 40);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, boost_current(85));
    hl_limit voltage = device_bench_limit(b, &stress, room, "drain voltage");
    hl_limit current = device_bench_limit(b, &stress, room, "drain current");
    ck_near(voltage.value / voltage.rated, 400.0 / 650, 1e-12, 0);
    ck_near(current.value, 12.185, 1e-3, 0);
    device_bench_destroy(b);
}
END_TEST

START_TEST(cost_of_a_call)
{
    device_bench *b = boost_switch();
    device_bench_expect_prepared(b);
    enum { N = 16 };
    double w[N], f[N], i[N], v[N], block[N];
    for (int k = 0; k < N; k++) w[k] = 1.0 / N, f[k] = 1e5, i[k] = 1 + k, v[k] = 100 + 10 * k, block[k] = 400;
    hl_stress s = {.struct_size = sizeof s,
                   .n = N,
                   .weight = w,
                   .frequency = f,
                   .current_rms = i,
                   .current_on = i,
                   .current_off = i,
                   .voltage_on = v,
                   .voltage_off = block};
    device_cost(b, &s, N);
    s.voltage_on = block;
    device_cost(b, &s, N);
    device_bench_destroy(b);
}
END_TEST

/* A table's energies change by so much a kelvin from the temperature it was taken at; what the output holds
 * does not. */
START_TEST(energies_change_with_temperature_as_stated)
{
    double i[] = {2, 20}, on[] = {40e-6, 400e-6}, off[] = {20e-6, 200e-6};
    device_bench *b = boost_switch();
    device_bench_curve(b, "turn_on_energy", 2, i, on);
    device_bench_curve(b, "turn_off_energy", 2, i, off);
    device_bench_set(b, "energy_voltage", 400);
    device_bench_set(b, "energy_temperature", 323.15);
    device_bench_set(b, "energy_temperature_coefficient", 0.004);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(
        &store,
        (one_cycle){
            .frequency = 1e5, .on = 10, .off = 10, .voltage_on = 400, .voltage_off = 400, .swing = 400});
    hl_loss loss = device_bench_loss(b, &stress, 398.15);
    ck_near(loss.watts[HL_TURN_ON], 1e5 * 200e-6 * 1.3, 1e-9, 0);
    ck_near(loss.watts[HL_TURN_OFF], 1e5 * (100e-6 - 11.7e-6) * 1.3, 1e-9, 0);
    ck_near(loss.watts[HL_OUTPUT_CHARGE], 1e5 * 11.7e-6, 1e-9, 0);
    ck_near(loss.slope, 1e5 * (300e-6 - 11.7e-6) * 0.004, 1e-9, 0);
    /* at half its least current half a table stands, and half the charge that it would hold is added */
    hl_terminal at = device_bench_terminal(b, 398.15, 400);
    stress = one_cycle_stress(
        &store, (one_cycle){.frequency = 1e5, .on = 1, .voltage_on = 400, .voltage_off = 400, .swing = 400});
    ck_near(device_bench_loss(b, &stress, 398.15).watts[HL_OUTPUT_CHARGE],
            1e5 * (11.7e-6 + 0.5 * (400 * at.output_charge - at.output_energy)), 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

/* What a pair loses in a double-pulse test is E_on + E_off + E_rr, the last at the diode's own terminals (IEC
 * 60747-9 and 60747-2, from memory; common practice of modules' application manuals): beside tables it is
 * added once, at the turn-on that ends the diode's conduction, by its own law v^0.6 (common practice). */
START_TEST(recovery_energy_stands_beside_the_tables)
{
    double i[] = {2, 20}, on[] = {40e-6, 400e-6}, off[] = {20e-6, 200e-6}, left[] = {10e-6, 46e-6};
    device_bench *b = boost_switch();
    device_bench_curve(b, "recovery_energy", 2, i, left);
    ck_assert(!device_bench_prepare(b));
    ck_assert_ptr_nonnull(strstr(b->reason.text, "turn_on_energy"));
    device_bench_curve(b, "turn_on_energy", 2, i, on);
    device_bench_curve(b, "turn_off_energy", 2, i, off);
    device_bench_set(b, "energy_voltage", 400);
    device_bench_set(b, "energy_temperature_coefficient", 0.004);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    one_cycle c = {.frequency = 1e5, .on = 10, .off = 10, .voltage_on = 400, .voltage_off = 400};
    hl_stress stress = one_cycle_stress(&store, c);
    hl_loss loss = device_bench_loss(b, &stress, room);
    ck_near(device_bench_watts(&loss) - loss.watts[HL_GATE_DRIVE], 1e5 * (200e-6 + 100e-6 + 26e-6), 1e-9, 0);
    ck_near(loss.watts[HL_REVERSE_RECOVERY], 1e5 * 26e-6, 1e-9, 0);
    loss = device_bench_loss(b, &stress, room + 50);
    ck_near(loss.watts[HL_REVERSE_RECOVERY], 1e5 * 26e-6 * 1.2, 1e-9, 0);
    ck_near(loss.slope, 1e5 * (326e-6 - 11.7e-6) * 0.004, 1e-9, 0);
    c.on = 1; /* half the first current of the table: half of what it has there */
    c.voltage_on = 200;
    stress = one_cycle_stress(&store, c);
    loss = device_bench_loss(b, &stress, room);
    ck_near(loss.watts[HL_REVERSE_RECOVERY], 1e5 * 5e-6 * pow(0.5, 0.6), 1e-9, 0);
    device_bench_set(b, "recovery_energy_voltage_exponent", 1);
    device_bench_expect_prepared(b);
    loss = device_bench_loss(b, &stress, room);
    ck_near(loss.watts[HL_REVERSE_RECOVERY], 1e5 * 5e-6 * 0.5, 1e-9, 0);
    c.on = 0; /* no diode conducts */
    stress = one_cycle_stress(&store, c);
    loss = device_bench_loss(b, &stress, room);
    ck_assert_double_eq(loss.watts[HL_REVERSE_RECOVERY], 0);
    device_bench_destroy(b);
}
END_TEST

/* A rougher law or the end of a table is told where it bears on a loss: while current flows, or voltage is
 * switched. */
START_TEST(flags_are_raised_by_what_they_bear_on)
{
    one_cycle_store store;
    double t[] = {273.15, 373.15}, factor[] = {0.9, 1.5}, v[] = {0, 100}, c[] = {2e-9, 1e-9};
    const one_cycle none = {.frequency = 1e5}, conducts = {.frequency = 1e5, .rms = 3},
                    blocks = {.frequency = 1e5, .voltage_off = 150, .off = 1},
                    turns_on = {.frequency = 1e5, .voltage_on = 80, .voltage_off = 80, .off = 1};
    device_bench *bare = device_bench_create("silicon_mosfet"), *known = boost_switch();
    device_bench_set(bare, "on_resistance", 0.1);
    device_bench_set(bare, "rated_voltage", 650);
    device_bench_expect_prepared(bare);
    device_bench_curve(known, "resistance_factor", 2, t, factor);
    device_bench_curve(known, "output_capacitance", 2, v, c);
    device_bench_expect_prepared(known);
    const struct {
        const device_bench *of;
        double temperature;
        one_cycle cycle;
        uint32_t flags;
    } row[] = {{bare, room, none, 0},
               {bare, room, conducts, HL_FALLBACK},
               {bare, room, blocks, HL_FALLBACK},
               {known, room, conducts, 0},
               {known, 400, conducts, HL_OUTSIDE_CURVE},
               {known, 400, none, 0},
               {known, room, turns_on, 0},
               {known, room, blocks, HL_OUTSIDE_CURVE}};
    for (size_t k = 0; k < sizeof row / sizeof *row; k++) {
        hl_stress stress = one_cycle_stress(&store, row[k].cycle);
        uint32_t flags = device_bench_loss(row[k].of, &stress, row[k].temperature).flags;
        ck_assert_msg(flags == row[k].flags, "row %zu: flags %u", k, flags);
    }
    device_bench_set(bare, "gate_drain_charge", 10e-9);
    device_bench_set(bare, "gate_source_charge_after_threshold", 5e-9);
    device_bench_expect_prepared(bare);
    hl_stress stress = one_cycle_stress(&store, blocks);
    ck_assert_uint_eq(device_bench_loss(bare, &stress, room).flags, 0);
    stress = one_cycle_stress(&store, turns_on); /* with a charge of the output that is not known */
    ck_assert_uint_eq(device_bench_loss(bare, &stress, room).flags, HL_FALLBACK);
    device_bench_destroy(bare);
    device_bench_destroy(known);
}
END_TEST

/* A diode's drop falls by millivolts a kelvin, and stays a drop. */
START_TEST(no_heat_makes_the_body_diode_a_source)
{
    device_bench *b = boost_switch();
    device_bench_expect_prepared(b);
    ck_near(device_bench_terminal(b, 1000, 0).reverse_voltage, 0.1, 1e-12, 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, boost_switch_at_low_mains);
    tcase_add_test(tests, boost_switch_at_high_mains);
    tcase_add_test(tests, output_capacitance_relieves_turn_off);
    tcase_add_test(tests, regulator_switch);
    tcase_add_test(tests, two_switches_of_a_synchronous_buck);
    tcase_add_test(tests, buck_loss_table);
    tcase_add_test(tests, gate_current_of_a_flyback);
    tcase_add_test(tests, body_diode_in_dead_time);
    tcase_add_test(tests, hard_half_bridge_loses_bus_voltage_times_charge);
    tcase_add_test(tests, capacitance_table_is_integrated);
    tcase_add_test(tests, energy_tables_are_not_added_to_charges);
    tcase_add_test(tests, energies_change_with_temperature_as_stated);
    tcase_add_test(tests, recovery_energy_stands_beside_the_tables);
    tcase_add_test(tests, flags_are_raised_by_what_they_bear_on);
    tcase_add_test(tests, no_heat_makes_the_body_diode_a_source);
    tcase_add_test(tests, body_diode_recovers_when_commutated);
    tcase_add_test(tests, scaling_laws);
    tcase_add_test(tests, wrong_data_is_refused_with_a_reason);
    tcase_add_test(tests, drain_limits);
    tcase_add_test(tests, cost_of_a_call);
}

int main(void)
{
    return story_main("silicon_mosfet", fill);
}
