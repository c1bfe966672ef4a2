/* float_state.h - rounding to nearest, no trap and no flush to zero while a public function works, whatever
 * its caller has set; the caller's own state is back when it returns. */
#ifndef HEATLEDGER_FLOAT_STATE_H
#define HEATLEDGER_FLOAT_STATE_H

#include <fenv.h>
#include <stdbool.h>
#if defined(__x86_64__)
#include <xmmintrin.h>
#endif

typedef struct float_state {
    bool changed;
    fenv_t callers;
} float_state;

/* As a process begins: then nothing need be done, and this is all it costs. */
static inline bool float_state_is_plain(void)
{
#if defined(__x86_64__)
    unsigned short control; /* of the older unit, which does long double */
    __asm__ volatile("fnstcw %0" : "=m"(control));
    return (_mm_getcsr() & 0xffc0u) == 0x1f80u && (control & 0x0f3fu) == 0x033fu;
#else
    return false;
#endif
}

static inline float_state float_state_plain(void)
{
    float_state kept = {.changed = !float_state_is_plain()};
    if (kept.changed) {
        fegetenv(&kept.callers);
        fesetenv(FE_DFL_ENV);
    }
    return kept;
}

static inline void float_state_back(const float_state *kept)
{
    if (kept->changed) fesetenv(&kept->callers);
}

/* First in a function: holds until it returns, whichever way. */
#define PLAIN_FLOAT_STATE                                                                                    \
    const float_state kept_float_state __attribute__((cleanup(float_state_back), unused)) =                  \
        float_state_plain()

#endif
