/* cycle_block.h - the cycles of a stress in blocks with every array present, so that the inner loops of the
 * device models have no branch on a missing array and the compiler may turn them into vector code. */
#ifndef CYCLE_BLOCK_H
#define CYCLE_BLOCK_H

#include "heatledger/plugin.h"

enum { CYCLES_IN_BLOCK = 32 };

/* What an absent array reads as. */
static const double cycle_zeros[CYCLES_IN_BLOCK];

static inline const double *cycle_array(const double *array, size_t first)
{
    return array ? array + first : cycle_zeros;
}

static inline size_t cycle_count(const hl_stress *stress, size_t first)
{
    size_t left = stress->n - first;
    return left < CYCLES_IN_BLOCK ? left : CYCLES_IN_BLOCK;
}

static inline double cycle_larger(double a, double b)
{
    return a > b ? a : b;
}

static inline double cycle_smaller(double a, double b)
{
    return a < b ? a : b;
}

/* Time-weighted sum of one array and of its square: mean and mean square over the line period. */
static inline double cycle_mean(const hl_stress *stress, const double *array)
{
    double sum = 0.0;
    if (!array || !stress->weight) return 0.0;
    for (size_t k = 0; k < stress->n; k++) sum += stress->weight[k] * array[k];
    return sum;
}

static inline double cycle_mean_square(const hl_stress *stress, const double *array)
{
    double sum = 0.0;
    if (!array || !stress->weight) return 0.0;
    for (size_t k = 0; k < stress->n; k++) sum += stress->weight[k] * array[k] * array[k];
    return sum;
}

static inline double cycle_highest(const hl_stress *stress, const double *array)
{
    double most = 0.0;
    if (!array) return 0.0;
    for (size_t k = 0; k < stress->n; k++) most = cycle_larger(most, array[k]);
    return most;
}

#endif
