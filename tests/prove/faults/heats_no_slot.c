/* Heat sent to a slot that the stage does not have. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    out->heats[0] = 3;
    out->heats_by[0] = 1u << HL_CONDUCTION;
    return status;
}
