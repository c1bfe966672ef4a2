/* chance.c - random numbers that depend on their place alone. */
#include "heatledger/spread.h"

enum { ROUNDS = 10 };

/* Multipliers and key steps of the 4x32 form: table 2 and section 3.4 of the source in the header. */
static const uint32_t multiplier_a = 0xD2511F53u, multiplier_b = 0xCD9E8D57u;
static const uint32_t step_a = 0x9E3779B9u, step_b = 0xBB67AE85u;

void hl_chance_block(const uint32_t counter[4], const uint32_t key[2], uint32_t out[4])
{
    uint32_t c[4] = {counter[0], counter[1], counter[2], counter[3]}, k[2] = {key[0], key[1]};
    for (int round = 0; round < ROUNDS; round++) {
        uint64_t a = (uint64_t)multiplier_a * c[0], b = (uint64_t)multiplier_b * c[2];
        uint32_t next[4] = {(uint32_t)(b >> 32) ^ c[1] ^ k[0], (uint32_t)b, (uint32_t)(a >> 32) ^ c[3] ^ k[1],
                            (uint32_t)a};
        for (int i = 0; i < 4; i++) c[i] = next[i];
        k[0] += step_a;
        k[1] += step_b;
    }
    for (int i = 0; i < 4; i++) out[i] = c[i];
}

uint64_t hl_chance_bits(uint64_t seed, uint64_t stream, uint64_t index)
{
    uint32_t counter[4] = {(uint32_t)index, (uint32_t)(index >> 32), (uint32_t)stream,
                           (uint32_t)(stream >> 32)};
    uint32_t key[2] = {(uint32_t)seed, (uint32_t)(seed >> 32)}, out[4];
    hl_chance_block(counter, key, out);
    return (uint64_t)out[0] << 32 | out[1];
}

/* 52 bits and a half: never 0, never 1. */
double hl_chance(uint64_t seed, uint64_t stream, uint64_t index)
{
    return ((double)(hl_chance_bits(seed, stream, index) >> 12) + 0.5) * 0x1p-52;
}
