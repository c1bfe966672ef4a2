/* steady.c - steady temperatures by damped Newton.
 *
 * The Newton matrix has columns that sum to nothing but for the surroundings, and no positive entry off the
 * diagonal; while feedback is weaker than the links it is an M-matrix, elimination on the
 * diagonal is stable, and all pivots are positive (Berman & Plemmons, Nonnegative Matrices, ch. 6).
 * A pivot that is not positive therefore marks a point that cannot be a stable solution. */
#include "quantity/float_state.h"
#include "thermal/law.h"
#include "thermal/repeat.h"
#include "thermal/work.h"

#include <math.h>
#include <string.h>

enum { NEWTON_MAX = 60, HALVINGS_MAX = 12, CORRECTIONS_MAX = 3 };

static const double hottest = 2000.0;        /* K; beyond, nothing is left to solve for */
static const double least_difference = 1e-4; /* K, see law_power */
static const double first_difference = 5.0;  /* K; the same for a start with no differences at all */

static bool surroundings_are_sane(const hl_surroundings *s)
{
    return s->temperature > 0 && s->temperature <= hottest && s->pressure >= 0 && s->pressure <= 1e8;
}

static double highest(const hl_network_work *work)
{
    double high = 0;
    for (int i = 0; i < work->n; i++) high = fmax(high, work->temperature[i]);
    return high;
}

/* Start at the guess, where it is one. */
FOUR_LANES static void take_guess(hl_network_work *work, const double guess[])
{
    const double ambient = work->ambient;
    double *temperature = work->temperature;
    SIDE_BY_SIDE
    for (int i = 0, n = work->n; i < n; i++)
        temperature[i] = ((guess[i] > 0) & (guess[i] <= hottest)) ? guess[i] : ambient;
}

static bool is_flat(const hl_network_work *work)
{
    for (int i = 0; i < work->n; i++)
        if (!(fabs(work->temperature[i] - work->temperature[0]) < 0.1)) return false;
    return true;
}

/* A temperature may not lose more than half of its kelvin in one step: radiation is no law below 0 K. */
static double stepped(double from, double step)
{
    return fmax(from + step, 0.5 * from);
}

/* One damped step along work->step; false when no part of it lowers the imbalance. */
static bool search(hl_network_work *work, hl_heat heat, void *context, bool free_step)
{
    double before = work_imbalance(work), share = 1;
    memcpy(work->trial, work->temperature, (size_t)work->n * sizeof(double));
    for (int k = 0; k < HALVINGS_MAX; k++, share *= 0.5) {
        for (int i = 0; i < work->n; i++)
            work->temperature[i] = stepped(work->trial[i], share * work->step[i]);
        if (!work_assemble(work, heat, context, 0, least_difference)) continue;
        double after = work_imbalance(work);
        if (free_step || after <= (1 - 1e-3 * share) * before || after <= work_tolerance(work)) return true;
    }
    return false;
}

/* Nothing left to gain: the step is lost in the rounding of the temperatures. */
static bool step_is_nothing(const hl_network_work *work)
{
    for (int i = 0; i < work->n; i++)
        if (!(fabs(work->step[i]) <= 1e-13 * work->ambient)) return false;
    return true;
}

static void newton_step(hl_network_work *work)
{
    for (int i = 0; i < work->n; i++) work->step[i] = -work->residual[i];
    work_solve(work, work->step);
}

/* The factors of the step before still hold when the links stood and slopes have hardly moved. */
static bool factors_serve(const hl_network_work *work)
{
    if (!work->step_factored) return false;
    for (int i = 0; i < work->n; i++) {
        double off = fabs(work->slope[i] - work->factored[i]);
        if (!(off <= 1e-4 * fabs(work->value[work->diagonal[i]]))) return false;
    }
    return true;
}

/* True: converged, to `share` of the heat after a step or to rounding, at a point where feedback is weaker
 * than the links. */
