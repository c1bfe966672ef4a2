/* charge_law.h - charge and energy of a voltage-dependent capacitance: output capacitance of a switch,
 * junction capacitance of a diode.
 *
 *   Q(v) = int_0^v C du          E(v) = int_0^v u C du  (stored)          v Q - E  (co-energy)
 *
 * source: definitions; that E and v Q - E are what a hard turn-on dissipates in the discharged and in the
 * charging device: D. Costinett, D. Maksimovic, R. Zane, "Circuit-oriented treatment of nonlinear
 * capacitances in switched-mode power supplies", IEEE Trans. Power Electronics 30(2), 2015 (from memory).
 *
 * Either a table C(v), integrated piece by piece, or the power law Q = Q0 (v/V0)^q, for which
 * E / (v Q) = q / (1 + q): q = 1 for a constant capacitance, 1/2 for an abrupt one-sided junction
 * (C ~ v^-1/2, S. M. Sze, Physics of Semiconductor Devices), 0.1 to 0.3 for a superjunction switch.
 * Charge and energy at one voltage, both in any data sheet, thus fix the whole curve. */
#ifndef CHARGE_LAW_H
#define CHARGE_LAW_H

#include <math.h>
#include <stdbool.h>

#include "heatledger/plugin.h"

/* One piece of C(v), u from its left end: C = a + b u + c u^2 + d u^3; q, e: Q and E at its left end. */
typedef struct charge_piece {
    double v, a, b, c, d, q, e;
} charge_piece;

typedef struct charge_law {
    double charge, voltage, exponent; /* power law; charge 0: no capacitance */
    size_t pieces;                    /* 0: power law; the last piece is flat and endless */
    const charge_piece *piece;
} charge_law;

typedef struct charge_at {
    double charge, energy; /* C, J */
} charge_at;

static inline charge_at charge_of_piece(const charge_piece *p, double v)
{
    double u = v - p->v, u2 = u * u;
    double first = p->a * u + u2 * (p->b / 2.0 + u * (p->c / 3.0 + u * p->d / 4.0));          /* int C du */
    double second = u2 * (p->a / 2.0 + u * (p->b / 3.0 + u * (p->c / 4.0 + u * p->d / 5.0))); /* int u C du */
    return (charge_at){p->q + first, p->e + p->v * first + second};
}

static inline charge_at charge_from_table(const charge_law *law, double v)
{
    size_t low = 0, high = law->pieces;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (law->piece[middle].v <= v)
            low = middle;
        else
            high = middle;
    }
    return charge_of_piece(&law->piece[low], v);
}

/* At v >= 0; zero below. */
static inline charge_at charge_at_voltage(const charge_law *law, double v)
{
    if (!(v > 0.0)) return (charge_at){0.0, 0.0};
    if (law->pieces) return charge_from_table(law, v);
    if (!(law->charge > 0.0)) return (charge_at){0.0, 0.0};
    double q = law->exponent, charge = law->charge * pow(v / law->voltage, q);
    return (charge_at){charge, charge * v * q / (1.0 + q)};
}

/* Dissipated in the device that pulls a capacitance of this law up by `swing` until it blocks `bus`, where it
 * holds `at_bus`:
 *   int (bus - u) C du from bus - swing to bus = bus dQ - dE;   bus Q - E for a full swing. */
static inline double charge_co_energy(const charge_law *law, double bus, const charge_at *at_bus,
                                      double swing)
{
    if (!(swing > 0.0)) return 0.0;
    bool within = bus >= swing;
    double top = within ? bus : swing;
    charge_at high = within ? *at_bus : charge_at_voltage(law, top);
    charge_at low = charge_at_voltage(law, top - swing);
    return top * (high.charge - low.charge) - (high.energy - low.energy);
}

/* ---------------------------------------------------------- preparation -- */

/* Pieces a table of n points needs, with a flat one before and after it. */
static inline size_t charge_pieces_for(const hl_curve *capacitance)
{
    return capacitance->n ? capacitance->n + 1 : 0;
}

/* The cubic through a piece's ends and its third points: exact for straight and for cubic pieces. */
static inline charge_piece charge_piece_between(const hl_curve *c, double from, double to)
{
    double h = (to - from) / 3.0, y0 = hl_curve_at(c, from, NULL, NULL);
    double y1 = hl_curve_at(c, from + h, NULL, NULL), y2 = hl_curve_at(c, to - h, NULL, NULL);
    double y3 = hl_curve_at(c, to, NULL, NULL);
    double d1 = y1 - y0, d2 = y2 - 2.0 * y1 + y0,
           d3 = y3 - 3.0 * y2 + 3.0 * y1 - y0; /* Newton's differences */
    return (charge_piece){.v = from,
                          .a = y0,
                          .b = (d1 - d2 / 2.0 + d3 / 3.0) / h,
                          .c = (d2 - d3) / (2.0 * h * h),
                          .d = d3 / (6.0 * h * h * h)};
}

/* Fill room[charge_pieces_for()] from a table; end values held outside it. false: the table is no
 * capacitance (negative, or over negative voltages). */
static inline bool charge_law_from_table(charge_law *law, const hl_curve *c, charge_piece *room)
{
    for (size_t i = 0; i < c->n; i++)
        if (!(c->y[i] >= 0.0) || !(c->x[i] >= 0.0)) return false;
    size_t n = 0;
    if (c->n == 1 || c->x[0] > 0.0) room[n++] = (charge_piece){.v = 0.0, .a = c->y[0]};
    for (size_t i = 0; i + 1 < c->n; i++) room[n++] = charge_piece_between(c, c->x[i], c->x[i + 1]);
    if (c->n > 1) room[n++] = (charge_piece){.v = c->x[c->n - 1], .a = c->y[c->n - 1]};
    for (size_t i = 1; i < n; i++) {
        charge_at before = charge_of_piece(&room[i - 1], room[i].v);
        room[i].q = before.charge;
        room[i].e = before.energy;
    }
    law->pieces = n;
    law->piece = room;
    return true;
}

/* From charge and/or energy at one voltage (0: not known); `usual` exponent where only one of them is.
 * false: the energy is not between 0 and v Q, as it must be for any capacitance. */
static inline bool charge_law_from_point(charge_law *law, double charge, double energy, double voltage,
                                         double usual)
{
    *law = (charge_law){.voltage = voltage > 0.0 ? voltage : 1.0, .exponent = usual};
    if (!(voltage > 0.0) || !(charge > 0.0 || energy > 0.0)) return true;
    if (charge > 0.0 && energy > 0.0) {
        double share = energy / (charge * voltage);
        if (!(share > 0.0 && share < 0.9)) return false;
        law->exponent = share / (1.0 - share);
    }
    law->charge = charge > 0.0 ? charge : energy * (1.0 + usual) / (usual * voltage);
    return true;
}

#endif
