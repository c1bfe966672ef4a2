/* chance.h - seeded random numbers: the same seed gives the same parts and points on every machine. */
#ifndef HEATLEDGER_CHANCE_H
#define HEATLEDGER_CHANCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct chance {
    uint64_t state;
} chance;

uint64_t chance_next(chance *luck);
/* 0 .. limit - 1; 0 when limit is 0 */
size_t chance_below(chance *luck, size_t limit);
bool chance_of(chance *luck, double share);
/* in [low, high), evenly; and evenly in the logarithm (0 < low < high) */
double chance_between(chance *luck, double low, double high);
double chance_scale(chance *luck, double low, double high);

#endif
