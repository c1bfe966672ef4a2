/* dc_bounds.h - what a dc-fed stage takes seriously. Beyond these bounds nothing is a converter and doubles
 * begin to overflow; each test is written so that no number (NaN) fails it. */
#ifndef DC_BOUNDS_H
#define DC_BOUNDS_H

#include <stdbool.h>

#include "heatledger/plugin.h"

static inline bool within(double x, double low, double high)
{
    return x >= low && x <= high;
}

static inline bool voltage_sound(double v)
{
    return within(v, 1e-3, 1e6);
}

static inline bool load_sound(const hl_stage_input *in)
{
    return within(in->load.current, 0.0, 1e6) && within(in->extra_loss, -1e9, 1e9);
}

static inline bool frequency_sound(double f)
{
    return within(f, 0.1, 1e10);
}

static inline bool inductance_sound(double l)
{
    return within(l, 1e-12, 1e3);
}

static inline bool resistance_sound(double r)
{
    return within(r, 0.0, 1e6);
}

static inline bool drop_sound(double v)
{
    return within(v, 0.0, 1e6);
}

/* A capacitor outside these is taken as not there. */
static inline double capacitance_sound(double c)
{
    return within(c, 1e-12, 1e3) ? c : 0.0;
}

static inline double esr_sound(double r)
{
    return within(r, 1e-9, 1e4) ? r : 0.0;
}

#endif
