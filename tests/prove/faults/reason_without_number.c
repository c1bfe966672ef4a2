/* Infeasible, and no number. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    if (status == HL_STAGE_INFEASIBLE)
        snprintf(out->reason.text, sizeof out->reason.text, "it does not work");
    return status;
}
