/* film_device.h - the device that all film capacitors share; a model file adds its table. */
#ifndef FILM_DEVICE_H
#define FILM_DEVICE_H

#include "film.h"

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(film_capacitor);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    return film_prepare(state, values, reason);
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)temperature;
    (void)voltage;
    film_present(state, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    (void)temperature;
    film_loss(state, stress, out);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    return film_limits(state, stress, list);
}

static void impedances(const void *state, double temperature, double voltage, const double frequency[],
                       size_t n, double real[], double imaginary[])
{
    (void)temperature;
    (void)voltage;
    film_impedances(state, frequency, n, real, imaginary);
}

/* The members of such a device: static const hl_device device = {FILM_DEVICE}; */
#define FILM_DEVICE                                                                                          \
    .struct_size = sizeof(hl_device), .family = HL_FAMILY_CAPACITOR, .state_size = state_size,               \
    .prepare = prepare, .present = present, .loss = loss, .limits = limits, IMPEDANCES

#endif
