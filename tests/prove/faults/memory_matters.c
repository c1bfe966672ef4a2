/* The last answer shows in the next. */
#define SOLVE       wrong_solve
#define MEMORY_SIZE sizeof(double)
#include "sound_stage.h"

static inline hl_stage_status wrong_solve(const hl_stage_input *in, hl_stage_output *out)
{
    double *last = in->memory;
    hl_stage_status status = sound_solve(in, out);
    out->output.voltage *= 1.0 + 1e-6 * (last[0] != 0.0);
    out->output.power = out->output.voltage * out->output.current;
    out->input.power = out->output.power + out->circuit_loss + in->extra_loss;
    last[0] = 1.0;
    return status;
}
