/* Calls a function that nobody provides; a lazy loader would notice in the middle of a solution. */
#include "heatledger/plugin.h"

hl_stage_status function_nobody_provides(const hl_stage_input *in, hl_stage_output *out);
static hl_stage_status solve_elsewhere(const hl_stage_input *in, hl_stage_output *out)
{
    return function_nobody_provides(in, out);
}
#define SOLVE solve_elsewhere
#include "sound.h"
