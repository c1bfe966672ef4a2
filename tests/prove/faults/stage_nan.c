/* A ratio of nothing to nothing. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    if (in->slot[0].count > 1) out->stress[0].total_peak = 0.0 * INFINITY;
    return status;
}
