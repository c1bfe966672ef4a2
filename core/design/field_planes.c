/* field_planes.c - the fewest planes that pierce a set of intervals: sorted by their upper ends, each group
 * takes all that still reach its first upper end (Gavril 1972, SIAM J. Comput. 1, 180: greedy covering by
 * cliques of an interval graph is optimal). */
#include "design/field_planes.h"

#include <math.h>
#include <stdlib.h>

static const double same_place = 1e-7; /* m */
static const double hard = 1e-9;       /* m: reach of an edge that stands still, for its weight */

static int by_place(const void *a, const void *b)
{
    const plane_edge *x = a, *y = b;
    return (x->at > y->at) - (x->at < y->at);
}

static int by_upper_end(const void *a, const void *b)
{
    const plane_edge *x = a, *y = b;
    double one = x->at + x->reach, other = y->at + y->reach;
    if (one != other) return one < other ? -1 : 1;
    return by_place(a, b);
}

/* Edges at one place touch, and shall: all get the least reach of them, and the first one's place. */
static void join_places(plane_edge edges[], size_t n)
{
    for (size_t first = 0, end; first < n; first = end) {
        double reach = edges[first].reach, at = edges[first].at;
        for (end = first; end < n && edges[end].at - at < same_place; end++)
            if (edges[end].reach < reach) {
                reach = edges[end].reach;
                if (reach == 0) at = edges[end].at;
            }
        for (size_t i = first; i < end; i++) {
            edges[i].at = at;
            edges[i].reach = reach;
        }
    }
}

/* Where the group lies best: stiffer edges weigh more, and all reach it. */
static double middle_of(const plane_edge edges[], size_t n)
{
    double low = -INFINITY, high = INFINITY, sum = 0, weight = 0;
    for (size_t i = 0; i < n; i++) {
        double w = 1 / (edges[i].reach + hard);
        low = fmax(low, edges[i].at - edges[i].reach);
        high = fmin(high, edges[i].at + edges[i].reach);
        sum += w * edges[i].at;
        weight += w;
    }
    return fmin(fmax(sum / weight, low), high);
}

size_t planes_gather(plane_edge edges[], size_t n, double plane[])
{
    size_t planes = 0;
    qsort(edges, n, sizeof *edges, by_place);
    join_places(edges, n);
    qsort(edges, n, sizeof *edges, by_upper_end);
    for (size_t first = 0, end; first < n; first = end) {
        double reached = edges[first].at + edges[first].reach;
        for (end = first; end < n && edges[end].at - edges[end].reach <= reached; end++) continue;
        plane[planes] = middle_of(edges + first, end - first);
        for (size_t i = first; i < end; i++) *edges[i].into = plane[planes];
        planes++;
    }
    return planes;
}