static bool newton(hl_network_work *work, hl_heat heat, void *context, bool flat, double share)
{
    if (!work_assemble(work, heat, context, 0, flat ? first_difference : least_difference)) return false;
    double imbalance = work_imbalance(work), reduction = 1;
    for (int k = 0; k < NEWTON_MAX; k++) {
        double least = work_tolerance(work), tolerance = fmax(least, share * work->total_heat);
        if (imbalance <= tolerance && k > 0) return true; /* the last matrix had good pivots */
        /* the old factors serve once more when what they lack is of the order of the last reduction */
        bool reuse = k == 0 ? factors_serve(work) : k > 1 && reduction * imbalance <= 0.1 * tolerance;
        if (!reuse && !work_factor(work)) return false;
        if (imbalance <= least) return true;
        newton_step(work);
        if (step_is_nothing(work)) return true;
        if (!search(work, heat, context, flat && k == 0)) return false;
        double after = work_imbalance(work);
        reduction = after / imbalance;
        imbalance = after;
    }
    return false;
}

/* K: steps no longer than this are taken without looking back.  Within it film coefficients are straight to a
 * few per cent, so that what a step leaves is less than what the heat will move meanwhile. */
static const double short_step = 3.0;
static const double long_step = 60.0; /* K: after one up to this, a short one may do */

/* K: where a film coefficient doubles within 1 K, what a tangent leaves out here is 1e-10 K. */
static const double tangent = 1e-5;

static bool factor_step(hl_network_work *work)
{
    if (!work_factor(work)) return false;
    work->step_factored = work->point_factored = true;
    memcpy(work->factored, work->slope, (size_t)work->n * sizeof(double));
    memcpy(work->factored_at, work->temperature, (size_t)work->n * sizeof(double));
    return true;
}

/* The step by new factors, and what network_holds asks of them. */
static void first_step(hl_network_work *work)
{
    for (int i = 0; i < work->n; i++) {
        work->step[i] = -work->residual[i];
        work->watts_rise[i] = 1;
    }
    work_solve_two(work, work->step, work->watts_rise);
}

/* The farthest of them from a level; not a number, where one of them is none. */
FOUR_LANES static double farthest(const double from[], double level, int n)
{
    lanes most = {0, 0, 0, 0}, sum = {0, 0, 0, 0};
    int i = 0;
    for (; i + LANES <= n; i += LANES) {
        lanes off = lanes_load(from + i) - level;
        lanes_raise(&most, &off);
        sum += off;
    }
    double all = lanes_greatest(&most), check = lanes_total(sum);
    for (; i < n; i++) {
        double off = from[i] - level;
        all = all < fabs(off) ? fabs(off) : all;
        check += off;
    }
    return isnan(check) ? NAN : all;
}

static double longest(const double step[], int n)
{
    return farthest(step, 0, n);
}

/* K: a step so short need not be corrected when its factors are right to a hundredth. */
static const double next_to_nothing = 2e-7;
/* K: where a film coefficient changes by a hundredth, some kelvin of difference having made it. */
static const double links_alike = 0.05;

static bool factors_are_near(const hl_network_work *work)
{
    for (int i = 0; i < work->n; i++) {
        double off = fabs(work->slope[i] - work->factored[i]);
        if (!(fabs(work->temperature[i] - work->factored_at[i]) <= links_alike)) return false;
        if (!(off <= 1e-2 * fabs(work->value[work->diagonal[i]]))) return false;
    }
    return true;
}

/* The step with factors of an earlier one at this point, and corrections until a thousandth is left. False:
 * each does not bring much, and new factors are worth their price. */
static bool step_with_older(hl_network_work *work)
{
    newton_step(work);
    double whole = longest(work->step, work->n), before = whole;
    if (whole <= next_to_nothing && factors_are_near(work)) return true;
    for (int k = 0; k < CORRECTIONS_MAX; k++) {
        double *open = work->trial;
        memcpy(open, work->residual, (size_t)work->n * sizeof *open);
        work_multiply(work, work->value, work->step, open);
        work_solve(work, open);
        double left = longest(open, work->n);
        if (!(left <= 0.1 * before)) return false;
        for (int i = 0; i < work->n; i++) work->step[i] -= open[i];
        if (left <= 1e-3 * whole) return true;
        before = left;
    }
    return false;
}

/* The step at work->temperature into work->step; its length in K, or infinity where feedback is too strong.
 */
