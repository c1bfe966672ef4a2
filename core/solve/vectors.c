/* vectors.c - sums over vectors of unknowns, side by side. */
#include "solve/vectors.h"

#include "wave/lanes.h"

FOUR_LANES void vector_add(double *restrict to, double factor, const double *restrict from, size_t n)
{
    for (size_t i = 0; i < n; i++) to[i] += factor * from[i];
}

FOUR_LANES void vector_raise(double *restrict to, const double *restrict from, size_t n)
{
    for (size_t i = 0; i < n; i++) to[i] = from[i] > to[i] ? from[i] : to[i];
}
