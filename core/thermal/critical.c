/* critical.c - the load factor at which a network with feedback runs away.
 *
 * The branch of steady states is followed with the temperature of its quickest node as the given figure and
 * the load factor s as an unknown (natural continuation turned on its side: Keller 1977; Seydel, Practical
 * Bifurcation and Stability Analysis, ch. 4).  Then a fold is only a maximum of s, where ds/dT = 0, and the
 * Newton step stays regular there.  With sources that grow no faster than the links s has no maximum but a
 * limit, reached as the temperatures go to infinity; s / gain tells that limit long before. */
#include "thermal/work.h"

#include <math.h>
#include <string.h>

enum { STEPS_MAX = 4000, NEWTON_MAX = 25, ROOT_MAX = 60 };

static const double least_difference = 1e-4; /* K */
static const double far_away = 2000.0;       /* K: from here on look for a limit instead of a fold */
static const double endless = 3e4;           /* K: no fold and no limit will come */

typedef struct branch {
    hl_network_work *work;
    hl_heat_at heat_at;
    void *context;
    double factor;    /* s */
    int node;         /* whose temperature is given */
    double direction; /* its sign of change as s rises */
    double rate;      /* ds/d(temperature of that node), times direction */
} branch;

static void heat_of_branch(void *context, double time, const double temperature[], double power[],
                           double slope[])
{
    const branch *b = context;
    (void)time;
    b->heat_at(b->context, b->factor, temperature, power, slope);
}

/* dP/ds into work->image by central difference: exact for heat up to the square of the load. */
static void heat_by_factor(branch *b)
{
    hl_network_work *work = b->work;
    double eps = 1e-4 * fmax(b->factor, 1e-4);
    b->heat_at(b->context, b->factor + eps, work->temperature, work->image, work->mode);
    b->heat_at(b->context, b->factor - eps, work->temperature, work->heat, work->mode);
    for (int i = 0; i < work->n; i++) work->image[i] = (work->image[i] - work->heat[i]) / (2 * eps);
}

/* Matrix and both right-hand sides at the present point: step = -J^-1 r, image = dT/ds. */
static bool linearise(branch *b)
{
    hl_network_work *work = b->work;
    if (!work_assemble(work, heat_of_branch, b, 0, least_difference)) return false;
    if (!work_factor_any(work)) return false;
    heat_by_factor(b);
    for (int i = 0; i < work->n; i++) work->step[i] = -work->residual[i];
    work_solve(work, work->step);
    work_solve(work, work->image);
    return true;
}

static void measure_rate(branch *b)
{
    b->rate = b->direction / b->work->image[b->node];
}

/* Newton for all other temperatures and s, with the node's temperature held at `given`. */
static bool correct(branch *b, double given)
{
    hl_network_work *work = b->work;
    double best = INFINITY;
    for (int k = 0; k < NEWTON_MAX; k++) {
        if (!linearise(b)) return false;
        if (k > 0 && work_imbalance(work) <= work_tolerance(work)) {
            measure_rate(b);
            return isfinite(b->rate);
        }
        double change = (given - work->temperature[b->node] - work->step[b->node]) / work->image[b->node];
        double size = 0;
        for (int i = 0; i < work->n; i++) {
            double move = work->step[i] + change * work->image[i];
            work->temperature[i] += move;
            if (!(work->temperature[i] > 0)) return false;
            size = fmax(size, fabs(move) / work->temperature[i]);
        }
        b->factor += change;
        if (!isfinite(b->factor) || !isfinite(size)) return false;
        if (size < 1e-10 || (size < 1e-7 && size >= best)) {
            measure_rate(b);
            return isfinite(b->rate);
        }
        best = fmin(best, size);
    }
    return false;
}

/* The node that moves most as s rises, from dT/ds in work->image; false when nothing moves. */
static bool choose_node(branch *b)
{
    double most = 0;
    for (int i = 0; i < b->work->n; i++) {
        if (!(fabs(b->work->image[i]) > most)) continue;
        most = fabs(b->work->image[i]);
        b->node = i;
        b->direction = b->work->image[i] > 0 ? 1 : -1;
    }
    if (!(most > 0)) return false;
    measure_rate(b);
    return true;
}

/* Start: a solution at a small load, and the direction from there. */
static hl_status start_branch(branch *b, const hl_surroundings *surroundings, double most,
                              double temperature[])
{
    b->factor = 1e-3 * fmin(most, 1.0);
    for (int i = 0; i < b->work->n; i++) temperature[i] = surroundings->temperature;
    hl_status status = hl_network_steady(b->work, surroundings, heat_of_branch, b, temperature);
    if (status != HL_OK) return status;
    memcpy(b->work->temperature, temperature, (size_t)b->work->n * sizeof(double));
    return linearise(b) ? HL_OK : HL_NO_SOLUTION;
}

/* Predict along the tangent by `move` kelvin of the node, then correct.  Tangent in work->trial. */
static bool step_branch(branch *b, const double from[], double factor, double move)
{
    hl_network_work *work = b->work;
    for (int i = 0; i < work->n; i++) work->temperature[i] = fmax(from[i] + move * work->trial[i], 1.0);
    b->factor = factor + move * b->direction * b->rate;
    return correct(b, from[b->node] + move);
}

/* Tangent dT/d(temperature of the node) at the present point. */
static void keep_tangent(branch *b)
{
    hl_network_work *work = b->work;
    for (int i = 0; i < work->n; i++) work->trial[i] = work->image[i] / work->image[b->node];
}

