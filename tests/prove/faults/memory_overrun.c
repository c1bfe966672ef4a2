/* More warm start than it declared. */
#define SOLVE       wrong_solve
#define MEMORY_SIZE sizeof(double)
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    ((double *)in->memory)[1] = 1.0;
    return sound_solve(in, out);
}