static double find_step(hl_network_work *work, hl_heat heat, void *context)
{
    work->near = tangent;
    bool good = work_assemble(work, heat, context, 0, least_difference);
    work->near = 0;
    work->end_known = false;
    if (!good) return INFINITY;
    if (factors_serve(work)) {
        newton_step(work);
    } else if (!(work->point_factored && step_with_older(work))) {
        if (!factor_step(work)) return INFINITY;
        first_step(work);
        work->end_known = true;
    }
    return longest(work->step, work->n);
}

/* Share of the greatest rise: steps up to this leave the links on their tangents.  Where heat goes with the
 * 5/4th power of a third of that rise, what a tangent leaves out is 5e-11 of it. */
static const double straight = 1e-5;
/* K: what more heat may move from there; with slopes as near as they are to serve, 1e-10 K is left. */
static const double moved_most = 1e-6;

/* By a step: where it ends, and the heat that links carry away there. */
FOUR_LANES static void keep_carried(hl_network_work *work, const double from[], const double slope[])
{
    const double *step = work->step, *heat = work->heat;
    double *end = work->end, *carried = work->carried;
    SIDE_BY_SIDE
    for (int i = 0, n = work->n; i < n; i++) {
        end[i] = from[i] + step[i];
        carried[i] = heat[i] + slope[i] * step[i];
    }
}

static void keep_end(hl_network_work *work, double length)
{
    double rise = farthest(work->temperature, work->ambient, work->n);
    work->end_known = work->end_known && length <= straight * rise;
    if (work->end_known) keep_carried(work, work->temperature, work->slope);
}

/* a + b, or a - b. */
FOUR_LANES static void add(double sum[], const double a[], const double b[], double sign, int n)
{
    SIDE_BY_SIDE
    for (int i = 0; i < n; i++) sum[i] = a[i] + sign * b[i];
}

/* From the last step's end, where only heat has changed and links are on their tangents: what more there is
 * of it makes its rise, wherever the caller stands.  False: that is not next to nothing. */
static bool follow_heat(hl_network_work *work, hl_heat heat, void *context, double temperature[])
{
    if (!work_end_stands(work, least_difference)) return false;
    heat(context, 0, work->end, work->heat, work->slope);
    add(work->step, work->heat, work->carried, -1, work->n);
    work_solve(work, work->step);
    if (!(longest(work->step, work->n) <= moved_most && factors_serve(work))) return false;
    keep_carried(work, work->end, work->factored);
    memcpy(temperature, work->end, (size_t)work->n * sizeof *temperature);
    return true;
}

bool network_step(hl_network_work *work, const hl_surroundings *surroundings, hl_heat heat, void *context,
                  double temperature[])
{
    if (!surroundings_are_sane(surroundings)) return false;
    work_surround(work, surroundings);
    if (follow_heat(work, heat, context, temperature)) return true;
    take_guess(work, temperature);
    double length = find_step(work, heat, context);
    if (length > short_step && length <= long_step) { /* one more from where it ends */
        for (int i = 0; i < work->n; i++) work->temperature[i] = stepped(work->temperature[i], work->step[i]);
        length = find_step(work, heat, context);
    }
    if (!(length <= short_step)) return false;
    keep_end(work, length);
    add(temperature, work->temperature, work->step, 1, work->n);
    return true;
}

hl_status network_steady_within(hl_network_work *work, const hl_surroundings *surroundings, hl_heat heat,
                                void *context, double share, double temperature[])
{
    if (!surroundings_are_sane(surroundings)) return HL_BAD_INPUT;
    work_surround(work, surroundings);
    take_guess(work, temperature);
    hl_status status = HL_OK;
    if (!newton(work, heat, context, is_flat(work), share)) status = work_settle(work, heat, context);
    if (status == HL_OK && highest(work) > hottest) status = HL_RUNAWAY;
    if (status == HL_OK) memcpy(temperature, work->temperature, (size_t)work->n * sizeof *temperature);
    return status;
}

hl_status hl_network_steady(hl_network_work *work, const hl_surroundings *surroundings, hl_heat heat,
                            void *context, double temperature[])
{
    PLAIN_FLOAT_STATE;
    return network_steady_within(work, surroundings, heat, context, 0, temperature);
}
