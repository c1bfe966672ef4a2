/* vectors.c - sums over vectors of unknowns, side by side. */
#include "solve/vectors.h"

#include <math.h>
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

FOUR_LANES double vector_greatest(const double *of, const double *scale, size_t n)
{
    lanes most = {0};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES) {
        lanes size = lanes_load(of + i);
        if (scale) size *= lanes_load(scale + i);
        lanes_raise(&most, &size);
    }
    double greatest = lanes_greatest(&most);
    for (; i < n; i++) {
        double size = fabs(scale ? scale[i] * of[i] : of[i]);
        if (size > greatest) greatest = size;
    }
    return greatest;
}

FOUR_LANES void vector_products(const double *a, const double *b, const double *scale, size_t n, double *aa,
                                double *ab, double *bb)
{
    lanes sum_aa = {0}, sum_ab = {0}, sum_bb = {0};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES) {
        lanes of_a = lanes_load(scale + i) * lanes_load(a + i),
              of_b = lanes_load(scale + i) * lanes_load(b + i);
        sum_aa += of_a * of_a;
        sum_ab += of_a * of_b;
        sum_bb += of_b * of_b;
    }
    *aa = lanes_total(sum_aa), *ab = lanes_total(sum_ab), *bb = lanes_total(sum_bb);
    for (; i < n; i++) {
        double of_a = scale[i] * a[i], of_b = scale[i] * b[i];
        *aa += of_a * of_a;
        *ab += of_a * of_b;
        *bb += of_b * of_b;
    }
}

void bytes_clear(void *at, size_t n)
{
    memset(at, 0, n);
}
