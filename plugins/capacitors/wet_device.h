/* wet_device.h - the device that electrolytic and polymer capacitors share. A model file adds its table, what
 * is usual for its kind, and prepare. */
#ifndef WET_DEVICE_H
#define WET_DEVICE_H

#include "wet_capacitor.h"

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(wet_capacitor);
}

/* The model's own: wet_prepare with what is usual for its kind. */
static bool prepare(void *state, const hl_value *values, hl_reason *reason);

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    wet_present(state, temperature, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    wet_loss(state, stress, temperature, out);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    return wet_limits(state, stress, temperature, list);
}

static void impedances(const void *state, double temperature, double voltage, const double frequency[],
                       size_t n, double real[], double imaginary[])
{
    (void)voltage;
    wet_impedances(state, temperature, frequency, n, real, imaginary);
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_CAPACITOR,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
    IMPEDANCES,
};

#endif
