/* stir.h - random changes to inputs: what a fuzzer does, without following which branches they reach. */
#ifndef FUZZ_STIR_H
#define FUZZ_STIR_H

#include <stddef.h>
#include <stdint.h>

#include "lottery.h"

enum { STIR_LARGEST = 8192, STIR_SEEDS_MAX = 512 };

typedef struct stir_seeds {
    uint8_t *data[STIR_SEEDS_MAX];
    size_t size[STIR_SEEDS_MAX], n;
} stir_seeds;

/* Fills `input` with one of the seeds after one to eight changes: bytes turned, dropped, doubled or put in,
 * runs of text taken from another seed, numbers replaced by awkward ones.  Returns its size. */
size_t stir(const stir_seeds *seeds, lottery *luck, uint8_t input[STIR_LARGEST]);

#endif
