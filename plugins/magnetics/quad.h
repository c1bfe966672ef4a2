/* quad.h - four numbers at once, two in each register of any 64-bit machine.
 *
 * For sums whose terms are rows of four, which a compiler left alone would turn the wrong way about. Each
 * number is added in the same order as in a plain loop, so the result is the same to the bit. */
#ifndef QUAD_H
#define QUAD_H

#include <string.h>

typedef double quad_half __attribute__((vector_size(16)));

typedef struct quad {
    quad_half low, high;
} quad;

static inline quad quad_load(const double from[4])
{
    quad q;
    memcpy(&q, from, sizeof q);
    return q;
}

static inline void quad_store(double to[4], const quad *q)
{
    memcpy(to, q, sizeof *q);
}

/* sum += factor row[0 .. 3] */
static inline void quad_add(quad *sum, double factor, const double row[4])
{
    quad q = quad_load(row);
    quad_half both = {factor, factor};
    sum->low += both * q.low;
    sum->high += both * q.high;
}

#endif
