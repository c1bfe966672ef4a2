/* hypercube.c - samples of the unit cube, by layers or plainly. */
#include <stdlib.h>

#include "heatledger/spread.h"

/* Streams 2 k and 2 k + 1 of a seed belong to unknown k: its order of layers, and the place within each. */
static uint64_t order_stream(size_t unknown)
{
    return 2 * (uint64_t)unknown;
}

/* Fisher and Yates' shuffle; the bias of taking 64 bits modulo n is below n / 2^64. */
static void shuffle(uint64_t seed, uint64_t stream, size_t n, size_t order[])
{
    for (size_t i = 0; i < n; i++) order[i] = i;
    for (size_t i = n; i > 1; i--) {
        size_t at = (size_t)(hl_chance_bits(seed, stream, i) % i), kept = order[i - 1];
        order[i - 1] = order[at];
        order[at] = kept;
    }
}

hl_status hl_latin_hypercube(uint64_t seed, size_t samples, size_t unknowns, double p[])
{
    size_t *order = calloc(samples + 1, sizeof *order);
    if (!order) return HL_NO_MEMORY;
    for (size_t u = 0; u < unknowns; u++) {
        shuffle(seed, order_stream(u), samples, order);
        for (size_t i = 0; i < samples; i++)
            p[i * unknowns + u] =
                ((double)order[i] + hl_chance(seed, order_stream(u) + 1, i)) / (double)samples;
    }
    free(order);
    return HL_OK;
}

void hl_plain_sample(uint64_t seed, size_t samples, size_t unknowns, double p[])
{
    for (size_t i = 0; i < samples; i++)
        for (size_t u = 0; u < unknowns; u++) p[i * unknowns + u] = hl_chance(seed, order_stream(u) + 1, i);
}
