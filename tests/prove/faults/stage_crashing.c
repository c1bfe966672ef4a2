/* A signal at heavy load. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    if (in->load.power > 50.0) abort();
    return sound_solve(in, out);
}
