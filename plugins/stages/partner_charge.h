/* partner_charge.h - who pays for charge and recovery of the device that a switch turns off, and who is
 * warmed.
 *
 * Turn-on energies are measured with an inductive load and the free-wheeling device in circuit (IEC 60747-9,
 * from memory, and common practice of data sheets): integrated at the terminals of the switch that turns on
 * they hold what charges and what recovers in the other device. Where that switch has such a table its
 * partner is told of neither. Below the table's first current only a share of its first energy is booked
 * (plugins/switches/energy_table.h); the partner pays for the rest. */
#ifndef PARTNER_CHARGE_H
#define PARTNER_CHARGE_H

#include "heatledger/plugin.h"

/* 0 to 1: the partner's share when `starter` turns on with `current` A in one part. A diode is told of so
 * much of its commutations (frequency, which nothing else of a diode depends on); a switch, whose frequency
 * is also that of its gate, of so much of the current that leaves its body path, which recovers this share or
 * more: recovered_charge() is concave in the current (plugins/diodes/reverse_recovery.h). Its charge is the
 * starter's. */
static inline double partner_share(const hl_terminal *starter, double current)
{
    double first = starter->turn_on_first;
    if (!(starter->turn_on_table > 0.0)) return 1.0;
    if (current >= first) return 0.0;
    return current > 0.0 ? 1.0 - current / first : 1.0;
}

/* What the partner costs arises as heat in the starter, not in the partner: of a diode's capacitance the
 * co-energy, which a charge from a stiff voltage leaves on its way; and what recovers, while the partner
 * still holds no voltage (plugins/diodes/reverse_recovery.h: the charge is gone before the voltage comes; of
 * a recovery with a straight tail as long as its rise a sixth would stay in the partner, of the longest tail
 * a third: derived, voltage and current straight in the tail). A switch among the partners has its charge
 * booked to the starter. What a starter's table leaves to the partner that recovers is booked to the starter,
 * as its reverse recovery, and warms the partner; a starter's own body path is turned off by nothing. */
static inline void partner_heats(hl_stage_output *out, size_t partner, size_t starter, bool diode)
{
    if (!HL_REACHES(out, heats_by)) return;
    out->heats[partner] = (unsigned char)(1 + starter);
    out->heats[starter] = (unsigned char)(1 + partner);
    out->heats_by[partner] = out->heats_by[starter] = 1u << HL_REVERSE_RECOVERY;
    if (diode) out->heats_by[partner] |= 1u << HL_OUTPUT_CHARGE;
}

#endif
