/* Weights that do not sum to one. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    if (status == HL_STAGE_SOLVED) *(double *)(uintptr_t)out->stress[0].weight = 0.99;
    return status;
}
