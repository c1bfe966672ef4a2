/* look_back.c - how far back a line of points on even steps tells where it goes.
 *
 * What the polynomial through m points before the newest misses it by is the m-th backward difference at the
 * newest.  source: Newton's backward differences, M. Abramowitz, I. A. Stegun, Handbook of Mathematical
 * Functions, 1964, 25.1 and 25.2; from memory */
#include "solve/look_back.h"

#include <math.h>
#include <stdbool.h>

#include "wave/lanes.h"

/* An order that foretold the newest point no worse than this against the best, and is lower, is taken. */
static const double as_good = 2;
/* One more point is asked when each of the last two brought this much. */
static const double still_better = 0.5;
/* Against those before it, the third difference across a corner. */
static const double corner = 10;

/* The greatest size of four unknowns, each with its weight. */
WITHIN_LANES void take_larger(lanes *most, const lanes *weight, const lanes *of)
{
    lanes size = *weight * *of;
    lanes_raise(most, &size);
}

WITHIN_LANES void all_differences(const double *const value[LOOKED_BACK_MOST],
                                  const double *const beside[LOOKED_BACK_MOST], bool less,
                                  const double *scale, size_t n, look_back *made)
{
    lanes miss[LEADING_MOST] = {{0}}, turn[CORNERS_SEEN] = {{0}}, bend = {0};
    for (size_t i = 0; i < n; i += LANES) {
        lanes weight = lanes_load(scale + i), d[LOOKED_BACK_MOST];
#pragma GCC unroll 6
        for (int k = 0; k < LOOKED_BACK_MOST; k++) {
            d[k] = lanes_load(value[k] + i);
            if (less) d[k] -= lanes_load(beside[k] + i);
        }
#pragma GCC unroll 5
        for (int m = 0; m < LEADING_MOST; m++) {
#pragma GCC unroll 5
            for (int k = 0; k < LEADING_MOST - m; k++) d[k] -= d[k + 1];
            take_larger(&miss[m], &weight, &d[0]);
            if (m == 1) take_larger(&bend, &weight, &d[LEADING_MOST - 2]);
            if (m != 2) continue;
#pragma GCC unroll 3
            for (int k = 0; k < CORNERS_SEEN; k++) take_larger(&turn[k], &weight, &d[k]);
        }
    }
    for (int m = 0; m < LEADING_MOST; m++) made->miss[m] = lanes_greatest(&miss[m]);
    for (int k = 0; k < CORNERS_SEEN; k++) made->turn[k] = lanes_greatest(&turn[k]);
    made->bend = lanes_greatest(&bend);
}

FOUR_LANES static void differences(const double *const value[LOOKED_BACK_MOST], const double *scale, size_t n,
                                   look_back *made)
{
    all_differences(value, value, false, scale, n, made);
}

FOUR_LANES static void differences_beside(const double *const value[LOOKED_BACK_MOST],
                                          const double *const beside[LOOKED_BACK_MOST], const double *scale,
                                          size_t n, look_back *made)
{
    all_differences(value, beside, true, scale, n, made);
}

/* As many rows as are looked at, the oldest again where there are no more. */
static void pad_rows(const double *const row[], size_t points, const double *all[LOOKED_BACK_MOST])
{
    for (size_t k = 0; k < LOOKED_BACK_MOST; k++) all[k] = row[k < points ? k : points - 1];
}

void look_back_over(look_back *made, const double *const value[], const double *const beside[], size_t points,
                    const double scale[], size_t n)
{
    const double *all[LOOKED_BACK_MOST], *less[LOOKED_BACK_MOST];
    pad_rows(value, points, all);
    if (beside) pad_rows(beside, points, less);
    if (beside)
        differences_beside(all, less, scale, n, made);
    else
        differences(all, scale, n, made);
    made->points = points;
    made->best = 0;
    for (size_t m = 1; m + 1 < points; m++)
        if (made->miss[m] < made->miss[made->best]) made->best = m;
}

/* Does the line turn a corner within the newest three points, after more or less even ones? */
static bool has_turned(const look_back *back)
{
    const double *turn = back->turn;
    if (back->points < LOOKED_BACK_MOST) return false;
    double now = turn[1], before = turn[2];
    if (turn[0] > corner * turn[1]) now = turn[0], before = fmax(turn[1], turn[2]);
    return now > corner * before && now > back->bend;
}

/* As many as would have foretold the newest one best, and one more where each of them brought something.
 * Beyond a corner only two are of the new straight, or one: what is older tells nothing. */
size_t look_back_reach(const look_back *back)
{
    const double *miss = back->miss;
    size_t taken = 0;
    if (has_turned(back)) return 2;
    while (taken < back->best && !(miss[taken] <= as_good * miss[back->best])) taken++;
    bool better = taken == 0 || miss[taken] <= still_better * miss[taken - 1];
    size_t wanted = better ? taken + 2 : taken + 1;
    return wanted < LEADING_MOST ? wanted : LEADING_MOST;
}
