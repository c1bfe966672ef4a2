/* vectors.c - sums over vectors of unknowns, side by side. */
#include "solve/vectors.h"

#include <string.h>

#include "wave/lanes.h"

FOUR_LANES void vector_add(double *restrict to, double factor, const double *restrict from, size_t n)
{
    for (size_t i = 0; i < n; i++) to[i] += factor * from[i];
}

FOUR_LANES void vector_raise(double *restrict to, const double *restrict from, size_t n)
{
    for (size_t i = 0; i < n; i++) to[i] = from[i] > to[i] ? from[i] : to[i];
}

FOUR_LANES void vector_scale(double *to, double factor, size_t n)
{
    for (size_t i = 0; i < n; i++) to[i] *= factor;
}

FOUR_LANES void vector_multiply(double *restrict to, const double *restrict from, size_t n)
{
    for (size_t i = 0; i < n; i++) to[i] *= from[i];
}

FOUR_LANES double vector_sum(const double *of, size_t n)
{
    lanes sums = {0};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES) sums += lanes_load(of + i);
    double sum = lanes_total(sums);
    for (; i < n; i++) sum += of[i];
    return sum;
}

void bytes_clear(void *at, size_t n)
{
    memset(at, 0, n);
}
