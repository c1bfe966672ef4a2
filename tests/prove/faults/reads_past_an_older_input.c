/* A share that an older host does not hand over is read where another member of its may lie. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    out->quantity[0].value += in->border_shift;
    return status;
}
