/* Memory taken in solve(). */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    void *volatile taken = malloc(64); /* volatile: or the compiler leaves both calls out */
    free(taken);
    return sound_solve(in, out);
}
