/* Memory taken, and given back, in a hot function. */
#define LOSS wrong_loss
#include "sound_switch.h"

static inline void wrong_loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    double *copy = malloc((s->n + 1) * sizeof *copy);
    if (!copy) return;
    for (size_t k = 0; k < s->n; k++) copy[k] = hl_stress_at(s->current_rms, k);
    hl_stress again = *s;
    again.current_rms = s->current_rms ? copy : NULL;
    sound_loss(state, &again, temperature, out);
    free(copy);
}