/* Where to look next in a bracket: by false position, but no nearer to its ends than a hundredth. */
static double next_look(double low, double high, double f_low, double f_high)
{
    double at = low + (high - low) * (f_low - f_high > 0 ? f_low / (f_low - f_high) : 0.5);
    return fmin(fmax(at, low + 0.01 * (high - low)), high - 0.01 * (high - low));
}

/* Between a point where s still rises (in `from`) and one where it falls, `width` kelvin on, find where
 * ds/dT vanishes: bisection helped by false position (Illinois rule). */
static bool find_fold(branch *b, const double from[], double factor, double rate, double width)
{
    double low = 0, high = width, f_low = rate, f_high = b->rate, tangent_rate = rate;
    for (int k = 0; k < ROOT_MAX && high - low > 1e-6; k++) {
        double at = next_look(low, high, f_low, f_high);
        b->rate = tangent_rate;
        if (!step_branch(b, from, factor, b->direction * at)) return k > 0;
        if (fabs(b->rate) <= 1e-9 * rate) break;
        if (b->rate > 0) {
            low = at;
            f_low = b->rate;
            f_high *= 0.5;
        } else {
            high = at;
            f_high = b->rate;
            f_low *= 0.5;
        }
    }
    return true;
}

static int leader_of(const hl_network_work *work)
{
    int leader = -1;
    double most = 0;
    for (int i = 0; i < work->n; i++) {
        double share = work->slope[i] * work->image[i] * work->image[i];
        if (!(share > most)) continue;
        most = share;
        leader = i;
    }
    return leader;
}

/* Far out, s / gain has settled on the limit when the heat is a straight line in temperature.
 * The first call only remembers. */
static bool at_limit(branch *b, const hl_surroundings *surroundings, double *estimate, int *leader)
{
    hl_network_work *work = b->work;
    memcpy(work->kept, work->temperature, (size_t)work->n * sizeof(double));
    heat_of_branch(b, 0, work->kept, work->heat, work->step);
    double gain = hl_network_gain(work, surroundings, work->kept, work->step, leader);
    double before = *estimate;
    *estimate = b->factor / gain;
    return gain > 0.9 && gain < 1.01 && fabs(*estimate - before) <= 1e-7 * *estimate;
}

/* Where no step leads on.  Beyond all real temperatures that says nothing; below, something is cooled to
 * nothing or the heat is no smooth function. */
static hl_status given_up(const branch *b)
{
    return b->work->temperature[b->node] > far_away ? HL_OK : HL_NO_SOLUTION;
}

/* K: the next step along the branch, longer where the last went well, and a share of the rise at most. */
static double next_move(double move, double rise)
{
    return fmin(1.6 * move, fmax(10.0, 0.1 * fabs(rise)));
}

/* Follow the branch until it folds, runs off or passes `most`; *critical stays infinite in the last case. */
static hl_status follow(branch *b, const hl_surroundings *surroundings, double most, double *critical,
                        int *leader)
{
    hl_network_work *work = b->work;
    double move = 1.0, estimate = 0;
    for (int k = 0; k < STEPS_MAX; k++) {
        if (!choose_node(b)) return HL_OK; /* nothing depends on the load */
        keep_tangent(b);
        double factor = b->factor, rate = b->rate;
        memcpy(work->kept, work->temperature, (size_t)work->n * sizeof(double));
        if (!step_branch(b, work->kept, factor, b->direction * move)) {
            memcpy(work->temperature, work->kept, (size_t)work->n * sizeof(double));
            b->factor = factor;
            b->rate = rate;
            move *= 0.25;
            bool lost = move < 1e-7 || work->temperature[b->node] > far_away;
            if (lost || !linearise(b)) return given_up(b);
            continue;
        }
        if (b->rate <= 0) {
            if (!find_fold(b, work->kept, factor, rate, move)) return HL_NO_SOLUTION;
            if (b->factor <= most) *critical = b->factor;
            *leader = leader_of(work);
            return HL_OK;
        }
        double given = work->temperature[b->node];
        if (b->factor > most || given > endless) return HL_OK;
        if (given > far_away) {
            if (at_limit(b, surroundings, &estimate, leader)) {
                if (estimate <= most) *critical = estimate;
                return HL_OK;
            }
            memcpy(work->temperature, work->kept, (size_t)work->n * sizeof(double));
            if (!linearise(b)) return HL_NO_SOLUTION;
        }
        move = next_move(move, given - work->ambient);
    }
    return given_up(b);
}

hl_status hl_network_critical(hl_network_work *work, const hl_surroundings *surroundings, hl_heat_at heat_at,
                              void *context, double most, double *critical, double temperature[], int *leader)
{
    int unused;
    branch b = {work, heat_at, context, 0, 0, 1, 0};
    if (!leader) leader = &unused;
    *leader = -1;
    *critical = INFINITY;
    if (!(most > 0)) return HL_BAD_INPUT;
    hl_status status = start_branch(&b, surroundings, most, temperature);
    if (status == HL_RUNAWAY) { /* even almost without load */
        *critical = 0;
        return HL_OK;
    }
    if (status != HL_OK) return status;
    status = follow(&b, surroundings, most, critical, leader);
    memcpy(temperature, work->temperature, (size_t)work->n * sizeof *temperature);
    return status;
}
