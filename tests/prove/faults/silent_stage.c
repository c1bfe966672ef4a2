/* Infeasible, and not a word. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    out->reason.text[0] = 0;
    return status;
}
