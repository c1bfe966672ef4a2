/* slot_terminal.h - the parts of one slot as the circuit sees them: `count` in parallel as one. */
#ifndef SLOT_TERMINAL_H
#define SLOT_TERMINAL_H

#include <string.h>

#include "heatledger/plugin.h"

/* All zero for an empty slot: an ideal wire, or absent. Kirchhoff: n equal parts in parallel have 1/n of the
 * resistance and inductance and n times the charge and capacitance. */
static inline hl_terminal slot_terminal(const hl_slot_view *slot, double voltage)
{
    hl_terminal t;
    memset(&t, 0, sizeof t);
    t.struct_size = sizeof t;
    if (!slot->count || !slot->device) return t;
    slot->device->present(slot->state, slot->temperature, voltage, &t);
    double n = slot->count;
    t.resistance /= n;
    t.reverse_resistance /= n;
    t.inductance /= n;
    t.leakage /= n;
    t.capacitance *= n;
    t.output_charge *= n;
    t.output_energy *= n;
    for (int w = 0; w < HL_WINDINGS_MAX; w++) t.winding_resistance[w] /= n;
    return t;
}

static inline bool slot_filled(const hl_slot_view *slot)
{
    return slot->count > 0 && slot->device != NULL;
}

#endif
