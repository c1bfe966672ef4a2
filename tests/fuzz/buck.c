/* buck.c - the small design of the spread tests, outside the test runner: what it asserts is a MUST here. */
#include "story.h"

#include "target.h"

#undef ck_assert_msg
#define ck_assert_msg(condition, ...)                                                                        \
    do {                                                                                                     \
        if (!(condition)) {                                                                                  \
            fprintf(stderr, __VA_ARGS__), abort();                                                           \
        }                                                                                                    \
    } while (0)
#include "../support/drafted_adapter.c"
#include "../support/uncertain_buck.c"
