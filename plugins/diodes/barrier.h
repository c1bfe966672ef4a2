/* barrier.h - diodes without stored charge: silicon and silicon-carbide Schottky. Forward drop, leakage and
 * the charge of the depletion layer. A model file adds its table, what is usual for its kind, and prepare. */
#ifndef BARRIER_H
#define BARRIER_H

#include "diode.h"

enum { PARAMETERS = DIODE_PARAMETERS + CAPACITIVE_PARAMETERS };

typedef struct barrier {
    diode diode; /* first: shared functions take the state as a diode */
    charge_piece pieces[];
} barrier;

static size_t state_size(const hl_value *values)
{
    const hl_curve *table = &values[DIODE_PARAMETERS + JUNCTION_CAPACITANCE].curve;
    return sizeof(barrier) + charge_pieces_for(table) * sizeof(charge_piece);
}

static inline bool barrier_prepare(barrier *b, const hl_value *values, diode_kind usual, hl_reason *reason)
{
    return diode_prepare(&b->diode, values, usual, reason) &&
           diode_prepare_charge(&b->diode, values + DIODE_PARAMETERS, b->pieces, reason);
}

/* The model's own: barrier_prepare with what is usual for its kind. */
static bool prepare(void *state, const hl_value *values, hl_reason *reason);

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    diode_present(state, temperature, voltage, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const barrier *b = state;
    diode_conduction(&b->diode, stress, temperature, 1.0, out);
    diode_leakage(&b->diode, stress, temperature, 1.0, out);
    out->watts[HL_OUTPUT_CHARGE] += diode_charge_loss(&b->diode, stress);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    return diode_limits(state, stress, list);
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_DIODE,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
};

#endif
