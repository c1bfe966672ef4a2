/* lanes.h - four numbers at once, compiled for one register where the processor can; the loader chooses.
 *
 * Each number goes through the same operations in the same order either way, and none are contracted, so the
 * bits are the same on any machine. Lanes are never passed by value between functions. */
#ifndef HEATLEDGER_LANES_H
#define HEATLEDGER_LANES_H

#include <string.h>

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) &&     \
    !defined(__SANITIZE_THREAD__) && !defined(__OPTIMIZE_SIZE__) && defined(__OPTIMIZE__)
#define FOUR_LANES __attribute__((target_clones("avx2", "default")))
#else
#define FOUR_LANES
#endif

/* Of a function's parts, so that they are compiled as it is. */
#if defined(__GNUC__)
#define WITHIN_LANES static inline __attribute__((always_inline))
#else
#define WITHIN_LANES static inline
#endif

enum { LANES = 4 };
typedef double lanes __attribute__((vector_size(4 * sizeof(double)), aligned(8), may_alias));
typedef long long lanes_mask __attribute__((vector_size(4 * sizeof(long long))));
typedef unsigned long long lanes_bits __attribute__((vector_size(4 * sizeof(long long))));

/* Of four numbers in a row, at any address. */
#define lanes_load(from)       (*(const lanes *)(const void *)(from))
#define lanes_store(to, value) (*(lanes *)(void *)(to) = (value))

/* Whether a mask is set anywhere. */
#define lanes_any(mask) (((*(mask))[0] | (*(mask))[1] | (*(mask))[2] | (*(mask))[3]) != 0)

/* Their sum. */
#define lanes_total(sum) (((sum)[0] + (sum)[1]) + ((sum)[2] + (sum)[3]))

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

/* Nought where the mask is not set, whatever was there. */
WITHIN_LANES void lanes_keep(const lanes_mask *mask, lanes *value)
{
    lanes_bits bits;
    memcpy(&bits, value, sizeof bits);
    bits &= (lanes_bits)*mask;
    memcpy(value, &bits, sizeof bits);
}

/* Numbers without their signs. */
WITHIN_LANES void lanes_size(const lanes *value, lanes *size)
{
    lanes_bits bits;
    memcpy(&bits, value, sizeof bits);
    bits &= ~(1ULL << 63);
    memcpy(size, &bits, sizeof bits);
}

/* Each of them raised to the size of another where that is larger; what is no number raises nothing. */
WITHIN_LANES void lanes_raise(lanes *most, const lanes *of)
{
    lanes size, rest = *most;
    lanes_size(of, &size);
    lanes_mask larger = size > *most, not = ~larger;
    lanes_keep(&larger, &size);
    lanes_keep(&not, &rest);
    *most = size + rest; /* one of them is nought */
}

/* The greatest of numbers that are no less than nought. */
WITHIN_LANES double lanes_greatest(const lanes *of)
{
    double a = (*of)[0] > (*of)[1] ? (*of)[0] : (*of)[1], b = (*of)[2] > (*of)[3] ? (*of)[2] : (*of)[3];
    return a > b ? a : b;
}

/* A member of four structures. */
#define lanes_of(pointers, member)                                                                           \
    ((lanes){(pointers)[0]->member, (pointers)[1]->member, (pointers)[2]->member, (pointers)[3]->member})

#endif
