/* ohmic.h - a part that is a resistance, whatever makes it one: shared rows, stress and loss. */
#ifndef OHMIC_H
#define OHMIC_H

#include <math.h>
#include <stdio.h>

#include "heatledger/plugin.h"

/* clang-format off */
#define ROW(name, unit, flags, fallback, low, high, meaning, source) \
    {name, unit, HL_NUMBER, flags, fallback, low, high, NULL, NULL, meaning, source}
/* clang-format on */

static inline double given_or(const hl_value *value, double otherwise)
{
    return value->given ? value->number : otherwise;
}

/* A^2 through the part. */
static inline double mean_square_current(const hl_stress *s)
{
    return s->total_rms * s->total_rms;
}

/* Joule's law, P = R i_rms^2; resistance and its slope at the part's temperature. */
static inline void joule_loss(double resistance, double slope, const hl_stress *s, hl_loss *out)
{
    double square = mean_square_current(s);
    out->watts[HL_CONDUCTION] += resistance * square;
    out->slope += slope * square;
}

/* Linear temperature coefficient about a reference; held at a twentieth, so never negative. */
static inline double linear_factor(double coefficient, double temperature, double reference, double *slope)
{
    double factor = 1.0 + coefficient * (temperature - reference);
    *slope = factor > 0.05 ? coefficient : 0.0;
    return factor > 0.05 ? factor : 0.05;
}

#endif
