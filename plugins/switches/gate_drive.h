/* gate_drive.h - how long a gate driver needs for the current and the voltage transition, and what overlaps.
 *
 * With a driver of voltage V_dr behind R_g and constant gate capacitance between threshold and plateau:
 *   current transition   t_i = R_g C ln((V_dr - V_th) / (V_dr - V_pl)),  C = Q_gs2 / (V_pl - V_th)
 *   voltage transition   t_v = R_g Q_gd / (V_dr - V_pl)
 * source: B. J. Baliga, Fundamentals of Power Semiconductor Devices, ch. 6 (switching of a power MOSFET);
 * the same two terms, with C_iss and C_rss, in the design note checked in
 * tests/switches/check_silicon_mosfet.c. Common-source inductance opposes the drive by L di/dt and adds L I /
 * (V_dr - mean of V_th and V_pl) to t_i (Kirchhoff, mean gate voltage).  Range: plateau taken constant over
 * current; Q_gd ~ v^1/2, C_rss being a depletion capacitance, between the voltage it is stated at and any
 * other. */
#ifndef GATE_DRIVE_H
#define GATE_DRIVE_H

#include <math.h>
#include <stdbool.h>

/* The data of one edge: gate voltages measured from the driver's rail of that edge, all positive. */
typedef struct gate_edge {
    double current_time;    /* s */
    double voltage_time;    /* s, at `voltage` */
    double inductance_time; /* s/A, common-source inductance */
    double root_voltage;    /* V^-1/2, one over the root of the voltage the charge is stated at */
    double cut_ratio;       /* turn-off: threshold over plateau, both from the off rail */
} gate_edge;

/* from, to: driving voltage left across the gate resistance as the current transition begins and ends
 * (turn-on: V_dr - V_th, V_dr - V_pl; turn-off: V_pl - V_off, V_th - V_off); plateau: during the voltage's.
 */
static inline gate_edge gate_edge_of(double resistance, double charge_current, double charge_voltage,
                                     double from, double to, double plateau, double inductance,
                                     double voltage)
{
    gate_edge e = {0};
    double step = fabs(from - to);
    if (charge_current > 0.0) e.current_time = resistance * charge_current / step * log(from / to);
    e.voltage_time = resistance * charge_voltage / plateau;
    e.inductance_time = inductance / (0.5 * (from + to));
    e.root_voltage = voltage > 0.0 ? 1.0 / sqrt(voltage) : 0.0;
    e.cut_ratio = to / from;
    return e;
}

/* J: linear current, then linear voltage: E = 1/2 v i (t_i + t_v). */
static inline double gate_overlap(const gate_edge *e, double voltage, double current)
{
    double time =
        e->current_time + e->inductance_time * current + e->voltage_time * sqrt(voltage) * e->root_voltage;
    return 0.5 * voltage * current * time;
}

/* J: turn-off while the output capacitance C = Q / v takes a share of the current off the channel.
 *   y = Q / (i t_v), share of the current that charges C at the gate's own pace; r = V_th / V_pl
 *   voltage rises:  the channel is left with i (1 - r y) / (1 + (1 - r) y), its gate falls in step, so the
 * rise stretches by 1 + (1 - r) y:                       E = 1/2 v i t_v (1 - r y) current falls:  from what
 * is left, within what is left of t_i:    E = 1/2 v i t_i ((1 - r y) / (1 + (1 - r) y))^2 r y > 1:        the
 * channel is shut before the voltage has risen; falling linearly in t_i against C, x^2 = 2 Q / (i t_i):  1 -
 * 4/3 x + x^2/2 of the overlap below x = 1, 1 / (6 x^2) above source: first two lines derived in
 * docs/theory/switches.md from a gate of constant transconductance; that a fast gate and a large C make
 * turn-off nearly free: M. Kasper, R. Burkart, G. Deboy, J. Kolar, "ZVS of power MOSFETs revisited", IEEE
 * Trans. Power Electronics 31(12), 2016 (from memory); last line: N. Mohan, T. Undeland, W. Robbins, Power
 * Electronics, ch. 27 (turn-off snubber).  Within 7 % of the plain overlap of a circuit solved in time,
 * tests/switches/check_turn_off.c.  Energy stored in C is not in it: it is booked where it is lost. */
static inline double gate_relief(double square)
{
    double x = sqrt(square);
    double early = 1.0 - (4.0 / 3.0) * x + 0.5 * square, late = 1.0 / (6.0 * square + 1e-300);
    return square < 1.0 ? early : late;
}

static inline double gate_turn_off(const gate_edge *e, double voltage, double current, double charge)
{
    double rise = e->voltage_time * sqrt(voltage) * e->root_voltage;
    double fall = e->current_time + e->inductance_time * current;
    double y = charge / (current * rise + 1e-300), r = e->cut_ratio;
    double left = 1.0 - r * y;
    left = left > 0.0 ? left : 0.0;
    double share = left / (1.0 + (1.0 - r) * y), late = gate_relief(2.0 * charge / (current * fall + 1e-300));
    double end = share * share > late ? share * share : late;
    return 0.5 * voltage * current * (rise * left + fall * end);
}

#endif
