/* warmup_critical.c - how far load or ambient may rise before the losses outrun the cooling.
 *
 * Continuation along the branch of solved points in the setting itself.  At a fold two solutions meet, and
 * near it 1 - gain goes to nothing as the root of the distance (Seydel, Practical Bifurcation and Stability
 * Analysis, ch. 2): (1 - gain)^2 is a straight line whose zero two points foretell.  Each guess is solved as
 * a whole adapter, so circuit and network tell together whether there is a solution. */
#include "solve/feedback.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/warmup.h"
#include "quantity/float_state.h"

enum { POINTS_MAX = 80 };

static const double fine = 1e-4; /* of the way from the first point to `most` */

typedef struct probe {
    double value, gain; /* of the last point solved */
    double before, gain_before;
    bool two; /* both are known */
} probe;

typedef struct search {
    hl_workspace *work;
    double *settings;
    size_t index;
    hl_critical *found;
    bool folded; /* the end of the bracket is a run-away, not a circuit that gave up */
} search;

/* Solve at one value; *solved tells. */
static hl_status try_at(search *s, double value, bool *solved)
{
    s->settings[s->index] = value;
    hl_status status = hl_solve(s->work, s->settings);
    s->found->points++;
    *solved = status == HL_OK && s->work->outcome == HL_SOLVED;
    if (status != HL_OK) return status;
    if (*solved) {
        int leader;
        s->found->gain = hl_result_feedback_gain(s->work, &leader);
        if (leader >= 0) {
            s->found->leader = leader;
            s->found->leader_hottest = s->work->temperature[leader];
        }
        return HL_OK;
    }
    s->folded = s->work->outcome == HL_RAN_AWAY;
    if (s->folded && s->found->leader < 0) hl_result_feedback_gain(s->work, &s->found->leader);
    return HL_OK;
}

static void remember(probe *p, double value, double gain)
{
    p->two = true;
    p->before = p->value;
    p->gain_before = p->gain;
    p->value = value;
    p->gain = gain;
}

/* Where the line through (1 - gain)^2 of the last two points meets zero; NaN when it does not. */
static double foretold(const probe *p)
{
    double now = (1 - p->gain) * (1 - p->gain), then = (1 - p->gain_before) * (1 - p->gain_before);
    if (!p->two || !(then > now) || !(p->value > p->before)) return NAN;
    return p->value + now * (p->value - p->before) / (then - now);
}

/* Next value to try between the last solved and `high`, which is not: just this or that side of the
 * foretold border in turns, or the middle. */
static double next_guess(const probe *p, double high, double width, unsigned turn)
{
    double guess = foretold(p), room = high - p->value, margin = 0.4 * width;
    if (!(guess > p->value) || !(guess < high) || turn % 3 == 2) return p->value + 0.5 * room;
    guess += turn % 3 == 0 ? -margin : margin;
    return fmin(fmax(guess, p->value + 0.02 * room), high - 0.02 * room);
}

static hl_status narrow(search *s, probe *p, double high, double width)
{
    for (unsigned turn = 0; high - p->value > width && turn < POINTS_MAX; turn++) {
        double value = next_guess(p, high, width, turn);
        bool solved;
        hl_status status = try_at(s, value, &solved);
        if (status != HL_OK) return status;
        if (solved)
            remember(p, value, s->found->gain);
        else
            high = value;
    }
    s->found->value = 0.5 * (p->value + high);
    s->found->border = s->folded ? HL_BORDER_FOLD : HL_BORDER_INFEASIBLE;
    if (s->folded && !feedback_leads(s->found->gain)) s->found->leader = -1; /* too hot by its watts alone */
    return HL_OK;
}

/* Eight strides to `most`, fewer when a border is met. */
static hl_status march(search *s, double from, double most)
{
    probe p = {from, s->found->gain, from, 0, false};
    double stride = (most - from) / 8;
    for (int k = 1; k <= 8; k++) {
        double value = k < 8 ? from + k * stride : most;
        bool solved;
        hl_status status = try_at(s, value, &solved);
        if (status != HL_OK) return status;
        if (!solved) return narrow(s, &p, value, fine * (most - from));
        remember(&p, value, s->found->gain);
    }
    s->found->value = most;
    s->found->border = HL_BORDER_NONE;
    return HL_OK;
}

hl_status hl_critical_setting(hl_workspace *workspace, const double settings[], size_t index, double most,
                              hl_critical *found)
{
    PLAIN_FLOAT_STATE;
    size_t n = hl_design_settings(workspace->design);
    memset(found, 0, sizeof *found);
    found->leader = -1;
    if (index >= n || !(most > settings[index]) || !isfinite(most)) return HL_BAD_INPUT;
    double *moved = malloc(n * sizeof *moved);
    if (!moved) return HL_NO_MEMORY;
    memcpy(moved, settings, n * sizeof *moved);
    search s = {workspace, moved, index, found, false};
    bool solved;
    hl_status status = try_at(&s, settings[index], &solved);
    if (status == HL_OK && !solved) {
        found->border = HL_BORDER_BEFORE;
        found->value = settings[index];
    } else if (status == HL_OK)
        status = march(&s, settings[index], most);
    workspace->outcome = HL_INFEASIBLE; /* no point is held now */
    workspace->settings = NULL;
    free(moved);
    return status;
}
