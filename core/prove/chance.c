/* chance.c - source: S. Vigna's splitmix64 step (public domain), constants from memory. */
#include "prove/chance.h"

#include <math.h>

uint64_t chance_next(chance *luck)
{
    uint64_t z = luck->state += 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

size_t chance_below(chance *luck, size_t limit)
{
    return limit ? (size_t)(chance_next(luck) % limit) : 0;
}

double chance_between(chance *luck, double low, double high)
{
    return low + (high - low) * ((double)(chance_next(luck) >> 11) * 0x1p-53);
}

bool chance_of(chance *luck, double share)
{
    return chance_between(luck, 0.0, 1.0) < share;
}

double chance_scale(chance *luck, double low, double high)
{
    return exp(chance_between(luck, log(low), log(high)));
}
