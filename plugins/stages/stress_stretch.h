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
#include <string.h>

#include "heatledger/plugin.h"

/* One kind of stretch: share of each cycle's time, V blocked meanwhile; both with the entries of the stress.
 */
typedef struct stress_stretch {
    const double *share, *voltage;
} stress_stretch;

enum { STRETCH_ARRAYS = 14 };

/* Bytes of scratch that telling `kinds` of them apart in a stress of n cycles takes at most. */
#define STRETCH_SCRATCH(n, kinds) ((STRETCH_ARRAYS + 1) * ((1 + (kinds)) * (n) * sizeof(double) + 16))

/* What becomes of a figure when its cycle is shortened: it is held, it is a mean, or the root of one. */
typedef enum stretch_rule { STRETCH_HELD, STRETCH_MEAN, STRETCH_ROOT } stretch_rule;

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

/* A longer copy, shortened by its rule; nothing in the stretches. */
static inline double *stretch_copy(const double *from, stretch_rule rule, const double left[], size_t n,
                                   size_t all, hl_scratch *scratch)
{
    double *to = hl_scratch_take(scratch, all * sizeof *to);
    if (!to) return NULL;
    memcpy(to, from, n * sizeof *to);
    memset(to + n, 0, (all - n) * sizeof *to);
    for (size_t k = 0; k < n && rule != STRETCH_HELD; k++)
        to[k] /= rule == STRETCH_MEAN ? left[k] : sqrt(left[k]);
    return to;
}

/* Puts what charges a diode into its stretches: weight times frequency is the cycle's weight times
 * charged[k].
 */
static inline void stretch_charge(size_t n, size_t kinds, const stress_stretch kind[], const double left[],
                                  const double charged[], const double voltage[], double frequency[],
                                  double swing[])
{
    size_t next = n;
    for (size_t k = 0; k < n; k++)
        for (size_t j = 0; left[k] < 1.0 && j < kinds; j++) {
            if (!(kind[j].share[k] > 0.0)) continue;
            frequency[next] = charged[k] / kind[j].share[k];
            swing[next] = charged[k] > 0.0 ? voltage[next] : 0.0;
            next++;
        }
}

/* Rewrites the arrays that `stress` has, weight and voltage_off among them; each share is 0 or more. charged:
 * Hz, how often a diode is charged to what it blocks in the one stretch of cycle k, as that begins; the
 * stress then has frequency and charge_on. NULL: nothing is charged. false: the scratch is full. */
static inline bool stress_tell_charged(hl_stress *stress, size_t kinds, const stress_stretch kind[],
                                       const double charged[], hl_scratch *scratch)
{
    size_t n = stress->n, next = n;
    double *left = hl_scratch_take(scratch, n * sizeof *left);
    if (!left) return false;
    size_t all = n + stretch_count(n, kinds, kind, left);
    if (all == n) return true;
    double *weight = stretch_copy(stress->weight, STRETCH_HELD, left, n, all, scratch);
    double *voltage = stretch_copy(stress->voltage_off, STRETCH_HELD, left, n, all, scratch);
    if (!weight || !voltage) return false;
    for (size_t k = 0; k < n; k++) {
        for (size_t j = 0; left[k] < 1.0 && j < kinds; j++) {
            if (!(kind[j].share[k] > 0.0)) continue;
            weight[next] = weight[k] * kind[j].share[k];
            voltage[next++] = kind[j].voltage[k];
        }
        weight[k] *= left[k];
    }
    double *frequency = NULL, *swing = NULL;
    const struct {
        const double **array;
        stretch_rule rule;
        double **copy;
    } rows[] = {
        {&stress->frequency, STRETCH_MEAN, &frequency}, {&stress->current_average, STRETCH_MEAN, NULL},
        {&stress->current_rms, STRETCH_ROOT, NULL},     {&stress->current_peak, STRETCH_HELD, NULL},
        {&stress->current_on, STRETCH_HELD, NULL},      {&stress->current_off, STRETCH_HELD, NULL},
        {&stress->voltage_on, STRETCH_HELD, NULL},      {&stress->reverse_average, STRETCH_MEAN, NULL},
        {&stress->reverse_rms, STRETCH_ROOT, NULL},     {&stress->slope_off, STRETCH_HELD, NULL},
        {&stress->charge_on, STRETCH_HELD, &swing},     {&stress->duty, STRETCH_MEAN, NULL}};
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
        if (!*rows[r].array) continue;
        double *copy = stretch_copy(*rows[r].array, rows[r].rule, left, n, all, scratch);
        if (!copy) return false;
        *rows[r].array = copy;
        if (rows[r].copy) *rows[r].copy = copy;
    }
    if (charged) stretch_charge(n, kinds, kind, left, charged, voltage, frequency, swing);
    stress->n = all;
    stress->weight = weight;
    stress->voltage_off = voltage;
    return true;
}

static inline bool stress_tell_apart(hl_stress *stress, size_t kinds, const stress_stretch kind[],
                                     hl_scratch *scratch)
{
    return stress_tell_charged(stress, kinds, kind, NULL, scratch);
}

#endif
