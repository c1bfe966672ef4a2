/* feedback.c - how strongly temperature feeds back on itself at the point at hand.
 *
 * That a point does not run away takes a glance (network_holds); the figure takes a tenth of a point's time,
 * so it waits until it is read, or until something would overwrite what it is worked out from. */
#include "solve/feedback.h"

#include <math.h>

#include "quantity/float_state.h"
#include "solve/field_step.h"
#include "thermal/repeat.h"

void feedback_begin(hl_workspace *work)
{
    *work->feedback = (feedback){.known = true, .gain = 0, .leader = -1};
}

static void find_gain(const hl_workspace *work)
{
    const double *mode = work->foretold ? start_mode(work->foretold) : NULL;
    feedback *f = work->feedback;
    f->gain = network_gain_near(work->network, &work->surroundings, work->temperature, work->slope, mode,
                                &f->leader);
    f->known = true;
}

double feedback_gain(const hl_workspace *work)
{
    if (!work->feedback->known) find_gain(work);
    return work->feedback->gain;
}

bool feedback_runs_away(hl_workspace *work)
{
    if (work->field) {
        field_faces(work);
        work->feedback->gain = field_gain(work, &work->feedback->leader);
    }
    if (work->network) {
        work->feedback->known = false;
        if (network_holds(work->network, &work->surroundings, work->temperature, work->slope)) return false;
    }
    return feedback_gain(work) >= 1;
}

double hl_result_feedback_gain(const hl_workspace *workspace, int *leader)
{
    PLAIN_FLOAT_STATE;
    double gain = feedback_gain(workspace);
    if (leader) *leader = workspace->feedback->leader;
    return gain;
}
