/* gain.c - how strongly temperature feeds back on itself through heat.
 *
 * The gain is the greatest eigenvalue of A = J^-1 S: J the derivative of link heat, S that of heat with
 * temperature where it is positive (heat that falls with temperature steadies the network
 * and counts with the links; whether the gain is below one is the same either way).  J is an
 * M-matrix, so A is nonnegative and its greatest eigenvalue is real with a nonnegative vector
 * (Perron & Frobenius; Berman & Plemmons ch. 2).  A few steps of power iteration give a vector and a
 * figure; inverse iteration with a shift just above that figure does the rest.  Its matrix, shift J - S, has
 * positive pivots just when the shift is above the eigenvalue, so that a shift too low is found out; and a
 * solution with it bounds the eigenvalue from above (Collatz 1942; T. Noda 1971, Numer. Math. 17). */
#include "thermal/repeat.h"
#include "thermal/work.h"

#include <math.h>
#include <string.h>

enum { POWER_STEPS = 4, POWER_STEPS_NEAR = 1, SHIFTS_MAX = 80, STEPS_A_SHIFT = 4 };

/* How far the bound from above may be from the figure, as a share. */
static const double close_enough = 1e-9;

static const double least_difference = 1e-4;
static const double as_last_seen = 1e-5;                   /* K: the links as the last step saw them, */
static const double as_they_are = 1e-7;                    /* K: to a figure's nine digits */
static const double short_of_one = 1e-6, well_above = 0.1; /* far beyond close_enough; W */

static void scale_to_one(double vector[], int n)
{
    double most = 0;
    for (int i = 0; i < n; i++) most = fmax(most, fabs(vector[i]));
    for (int i = 0; i < n && most > 0; i++) vector[i] = fmax(fabs(vector[i]) / most, 1e-200);
}

/* J with the heat that falls with temperature; false when no heat rises: the gain is nil. */
static bool load_matrix(hl_network_work *work, const hl_surroundings *surroundings,
                        const double temperature[], const double slope[])
{
    bool rises = false;
    work_surround(work, surroundings);
    memcpy(work->temperature, temperature, (size_t)work->n * sizeof(double));
    work_assemble_links(work, least_difference);
    for (int i = 0; i < work->n; i++) {
        work->slope[i] = slope[i] > 0 ? slope[i] : 0;
        if (slope[i] < 0) work->value[work->diagonal[i]] -= slope[i];
        rises = rises || work->slope[i] > 0;
    }
    return rises;
}

/* Products of a vector with itself and with its image, weighed with S, in which A is all but symmetric. */
typedef struct quotients {
    double own, both, image;
} quotients;

static quotients weigh(const hl_network_work *work, const double x[], const double image[])
{
    quotients q = {0, 0, 0};
    for (int i = 0; i < work->n; i++) {
        q.own += work->slope[i] * x[i] * x[i];
        q.both += work->slope[i] * x[i] * image[i];
        q.image += work->slope[i] * image[i] * image[i];
    }
    return q;
}

/* A figure and how sure it is: the next shift belongs a little above. */
typedef struct guess {
    double figure, margin;
} guess;

static double shift_above(guess g)
{
    return g.figure + fmax(g.margin, 1e-7 * g.figure);
}

/* x := B x / |B x| a few times with the factors at hand; they are those of J, or of J - S, whose figure m
 * stands for m / (1 + m) of J.  Older factors of about these will do: what they lack is found out later. */
static guess power_steps(hl_network_work *work, bool with_heat, int steps, double x[], double image[])
{
    guess g = {0, 0};
    for (int k = 0; k < steps; k++) {
        for (int i = 0; i < work->n; i++) image[i] = work->slope[i] * x[i];
        work_solve(work, image);
        if (k == steps - 1) {
            quotients q = weigh(work, x, image);
            double before = q.both / q.own, now = q.image / q.both;
            g = (guess){now, 2 * fabs(now - before)};
        }
        memcpy(x, image, (size_t)work->n * sizeof(double));
        scale_to_one(x, work->n);
    }
    if (with_heat) g = (guess){g.figure / (1 + g.figure), g.margin / (1 + g.figure)};
    return g;
}

/* shift J - S; false: its pivots are not positive, so the shift is not above the eigenvalue. */
static bool factor_at(hl_network_work *work, double shift)
{
    for (int p = 0; p < work->entries; p++) work->value[p] = shift * work->saved[p];
    for (int i = 0; i < work->n; i++) work->value[work->diagonal[i]] -= work->slope[i];
    return work_factor(work);
}

/* (shift I - A) y = x, that is (shift J - S) y = J x.  Then A y / y = shift - x/y, whose greatest element is
 * an upper bound.  False: not a number. */
static bool inverse_step(hl_network_work *work, double shift, double x[], guess *g, double *bound)
{
    double *y = work->image, least = INFINITY;
    memset(y, 0, (size_t)work->n * sizeof *y);
    work_multiply(work, work->saved, x, y);
    work_solve(work, y);
    for (int i = 0; i < work->n; i++)
        if (!(x[i] >= least * y[i])) least = x[i] / y[i];
    if (!(least > 0)) return false;
    quotients q = weigh(work, x, y);
    *bound = fmin(*bound, shift - least);
    *g = (guess){fmin(shift - q.both / q.image, *bound), 2 * fabs(q.both / q.image - q.own / q.both)};
    memcpy(x, y, (size_t)work->n * sizeof(double));
    scale_to_one(x, work->n);
    return true;
}

