/* lanes.h - loops over harmonics, compiled for four numbers at once where the processor can; the loader
 * chooses.
 *
 * Each number goes through the same operations in the same order either way, and none are contracted, so the
 * bits are the same on any machine. */
#ifndef HEATLEDGER_LANES_H
#define HEATLEDGER_LANES_H

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) &&     \
    !defined(__SANITIZE_THREAD__) && !defined(__OPTIMIZE_SIZE__) && defined(__OPTIMIZE__)
#define FOUR_LANES __attribute__((target_clones("avx2", "default")))
#else
#define FOUR_LANES
#endif

#endif
