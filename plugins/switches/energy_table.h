/* energy_table.h - switching energy as a table over current instead of an estimate from gate charge.
 *
 *   E(i, v, T) = E_table(i) (v / v_test)^p (1 + k (T - T_test)) g(R_gate)
 * source: common practice of data sheets and their application notes; p = 1.3 without a better figure is
 * common practice, no source.  Measured at the terminals, as tables are, turn-on contains the charge and the
 * recovery of the other device, and turn-off contains what is stored in the own output capacitance
 * (R. Hou, J. Lu, D. Chen, "Parasitic capacitance Eqoss loss mechanism, calculation, and measurement in hard
 * switching for GaN HEMTs", APEC 2018, from memory).  So with a table: the stored energy is taken off the
 * turn-off and booked at the turn-on that loses it, and no other charge or recovery is added: the stage
 * tells the device that is turned off of none (stages/partner_charge.h).
 *
 * What the diode that is turned off burns itself, E_rr = int v i dt over its own terminals (IEC 60747-2, from
 * memory), is not seen at the switch's terminals: a pair loses E_on + E_off + E_rr a cycle (common practice
 * of modules' application manuals).  Its table is the switch's too, from the same test, and rises by its own
 * p = 0.6 (common practice, no source). */
#ifndef ENERGY_TABLE_H
#define ENERGY_TABLE_H

#include <math.h>

#include "heatledger/plugin.h"

typedef struct energy_table {
    hl_curve energy;    /* J over A; n == 0: none */
    double voltage;     /* V, of the test */
    double exponent;    /* p */
    double gate_factor; /* g at the resistance in use */
} energy_table;

/* Below the first point the table goes straight to nothing at no current; `share` is how much of the first
 * point is reached (1 inside the table). */
static inline double energy_from_table(const energy_table *t, double current, double voltage, double *share,
                                       bool *outside)
{
    double first = t->energy.x[0], at = current;
    *share = 1.0;
    if (at < first) {
        *share = first > 0.0 && at > 0.0 ? at / first : 0.0;
        at = first;
    }
    if (!(voltage > 0.0)) return 0.0;
    double energy = hl_curve_at(&t->energy, at, NULL, outside);
    return *share * energy * t->gate_factor * pow(voltage / t->voltage, t->exponent);
}

/* J that the diode turned off burns itself: as much of its table as `share` of the turn-on's is booked. */
static inline double energy_left_to_diode(const energy_table *left, const energy_table *on, double current,
                                          double voltage, double share, bool *outside)
{
    if (!left->energy.n || !(current > 0.0)) return 0.0;
    double first = on->energy.x[0], own;
    return share * energy_from_table(left, current > first ? current : first, voltage, &own, outside);
}

#endif
