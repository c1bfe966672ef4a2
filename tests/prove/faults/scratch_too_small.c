/* Declares less scratch than it takes. */
#define SOLVE        wrong_solve
#define SCRATCH_SIZE 8
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    return sound_solve(in, out);
}
