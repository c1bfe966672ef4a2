/* lottery.c - source: S. Vigna's splitmix64 step (public domain), constants from memory. */
#include "lottery.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

lottery lottery_open(const char *name)
{
    const char *wanted = getenv("HL_TEST_SEED");
    unsigned long long seed = wanted ? strtoull(wanted, NULL, 0) : 20240917u;
    fprintf(stderr, "%s: HL_TEST_SEED=%llu\n", name, seed);
    return (lottery){.seed = seed, .state = seed};
}

uint64_t lottery_next(lottery *luck)
{
    uint64_t z = luck->state += 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

size_t lottery_below(lottery *luck, size_t limit)
{
    return limit ? (size_t)(lottery_next(luck) % limit) : 0;
}

double lottery_between(lottery *luck, double low, double high)
{
    return low + (high - low) * ((double)(lottery_next(luck) >> 11) * 0x1p-53);
}

double lottery_scale(lottery *luck, double low, double high)
{
    return exp(lottery_between(luck, log(low), log(high)));
}

int lottery_count(const char *variable, int usual)
{
    const char *text = getenv(variable);
    int n = text ? atoi(text) : 0;
    return n > 0 ? n : usual;
}
