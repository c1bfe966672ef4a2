/* target.h - what every fuzz target shares: the one function, and a reason to stop.
 *
 * A target is one file fuzz_NAME.c.  The fuzzer calls it with what it made up; the ordinary suite calls it
 * with the files of corpus/NAME (replay.c), so that whatever once broke it is tried again in every build. */
#ifndef FUZZ_TARGET_H
#define FUZZ_TARGET_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* A promise that does not hold is as bad as a crash. */
#define MUST(condition)                                                                                      \
    do {                                                                                                     \
        if (!(condition)) {                                                                                  \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #condition);                          \
            abort();                                                                                         \
        }                                                                                                    \
    } while (0)

#endif
