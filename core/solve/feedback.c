/* feedback.c - how strongly temperature feeds back on itself at the point at hand.
 *
 * That a point does not run away takes a glance (network_holds); the figure takes a tenth of a point's time,
 * so it waits until it is read, or until something would overwrite what it is worked out from. */
#include "solve/feedback.h"

#include <math.h>

#include "quantity/float_state.h"
#include "solve/field_step.h"
#include "solve/round.h"
#include "thermal/repeat.h"

enum { QUARTERINGS = 8 }; /* of heat that no box carries */

void feedback_begin(hl_workspace *work)
{
    *work->feedback = (feedback){.known = true, .gain = 0, .leader = -1};
}

static double gain_of(const hl_workspace *work, const double slope[], int *leader)
{
    const double *mode = work->foretold ? start_mode(work->foretold) : NULL;
    return network_gain_near(work->network, &work->surroundings, work->temperature, slope, mode, leader);
}

/* With what is sent to other parts as heat.c halves it between the two nodes: no less than the gain. With Z
 * what a watt does, S the slopes and m what rises at t with the temperature of f, the gain is that of Z (S +
 * m e_t e_f'), and x' (e_t e_f') x <= x' (e_t e_t' + e_f e_f') x / 2 (derived; Z symmetric). A point that
 * stands has a gain below one. */
static void find_gain(const hl_workspace *work)
{
    feedback *f = work->feedback;
    size_t n = hl_network_nodes(work->design->network);
    bool sent = false;
    f->known = true;
    for (size_t i = 0; i < n; i++) {
        work->steep[i] = work->slope[i] + work->sent[i];
        sent |= work->sent[i] != 0;
    }
    if (sent && (f->gain = gain_of(work, work->steep, &f->leader)) < 1) return;
    f->gain = gain_of(work, work->slope, &f->leader);
    if (sent && f->gain < 1) f->gain = below_one;
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

static bool heat_is_finite(const hl_workspace *work)
{
    for (size_t i = 0; i < hl_network_nodes(work->design->network); i++)
        if (!isfinite(work->power[i]) || !isfinite(work->slope[i])) return false;
    return true;
}

/* Brings the box to a state by what was booked last, standing still: as much of it as the box carries, and no
 * more than its ports take. What a watt does is told there, not where losses have no balance. */
static bool reach_sense(hl_workspace *work)
{
    size_t n = hl_network_nodes(work->design->network);
    double sum = 0, most = run_away_taken(work);
    for (size_t i = 0; i < n; i++) sum += fabs(work->power[i]);
    double share = sum > most && most > 0 ? most / sum : 1;
    for (int k = 0; k < QUARTERINGS; k++, share = 0.25) {
        for (size_t i = 0; i < n; i++) work->power[i] *= share;
        if (round_stand_still(work) == HL_OK) return true;
    }
    return false;
}

/* With the slopes booked last. */
static double booked_gain(hl_workspace *work, int *leader)
{
    double gain = NAN;
    *leader = -1;
    if (!heat_is_finite(work)) return NAN;
    if (work->field && (*leader = field_beyond_inside(work, &gain)) >= 0) return gain;
    if (!reach_sense(work)) return NAN;
    if (work->field) return field_gain(work, leader);
    return hl_network_gain(work->network, &work->surroundings, work->temperature, work->slope, leader);
}

run_away feedback_ran_away(hl_workspace *work)
{
    int leader;
    double gain = booked_gain(work, &leader);
    run_away found = run_away_of(gain, leader);
    work->feedback->known = true;
    work->feedback->leader = found.leader;
    return found;
}

double hl_result_feedback_gain(const hl_workspace *workspace, int *leader)
{
    PLAIN_FLOAT_STATE;
    double gain = feedback_gain(workspace);
    if (leader) *leader = workspace->feedback->leader;
    return gain;
}