static double narrow_down(hl_network_work *work, guess g, double x[])
{
    double bound = INFINITY, shift = shift_above(g);
    for (int k = 0; k < SHIFTS_MAX; k++) {
        bool above = factor_at(work, shift);
        for (int step = 0; above && step < STEPS_A_SHIFT; step++) {
            above = inverse_step(work, shift, x, &g, &bound);
            if (above && !(bound - g.figure > close_enough * bound)) return g.figure;
        }
        if (!above && shift >= bound) return bound; /* singular to rounding: this is the eigenvalue */
        shift = fmin(above ? shift_above(g) : g.figure + 8 * (shift - g.figure), bound);
    }
    return bound;
}

/* Share of a node in the eigenvalue: slope x^2, exact where J is symmetric. */
static int greatest_share(const hl_network_work *work, const double x[])
{
    int leader = -1;
    double most = 0;
    for (int i = 0; i < work->n; i++) {
        double share = work->slope[i] * x[i] * x[i];
        if (!(share > most)) continue;
        most = share;
        leader = i;
    }
    return leader;
}

/* A vector to begin with, positive everywhere; false: none was at hand. */
static bool begin_with(const double mode[], double x[], int n)
{
    double most = 0;
    for (int i = 0; mode && i < n; i++)
        if (!(mode[i] <= most)) most = mode[i];
    bool known = mode && most > 0 && isfinite(most);
    for (int i = 0; i < n; i++) x[i] = known ? fmax(mode[i] / most, 1e-200) : 1;
    return known;
}

/* `mode`: the shape to begin with; NULL: any. */
static double gain_from(hl_network_work *work, const hl_surroundings *surroundings,
                        const double temperature[], const double slope[], const double mode[], int *leader)
{
    if (leader) *leader = -1;
    if (!load_matrix(work, surroundings, temperature, slope)) return 0;
    memcpy(work->saved, work->value, ((size_t)work->entries + 1) * sizeof(double));
    bool with_heat = work->point_factored; /* factors of a step at this point */
    if (!with_heat && !work_factor(work))
        return INFINITY; /* a heated node has no way out, or figures are not finite */
    double *x = work->mode;
    int steps = begin_with(mode, x, work->n) ? POWER_STEPS_NEAR : POWER_STEPS;
    double gain = narrow_down(work, power_steps(work, with_heat, steps, x, work->image), x);
    if (leader) *leader = greatest_share(work, x);
    return gain;
}

double hl_network_gain(hl_network_work *work, const hl_surroundings *surroundings, const double temperature[],
                       const double slope[], int *leader)
{
    return gain_from(work, surroundings, temperature, slope, NULL, leader);
}

double network_gain_near(hl_network_work *work, const hl_surroundings *surroundings,
                         const double temperature[], const double slope[], const double mode[], int *leader)
{
    work->near = as_they_are;
    double gain = gain_from(work, surroundings, temperature, slope, mode, leader);
    work->near = 0;
    return gain;
}

/* Is what was assembled last J - S of this question? */
static bool matrix_stands(const hl_network_work *work, const double temperature[], const double slope[])
{
    for (int i = 0; i < work->n; i++)
        if (slope[i] != work->slope[i] || !(fabs(temperature[i] - work->temperature[i]) <= as_last_seen))
            return false;
    return true;
}

/* Is this where the last step ended, on the tangents of the links? */
static bool is_at_end(const hl_network_work *work, const double temperature[])
{
    if (!work_end_stands(work, least_difference)) return false;
    for (int i = 0; i < work->n; i++)
        if (!(fabs(temperature[i] - work->end[i]) <= as_last_seen)) return false;
    return true;
}

/* Is x above nought, and its image well above d S x, everywhere? */
FOUR_LANES static bool is_lifted(const double x[], const double image[], const double slope[], int n)
{
    lanes_mask low = {0, 0, 0, 0};
    int i = 0;
    for (; i + LANES <= n; i += LANES) {
        lanes some = lanes_load(x + i), steep = lanes_load(slope + i), size;
        lanes_size(&steep, &size);
        low |= ~((some > 0) & (lanes_load(image + i) > well_above + short_of_one * size * some));
    }
    bool lifted = !lanes_any(&low);
    for (; i < n; i++) lifted &= (x[i] > 0) & (image[i] > well_above + short_of_one * fabs(slope[i]) * x[i]);
    return lifted;
}

/* image = (J - S) rise of the rise that a watt everywhere has by the factors; at the end of a step only
 * slopes have changed since. */
FOUR_LANES
static void multiply_rise(const hl_network_work *work, const double slope[], bool at_end, double image[])
{
    const double *rise = work->watts_rise, *factored = work->factored;
    if (!at_end) {
        memset(image, 0, (size_t)work->n * sizeof *image);
        work_multiply(work, work->value, rise, image);
        return;
    }
    SIDE_BY_SIDE
    for (int i = 0, n = work->n; i < n; i++) image[i] = 1 + (factored[i] - slope[i]) * rise[i];
}

/* With x > 0 and (J - S) x > d S x everywhere, S x < J x / (1 + d), so the gain is below 1 / (1 + d)
 * (Collatz).  Such an x is what a watt everywhere does by the factors at hand, those of J - S close by; what
 * the matrix lacks after a step too short to tell is far below the watts that are well above nought. */
bool network_holds(hl_network_work *work, const hl_surroundings *surroundings, const double temperature[],
                   const double slope[])
{
    if (!work->point_factored) return false;
    bool at_end = is_at_end(work, temperature);
    if (!at_end && !matrix_stands(work, temperature, slope)) {
        work->near = as_last_seen;
        bool rises = load_matrix(work, surroundings, temperature, slope);
        work->near = 0;
        if (!rises) return true;
        for (int i = 0; i < work->n; i++) work->value[work->diagonal[i]] -= work->slope[i];
    }
    multiply_rise(work, slope, at_end, work->image);
    return is_lifted(work->watts_rise, work->image, slope, work->n);
}

const double *network_mode(const hl_network_work *work)
{
    return work->mode;
}
