/* stress_stretch.h - stretches of a cycle in which a part carries nothing and blocks another voltage than at
 * its commutation, told apart as cycles of their own.
 *
 * What leaks while it blocks is no straight function of the voltage: leakage ~ v^p loses ~ v^(p+1), so that
 * no one mean voltage serves every part. A cycle of period T whose share s is idle is therefore told as two:
 * what is left, a cycle of period (1 - s) T, and a pause of s T without frequency or current, which blocks
 * its own voltage. Weights are shares of the time, so a mean x becomes x / (1 - s), a mean square likewise, a
 * frequency f / (1 - s): every sum over the cycles stays what it was, by definition of a mean; what happens
 * at an edge (currents and voltages on and off, slope, swing) stays as it is.
 *
 * A diode whose current has run out rings with the inductor about what it blocks at rest and comes to stand
 * there: from 0 to v an inductor that keeps nothing has charged its capacitance, and lost what a resistor
 * would have, int_0^v (v - u) C du (energy balance: the source at v gives v Q, E(v) stays; 1/2 C v^2 of a
 * constant C). Its pause is told with that swing and with a frequency. */
#ifndef STRESS_STRETCH_H
#define STRESS_STRETCH_H

#include <math.h>

#include "../lanes.h"
#include "heatledger/plugin.h"

/* One kind of stretch: share of each cycle's time, V blocked meanwhile; both with the entries of the stress.
 */
typedef struct stress_stretch {
    const double *share, *voltage;
} stress_stretch;

enum { STRETCH_ARRAYS = 14 };

/* What becomes of a figure when its cycle is shortened: it is held, it is a mean, or the root of one, or a
 * share of the time. */
enum { STRETCH_HELD, STRETCH_MEAN, STRETCH_ROOT, STRETCH_SHARE, STRETCH_RULES };

/* Bytes of scratch that telling `kinds` of them apart in a stress of n cycles takes at most. */
#define STRETCH_SCRATCH(n, kinds)                                                                            \
    ((STRETCH_ARRAYS * (1 + (kinds)) + STRETCH_RULES) * (n) * sizeof(double) + 32)

/* left[k]: share of cycle k that is no stretch; 1, and none told apart, where nothing would be left. Returns
 * the number of stretches. */
static inline size_t stretch_count(size_t n, size_t kinds, const stress_stretch kind[], double left[])
{
    size_t all = 0;
    for (size_t k = 0; k < n; k++) {
        size_t here = 0;
        left[k] = 1.0;
        for (size_t j = 0; j < kinds; j++) {
            left[k] -= kind[j].share[k];
            here += kind[j].share[k] > 0.0;
        }
        if (!(left[k] > 0.0) || !here)
            left[k] = 1.0;
        else
            all += here;
    }
    return all;
}

/* Factors by which the figures of n cycles change, in rows of n for each rule; that of shares is there. */
static inline void stretch_factors(size_t n, double by[])
{
    const double *left = by + STRETCH_SHARE * n;
    for (size_t k = 0; k < n; k++) by[STRETCH_HELD * n + k] = 1.0;
    for (size_t k = 0; k < n; k++) by[STRETCH_MEAN * n + k] = 1.0 / left[k];
    for (size_t k = 0; k < n; k++) by[STRETCH_ROOT * n + k] = 1.0 / sqrt(left[k]);
}

/* One array of a stress: its longer copy, nothing in the stretches. NULL: it has none. */
typedef struct stretch_row {
    const double **array;
    int rule;
    double *copy;
} stretch_row;

/* to: room for all rows, one after another */
FOUR_LANES static void stretch_copy(size_t rows, stretch_row row[], size_t n, size_t all, const double by[],
                                    double *restrict to)
{
    for (size_t r = 0; r < rows; r++) {
        const double *from = *row[r].array, *factor = by + row[r].rule * n;
        if (!from) continue;
        for (size_t k = 0; k < n; k++) to[k] = from[k] * factor[k];
        for (size_t k = n; k < all; k++) to[k] = 0.0;
        *row[r].array = row[r].copy = to;
        to += all;
    }
}

/* Rewrites the arrays that `stress` has, weight and voltage_off among them; each share is 0 or more. charged:
 * Hz, how often a diode is charged to what it blocks in the one stretch of cycle k, as that begins; the
 * stress then has frequency and charge_on. NULL: nothing is charged. false: the scratch is full. */
static inline bool stress_tell_charged(hl_stress *stress, size_t kinds, const stress_stretch kind[],
                                       const double charged[], hl_scratch *scratch)
{
    enum { WEIGHT, BLOCKED, RATE, SWING };
    size_t n = stress->n, next = n;
    const double *weight = stress->weight;
    double *by = hl_scratch_take(scratch, STRETCH_RULES * n * sizeof *by);
    if (!by) return false;
    double *left = by + STRETCH_SHARE * n;
    size_t all = n + stretch_count(n, kinds, kind, left);
    if (all == n) return true;
    stretch_factors(n, by);
    stretch_row row[] = {[WEIGHT] = {&stress->weight, STRETCH_SHARE, NULL},
                         [BLOCKED] = {&stress->voltage_off, STRETCH_HELD, NULL},
                         [RATE] = {&stress->frequency, STRETCH_MEAN, NULL},
                         [SWING] = {&stress->charge_on, STRETCH_HELD, NULL},
                         {&stress->current_average, STRETCH_MEAN, NULL},
                         {&stress->current_rms, STRETCH_ROOT, NULL},
                         {&stress->current_peak, STRETCH_HELD, NULL},
                         {&stress->current_on, STRETCH_HELD, NULL},
                         {&stress->current_off, STRETCH_HELD, NULL},
                         {&stress->voltage_on, STRETCH_HELD, NULL},
                         {&stress->reverse_average, STRETCH_MEAN, NULL},
                         {&stress->reverse_rms, STRETCH_ROOT, NULL},
                         {&stress->slope_off, STRETCH_HELD, NULL},
                         {&stress->duty, STRETCH_MEAN, NULL}};
    double *room = hl_scratch_take(scratch, sizeof row / sizeof *row * all * sizeof *room);
    if (!room) return false;
    stretch_copy(sizeof row / sizeof *row, row, n, all, by, room);
    for (size_t k = 0; k < n; k++)
        for (size_t j = 0; left[k] < 1.0 && j < kinds; j++) {
            double share = kind[j].share[k], voltage = kind[j].voltage[k];
            if (!(share > 0.0)) continue;
            row[WEIGHT].copy[next] = weight[k] * share;
            row[BLOCKED].copy[next] = voltage;
            if (charged) row[RATE].copy[next] = charged[k] / share;
            if (charged) row[SWING].copy[next] = charged[k] > 0.0 ? voltage : 0.0;
            next++;
        }
    stress->n = all;
    return true;
}

static inline bool stress_tell_apart(hl_stress *stress, size_t kinds, const stress_stretch kind[],
                                     hl_scratch *scratch)
{
    return stress_tell_charged(stress, kinds, kind, NULL, scratch);
}

#endif
