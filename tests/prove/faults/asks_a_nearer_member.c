/* A host that has heats need not have node_loss. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    if (HL_REACHES(out, heats)) out->node_loss[0] = 0.001;
    return status;
}
