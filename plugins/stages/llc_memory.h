/* llc_memory.h - where the points solved last lead to: the start of the next search.
 *
 * Points of a sweep follow each other in even steps, and resistances go with the load as parts grow warmer;
 * so the line through the last two, or the parabola through three, tells more than any of them, and what it
 * leaves goes down by one order of Newton's steps.  Only a start: what is found from it does not depend on
 * it. source: Lagrange's formula, M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions,
 * 1964, 25.2.1 */
#ifndef LLC_MEMORY_H
#define LLC_MEMORY_H

#include "llc_half.h"

enum { LLC_PAST = 4, LLC_ASKED = 3, LLC_GIVEN = LLC_STATES + 1, LLC_SHAPE_MAX = 8 };

/* A point: what was asked, and the half wave that answered. */
typedef struct llc_past {
    double asked[LLC_ASKED]; /* A, V at the input, V behind the rectifier */
    double given[LLC_GIVEN]; /* state at turn-on, half period */
} llc_past;

typedef struct llc_memory {
    double count;            /* 0 to LLC_PAST */
    llc_past past[LLC_PAST]; /* the newest first */
    double stretches;
    struct {
        int sign, node;
        double duration;
    } shape[LLC_SHAPE_MAX]; /* of the newest */
} llc_memory;

static void llc_asked(const llc_circuits *all, double behind, double load, double asked[LLC_ASKED])
{
    asked[0] = load;
    asked[1] = all->tank.input;
    asked[2] = behind;
}

/* Product of two ways from `origin`, each figure counted in its own size there. */
static double llc_way_product(const double origin[LLC_ASKED], const double a[LLC_ASKED],
                              const double b[LLC_ASKED])
{
    double sum = 0.0;
    for (int i = 0; i < LLC_ASKED; i++) {
        double size = fabs(origin[i]) + 1e-12;
        sum += (a[i] - origin[i]) * (b[i] - origin[i]) / (size * size);
    }
    return sum;
}

/* How far `asked` lies on the way from the last point but one to the last: 0 at the last, 1 a step further.
 */
static double llc_steps_on(const llc_past past[], const double asked[LLC_ASKED])
{
    const double *here = past[0].asked, *before = past[1].asked;
    return -llc_way_product(here, asked, before) / llc_way_product(here, before, before);
}

/* Further away than this many steps a line is not followed. */
static const double llc_steps_most = 30.0;

/* How many of the points kept lie in a row of nearly even steps, `at` of the last one's, so that a curve
 * through them tells what comes `on` steps beyond; else those two which make a line. */
static int llc_in_a_row(const llc_memory *kept, double on, double at[LLC_PAST])
{
    int n = 2, most = fabs(on) < 2.0 ? (int)kept->count : 2;
    at[0] = 0.0;
    at[1] = -1.0;
    for (; n < most; n++) {
        at[n] = llc_steps_on(kept->past, kept->past[n].asked);
        double step = at[n - 1] - at[n];
        if (!(step > 0.5 && step < 2.0)) break;
    }
    return n;
}

/* Of the points kept, for what is asked. return their number */
static int llc_weights(const llc_memory *kept, const double asked[LLC_ASKED], double weight[LLC_PAST])
{
    double at[LLC_PAST], on = kept->count > 1.0 ? llc_steps_on(kept->past, asked) : INFINITY;
    weight[0] = 1.0;
    if (!(fabs(on) < llc_steps_most)) return 1;
    int n = llc_in_a_row(kept, on, at);
    for (int i = 0; i < n; i++) {
        weight[i] = 1.0;
        for (int j = 0; j < n; j++)
            if (j != i) weight[i] *= (on - at[j]) / (at[i] - at[j]);
    }
    return n;
}

static void llc_recall_shape(const llc_memory *kept, llc_half *half)
{
    half->n = (int)kept->stretches;
    for (int k = 0; k < half->n; k++) {
        half->stretch[k].sign = kept->shape[k].sign;
        half->stretch[k].node = (llc_node)kept->shape[k].node;
        half->stretch[k].duration = kept->shape[k].duration;
    }
}

/* A start for what is asked; false: nothing is kept. */
static bool llc_recall(const llc_memory *kept, const llc_circuits *all, double behind, double load,
                       llc_half *half)
{
    if (!kept || !(kept->count >= 1.0)) return false;
    double asked[LLC_ASKED], weight[LLC_PAST], given[LLC_GIVEN] = {0.0};
    llc_asked(all, behind, load, asked);
    int n = llc_weights(kept, asked, weight);
    for (int p = 0; p < n; p++)
        for (int i = 0; i < LLC_GIVEN; i++) given[i] += weight[p] * kept->past[p].given[i];
    if (!(given[LLC_STATES] > 0.5 * kept->past[0].given[LLC_STATES] &&
          given[LLC_STATES] < 2.0 * kept->past[0].given[LLC_STATES]))
        memcpy(given, kept->past[0].given, sizeof given);
    memcpy(half->start, given, sizeof half->start);
    half->half = given[LLC_STATES];
    if (!(all->tank.output_capacitance > 0)) half->start[LLC_VO] = behind;
    llc_recall_shape(kept, half);
    return isfinite(half->half) && half->half > 0;
}

/* Nearer than this share a point takes the place of the last. */
static const double llc_same_point = 1e-5;

static void llc_keep(llc_memory *kept, const llc_circuits *all, double behind, double load,
                     const llc_half *half)
{
    if (!kept) return;
    llc_past now;
    llc_asked(all, behind, load, now.asked);
    memcpy(now.given, half->start, sizeof half->start);
    now.given[LLC_STATES] = half->half;
    bool first = !(kept->count >= 1.0);
    double apart = first ? 1.0 : llc_way_product(kept->past[0].asked, now.asked, now.asked);
    if (apart > llc_same_point * llc_same_point) {
        memmove(kept->past + 1, kept->past, (LLC_PAST - 1) * sizeof kept->past[0]);
        kept->count = first ? 1.0 : fmin(kept->count + 1.0, LLC_PAST);
    }
    kept->past[0] = now;
    int n = half->n < LLC_SHAPE_MAX ? half->n : LLC_SHAPE_MAX;
    kept->stretches = n;
    for (int k = 0; k < n; k++) {
        kept->shape[k].sign = half->stretch[k].sign;
        kept->shape[k].node = (int)half->stretch[k].node;
        kept->shape[k].duration = half->stretch[k].duration;
    }
}

#endif
