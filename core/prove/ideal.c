#include "prove/ideal.h"

#include <math.h>
#include <string.h>

static const double two_pi = 6.28318530717958648;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(hl_terminal);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    (void)state, (void)values, (void)reason;
    return true;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)temperature, (void)voltage;
    *terminal = *(const hl_terminal *)state;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    (void)state, (void)stress, (void)temperature, (void)out;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)state, (void)stress, (void)temperature, (void)list;
    return 0;
}

/* Series circuit of a capacitor, its resistance and its inductance. */
static void impedance(const void *state, double temperature, double voltage, double frequency, double *real,
                      double *imaginary)
{
    (void)temperature, (void)voltage;
    const hl_terminal *part = state;
    double w = two_pi * frequency;
    *real = part->resistance;
    *imaginary = w * part->series_inductance - 1.0 / (w * part->capacitance);
}

#define IDEAL(of_family)                                                                                     \
    .struct_size = sizeof(hl_device), .family = (of_family), .state_size = state_size, .prepare = prepare,   \
    .present = present, .loss = loss, .limits = limits
static const hl_device devices[HL_FAMILIES] = {
    {IDEAL(HL_FAMILY_SWITCH)},
    {IDEAL(HL_FAMILY_DIODE)},
    {IDEAL(HL_FAMILY_CAPACITOR), .impedance = impedance},
    {IDEAL(HL_FAMILY_MAGNETIC)},
    {IDEAL(HL_FAMILY_RESISTOR)},
};

const hl_device *ideal_device(hl_family family)
{
    return &devices[family];
}

static double ohms_in(const circuit_size *c)
{
    return c->volts_in / c->amperes_in;
}

static double ohms_out(const circuit_size *c)
{
    return c->volts_out / c->amperes_out;
}

static double drop(chance *luck, const circuit_size *c, double most)
{
    return fmin(chance_between(luck, 0.0, most), 0.1 * fmin(c->volts_in, c->volts_out));
}

static void draw_switch(hl_terminal *s, chance *luck, const circuit_size *c)
{
    s->resistance = fmin(ohms_in(c), ohms_out(c)) * chance_scale(luck, 1e-4, 1e-2);
    s->reverse_voltage = drop(luck, c, 1.5);
    s->reverse_resistance = s->resistance * chance_between(luck, 0.0, 2.0);
    s->output_charge = c->amperes_in / c->hertz * chance_scale(luck, 1e-4, 1e-2);
    s->output_energy = 0.5 * s->output_charge * c->volts_in;
    s->rated_voltage = 2.0 * fmax(c->volts_in, c->volts_out);
    s->rated_current = 3.0 * fmax(c->amperes_in, c->amperes_out);
}

static void draw_magnetic(hl_terminal *m, chance *luck, const circuit_size *c)
{
    m->inductance = ohms_in(c) / (two_pi * c->hertz) * chance_scale(luck, 0.3, 20.0);
    m->leakage = m->inductance * chance_scale(luck, 3e-3, 0.3);
    m->turns_ratio = c->volts_in / c->volts_out * chance_between(luck, 0.25, 0.6);
    m->windings = (double)(1 + chance_below(luck, 3));
    m->winding_resistance[0] = ohms_in(c) * chance_scale(luck, 1e-4, 1e-2);
    m->winding_resistance[1] = m->winding_resistance[2] = ohms_out(c) * chance_scale(luck, 1e-4, 1e-2);
    m->resistance = m->winding_resistance[0];
}

void ideal_draw(hl_terminal *shown, chance *luck, hl_family family, const circuit_size *c)
{
    memset(shown, 0, sizeof *shown);
    shown->struct_size = sizeof *shown;
    double least = fmin(ohms_in(c), ohms_out(c));
    switch (family) {
    case HL_FAMILY_SWITCH:
        draw_switch(shown, luck, c);
        break;
    case HL_FAMILY_DIODE:
        shown->voltage = drop(luck, c, 1.0);
        shown->resistance = least * chance_scale(luck, 1e-4, 1e-2);
        break;
    case HL_FAMILY_CAPACITOR:
        shown->capacitance = chance_scale(luck, 0.1, 10.0) / (two_pi * c->hertz * ohms_in(c));
        shown->resistance = least * chance_scale(luck, 1e-5, 1e-2);
        shown->series_inductance = chance_scale(luck, 1e-10, 1e-8);
        break;
    case HL_FAMILY_MAGNETIC:
        draw_magnetic(shown, luck, c);
        break;
    case HL_FAMILY_RESISTOR:
    default: /* in series, or across */
        shown->resistance = chance_of(luck, 0.5)
                                ? least * chance_scale(luck, 1e-4, 1e-2)
                                : fmax(ohms_in(c), ohms_out(c)) * chance_scale(luck, 30.0, 1e4);
        break;
    }
}
