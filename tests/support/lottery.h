/* lottery.h - random numbers for property tests: the seed is printed when a test fails. */
#ifndef LOTTERY_H
#define LOTTERY_H

#include <stddef.h>
#include <stdint.h>

typedef struct lottery {
    unsigned long long seed;
    uint64_t state;
} lottery;

/* Seed from HL_TEST_SEED, or a fixed one so that a plain run repeats; printed to stderr with the name. */
lottery lottery_open(const char *name);
uint64_t lottery_next(lottery *luck);
/* 0 .. limit - 1; 0 when limit is 0 */
size_t lottery_below(lottery *luck, size_t limit);
/* in [low, high), evenly; and evenly in the logarithm (0 < low < high) */
double lottery_between(lottery *luck, double low, double high);
double lottery_scale(lottery *luck, double low, double high);
/* How often to try: the number in an environment variable, or as usual. */
int lottery_count(const char *variable, int usual);

#endif
