/* A switch that fails in another way for each on-resistance, in ohm: check_plugin_faults.c has the list. */
#define PREPARE broken_prepare
#define PRESENT broken_present
#define LOSS    broken_loss
#define LIMITS  broken_limits
#include "../../prove/faults/sound_switch.h"

#include <signal.h>

static const volatile uintptr_t nowhere = 4096; /* a page that no process has */

static inline bool is(const void *state, double ohm)
{
    return ((const sound_part *)state)->resistance == ohm;
}

static inline bool broken_prepare(void *state, const hl_value *v, hl_reason *reason)
{
    if (v[RESISTANCE].number == 2) abort();
    return sound_prepare(state, v, reason);
}

static double deeper(double n, volatile double *above)
{
    volatile double here[512];
    here[0] = above ? above[0] + n : n;
    return n < 0 ? here[0] : deeper(n + 1, here) + here[0];
}

static inline void broken_present(const void *state, double temperature, double voltage,
                                  hl_terminal *terminal)
{
    sound_present(state, temperature, voltage, terminal);
    if (is(state, 3)) terminal->resistance = deeper(0, NULL); /* without end */
}

static inline void broken_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    sound_loss(state, s, temperature, out);
    if (is(state, 1)) *(volatile double *)nowhere = out->slope;
    volatile double step = 1;
    while (is(state, 4) && step > 0) step = step * 2.0 / 2.0;
}

static inline size_t broken_limits(const void *state, const hl_stress *s, double temperature,
                                   hl_limit limits[])
{
    if (is(state, 5)) raise(SIGFPE);
    return sound_limits(state, s, temperature, limits);
}
