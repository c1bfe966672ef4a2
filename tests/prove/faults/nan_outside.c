/* Solved, it says of a load that is no number. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_input any = *in;
    if (!(in->load.current >= 0.0)) any.load.current = any.load.power = 0.0;
    hl_stage_status status = sound_solve(&any, out);
    if (status == HL_STAGE_SOLVED && !(in->load.current >= 0.0)) out->output.current = NAN;
    return status;
}
