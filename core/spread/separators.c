/* separators.c - in which unknowns points without a solution lie elsewhere than those with one. */
#include <math.h>
#include <stdlib.h>

#include "spread/spread.h"

/* Chance of naming any unknown where none separates. */
static const double false_alarm = 0.05;

/* Half the middle fifth of a band, in quantiles. */
static const double middle_reach = 0.1;

double hl_rank_area(size_t n_a, const double a[], size_t n_b, const double b[], double *deviation)
{
    double m = (double)n_a, n = (double)n_b, above = 0;
    if (deviation) *deviation = n_a && n_b ? sqrt((m + n + 1) / (12 * m * n)) : NAN;
    if (!n_a || !n_b) return NAN;
    size_t below = 0, through = 0; /* of b, below a[i]; and with those as great */
    for (size_t i = 0; i < n_a; i++) {
        while (below < n_b && b[below] < a[i]) below++;
        while (through < n_b && b[through] <= a[i]) through++;
        above += 0.5 * ((double)below + (double)through);
    }
    return above / (m * n);
}

/* Unknown u: its quantiles at points without a solution and at the others; counts of its middle. */
static double look_at(const hl_spread *spread, size_t u, double without[], double with[], hl_separator *found,
                      double *deviation)
{
    size_t m = 0, n = 0;
    *found = (hl_separator){.unknown = u};
    for (size_t i = 0; i < spread->samples; i++) {
        double p = spread->p[i * spread->unknowns.n + u];
        bool unsolved = spread->said[i] != NULL;
        if (unsolved)
            without[m++] = p;
        else
            with[n++] = p;
        if (!(fabs(p - 0.5) < middle_reach)) continue;
        found->middle++;
        found->middle_unsolved += unsolved;
    }
    hl_sort(m, without);
    hl_sort(n, with);
    found->area = hl_rank_area(m, without, n, with, deviation);
    return fabs(found->area - 0.5) / *deviation;
}

static int by_area(const void *a, const void *b)
{
    const hl_separator *x = a, *y = b;
    double far_x = fabs(x->area - 0.5), far_y = fabs(y->area - 0.5);
    if (far_x != far_y) return far_x > far_y ? -1 : 1;
    return x->unknown < y->unknown ? -1 : x->unknown > y->unknown;
}

bool separators_find(hl_spread *spread)
{
    size_t n = spread->unknowns.n;
    if (!n || spread->solved == spread->samples || !spread->solved) return true;
    double *ranks = malloc(2 * spread->samples * sizeof *ranks);
    spread->separators = arena_array(spread->memory, n, sizeof *spread->separators);
    bool good = ranks && spread->separators;
    /* Bonferroni over the unknowns, both sides */
    double alarm = -hl_normal_quantile(false_alarm / (2 * (double)n));
    for (size_t u = 0; good && u < n; u++) {
        hl_separator found;
        double deviation, far = look_at(spread, u, ranks, ranks + spread->samples, &found, &deviation);
        if (far > alarm) spread->separators[spread->n_separators++] = found;
    }
    if (good && spread->n_separators)
        qsort(spread->separators, spread->n_separators, sizeof *spread->separators, by_area);
    free(ranks);
    return good;
}
