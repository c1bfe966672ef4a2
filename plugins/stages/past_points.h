/* past_points.h - where the points solved last lead to: the start of a stage's next search.
 *
 * Points of a sweep follow each other in even steps, and resistances go with the load as parts grow warmer;
 * so the line through the last two points, or the curve through four, tells more than any of them, and what
 * it leaves is what Newton's first steps would have left.  Only a start: what is found from it does not
 * depend on it. source: Lagrange's formula, M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions,
 * 1964, 25.2.1 */
#ifndef PAST_POINTS_H
#define PAST_POINTS_H

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "../lanes.h"

enum { PAST_POINTS = 4, PAST_ASKED = 3, PAST_GIVEN = 5 };

/* What was asked of a stage, such as its load and voltages, and what its search gave. */
typedef struct past_point {
    double asked[PAST_ASKED], given[PAST_GIVEN];
} past_point;

/* Nought of them where all is zero. */
typedef struct past_points {
    double count;
    past_point point[PAST_POINTS]; /* the newest first */
} past_points;

/* How far `asked` lies on a way that leads on from the last point: 0 at the last, 1 a step further. */
static inline double past_steps_on(const past_points *past, const double way[PAST_ASKED],
                                   const double asked[PAST_ASKED])
{
    double sum = 0.0;
    for (int i = 0; i < PAST_ASKED; i++) sum += (asked[i] - past->point[0].asked[i]) * way[i];
    return sum;
}

/* Of a figure asked, for what it is counted in. */
static inline double past_size(double asked)
{
    return fabs(asked) + 1e-12;
}

/* The way from the last point but one to the last, each figure counted in its own size there. */
static inline void past_way(const past_points *past, double way[PAST_ASKED])
{
    const double *here = past->point[0].asked, *before = past->point[1].asked;
    double square = 0.0;
    for (int i = 0; i < PAST_ASKED; i++) {
        double inverse = 1.0 / past_size(here[i]), step = (here[i] - before[i]) * inverse;
        way[i] = step * inverse;
        square += step * step;
    }
    double inverse = 1.0 / square;
    for (int i = 0; i < PAST_ASKED; i++) way[i] *= inverse;
}

/* Further away than this many steps a line is not followed. */
static const double past_steps_most = 30.0;

/* How many of the points lie in a row of nearly even steps, `at` of the last one's, so that a curve through
 * them tells what comes `on` steps beyond; else those two which make a line. */
static inline int past_in_a_row(const past_points *past, const double way[PAST_ASKED], double on,
                                double at[PAST_POINTS])
{
    int n = 2, most = fabs(on) < 2.0 ? (int)past->count : 2;
    at[0] = 0.0;
    at[1] = -1.0;
    for (; n < most; n++) {
        at[n] = past_steps_on(past, way, past->point[n].asked);
        double step = at[n - 1] - at[n];
        if (!(step > 0.5 && step < 2.0)) break;
    }
    return n;
}

/* Weights of n points in a row, by the curve through them. */
FOUR_LANES static void past_curve(int n, const double at[PAST_POINTS], double on, double weight[PAST_POINTS])
{
    const lanes_mask number = {0, 1, 2, 3};
    const lanes here = lanes_load(at), one = {1.0, 1.0, 1.0, 1.0};
    lanes product = one;
    for (int j = 0; j < n; j++) {
        lanes share = (on - at[j]) / (here - at[j]);
        const lanes_mask own = number == (long long)j;
        lanes_choose(&own, &one, &share, &share);
        product *= share;
    }
    lanes_store(weight, product);
}

/* Of the points, for what is asked. return the number of those that count */
static inline int past_weights(const past_points *past, const double asked[PAST_ASKED],
                               double weight[PAST_POINTS])
{
    double at[PAST_POINTS] = {0.0}, way[PAST_ASKED];
    weight[0] = 1.0;
    if (!(past->count > 1.0)) return 1;
    past_way(past, way);
    double on = past_steps_on(past, way, asked);
    if (!(fabs(on) < past_steps_most)) return 1;
    int n = past_in_a_row(past, way, on, at);
    past_curve(n, at, on, weight);
    return n;
}

/* What the first n points give, each by its weight: its first four figures and its last four. false: some of
 * it is no number */
FOUR_LANES static bool past_given(const past_points *past, int n, const double weight[PAST_POINTS],
                                  double given[PAST_GIVEN])
{
    enum { LATE = PAST_GIVEN - LANES };
    lanes early = {0.0}, late = {0.0};
    for (int p = 0; p < n; p++) {
        early += weight[p] * lanes_load(past->point[p].given);
        late += weight[p] * lanes_load(past->point[p].given + LATE);
    }
    lanes_store(given, early);
    lanes_store(given + LATE, late);
    const lanes_mask off = (early * 0.0 != 0.0) | (late * 0.0 != 0.0);
    return !lanes_any(&off);
}

/* A start for what is asked; false: nothing is kept, or there is no memory. */
static inline bool past_lead(const past_points *past, const double asked[PAST_ASKED],
                             double given[PAST_GIVEN])
{
    if (!past || !(past->count >= 1.0)) return false;
    double weight[PAST_POINTS];
    return past_given(past, past_weights(past, asked, weight), weight, given);
}

/* Nearer than this share a point takes the place of the last. */
static const double past_same = 1e-5;

/* Square of the way from the last point, each figure counted in its own size there. */
static inline double past_apart(const past_points *past, const double asked[PAST_ASKED])
{
    double sum = 0.0;
    for (int i = 0; i < PAST_ASKED; i++) {
        double here = past->point[0].asked[i], step = (asked[i] - here) / past_size(here);
        sum += step * step;
    }
    return sum;
}

/* NULL: there is no memory. */
static inline void past_keep(past_points *past, const past_point *now)
{
    if (!past) return;
    bool first = !(past->count >= 1.0);
    if (first || past_apart(past, now->asked) > past_same * past_same) {
        memmove(past->point + 1, past->point, (PAST_POINTS - 1) * sizeof past->point[0]);
        past->count = first ? 1.0 : fmin(past->count + 1.0, PAST_POINTS);
    }
    past->point[0] = *now;
}

#endif
