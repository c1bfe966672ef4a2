/* The loss is not drawn at the input. */
#define SOLVE wrong_solve
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_stage_status status = sound_solve(in, out);
    out->input.power -= 1e-6 * out->circuit_loss;
    return status;
}
