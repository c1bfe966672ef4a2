/* Takes memory that it was not given. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    if (status == HL_STAGE_NO_MEMORY) memset(in->scratch->base + in->scratch->size, 0, 8);
    return status;
}
