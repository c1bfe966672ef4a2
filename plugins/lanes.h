/* lanes.h - four numbers at once, compiled for one register where the processor can; the loader chooses.
 *
 * Each number goes through the same operations in the same order either way, and none are contracted, so the
 * bits are the same on any machine. Lanes are never passed by value between functions. */
#ifndef LANES_H
#define LANES_H

#include <stdbool.h>
#include <stddef.h>

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) &&     \
    !defined(__SANITIZE_THREAD__) && !defined(__OPTIMIZE_SIZE__) && defined(__OPTIMIZE__)
#define FOUR_LANES __attribute__((target_clones("avx2", "default"), unused))
#else
#define FOUR_LANES __attribute__((unused))
#endif

/* Of a function's parts, so that they are compiled as it is. */
#define WITHIN_LANES static inline __attribute__((always_inline))

enum { LANES = 4 };
typedef double lanes __attribute__((vector_size(4 * sizeof(double)), aligned(8), may_alias));
typedef int lanes_whole __attribute__((vector_size(4 * sizeof(int))));
typedef long long lanes_mask __attribute__((vector_size(4 * sizeof(long long)), may_alias));

/* Of four numbers in a row, at any address. */
#define lanes_load(from)       (*(const lanes *)(const void *)(from))
#define lanes_store(to, value) (*(lanes *)(void *)(to) = (value))

/* A member of four structures. */
#define lanes_of(pointers, member)                                                                           \
    ((lanes){(pointers)[0]->member, (pointers)[1]->member, (pointers)[2]->member, (pointers)[3]->member})

/* Their sum. */
#define lanes_total(sum) (((sum)[0] + (sum)[1]) + ((sum)[2] + (sum)[3]))

/* a where the mask is set, else b: all four. */
WITHIN_LANES void lanes_choose(const lanes_mask *mask, const lanes *a, const lanes *b, lanes *result)
{
    union {
        lanes number;
        lanes_mask bits;
    } chosen = {*a}, other = {*b};
    chosen.bits = (chosen.bits & *mask) | (other.bits & ~*mask);
    *result = chosen.number;
}

/* Rows to columns: four numbers of each of four become one of each four times. */
WITHIN_LANES void lanes_turned(lanes row[LANES])
{
    lanes a = __builtin_shufflevector(row[0], row[1], 0, 4, 2, 6);
    lanes b = __builtin_shufflevector(row[0], row[1], 1, 5, 3, 7);
    lanes c = __builtin_shufflevector(row[2], row[3], 0, 4, 2, 6);
    lanes d = __builtin_shufflevector(row[2], row[3], 1, 5, 3, 7);
    row[0] = __builtin_shufflevector(a, c, 0, 1, 4, 5);
    row[1] = __builtin_shufflevector(b, d, 0, 1, 4, 5);
    row[2] = __builtin_shufflevector(a, c, 2, 3, 6, 7);
    row[3] = __builtin_shufflevector(b, d, 2, 3, 6, 7);
}

/* Numbers without their signs. */
WITHIN_LANES void lanes_size(const lanes *value, lanes *size)
{
    union {
        lanes number;
        lanes_mask bits;
    } all = {*value};
    all.bits &= 0x7fffffffffffffffLL;
    *size = all.number;
}

/* The larger of a and b, number by number. */
WITHIN_LANES void lanes_larger(const lanes *a, const lanes *b, lanes *result)
{
    lanes_mask larger = *a > *b;
    lanes_choose(&larger, a, b, result);
}

/* Whether the mask is set anywhere. */
WITHIN_LANES bool lanes_any(const lanes_mask *mask)
{
    return ((*mask)[0] | (*mask)[1] | (*mask)[2] | (*mask)[3]) != 0;
}

/* The smallest multiple of four that is no less than n. */
static inline size_t lanes_padded(size_t n)
{
    return (n + LANES - 1) / LANES * LANES;
}

#endif
