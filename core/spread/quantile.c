/* quantile.c - what a list of answers says: mean, deviation, quantiles, intervals. */
#include <math.h>
#include <stdlib.h>

#include "heatledger/spread.h"

enum { FEW = 24 };

static void insertion_sort(size_t n, double v[])
{
    for (size_t i = 1; i < n; i++) {
        double x = v[i];
        size_t k = i;
        for (; k > 0 && v[k - 1] > x; k--) v[k] = v[k - 1];
        v[k] = x;
    }
}

static void sift(size_t n, double v[], size_t at)
{
    double x = v[at];
    for (size_t child; (child = 2 * at + 1) < n; at = child) {
        if (child + 1 < n && v[child + 1] > v[child]) child++;
        if (!(v[child] > x)) break;
        v[at] = v[child];
    }
    v[at] = x;
}

static void heap_sort(size_t n, double v[])
{
    for (size_t i = n / 2; i-- > 0;) sift(n, v, i);
    for (size_t i = n; i-- > 1;) {
        double last = v[i];
        v[i] = v[0];
        v[0] = last;
        sift(i, v, 0);
    }
}

/* Quicksort about the median of three, a heap where it goes too deep: three times as fast as a sort that asks
 * a function for each comparison, and a spread sorts hundreds of columns. */
static void sort(size_t n, double v[], int depth)
{
    while (n > FEW) {
        if (depth-- == 0) {
            heap_sort(n, v);
            return;
        }
        double a = v[0], b = v[n / 2], c = v[n - 1];
        double pivot = fmax(fmin(a, b), fmin(fmax(a, b), c));
        size_t i = 0, j = n - 1;
        for (;;) {
            while (v[i] < pivot) i++;
            while (v[j] > pivot) j--;
            if (i >= j) break;
            double kept = v[i];
            v[i++] = v[j];
            v[j--] = kept;
        }
        size_t left = j + 1;
        if (left < n - left) {
            sort(left, v, depth);
            v += left;
            n -= left;
        } else {
            sort(n - left, v + left, depth);
            n = left;
        }
    }
    insertion_sort(n, v);
}

size_t hl_sort(size_t n, double values[])
{
    size_t good = 0;
    for (size_t i = 0; i < n; i++) {
        double x = values[i];
        if (isnan(x)) continue;
        values[i] = values[good];
        values[good++] = x;
    }
    sort(good, values, 96);
    return good;
}

double hl_mean(size_t n, const double values[])
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += values[i];
    return n ? sum / (double)n : NAN;
}

double hl_deviation(size_t n, const double values[])
{
    if (n < 2) return 0;
    double mean = hl_mean(n, values), sum = 0;
    for (size_t i = 0; i < n; i++) sum += (values[i] - mean) * (values[i] - mean);
    return sqrt(sum / (double)(n - 1));
}

double hl_quantile(size_t n, const double sorted[], double probability)
{
    if (n == 0 || isnan(probability)) return NAN;
    double place = probability * (double)n - 0.5;
    if (!(place > 0)) return sorted[0];
    if (place >= (double)(n - 1)) return sorted[n - 1];
    size_t below = (size_t)place;
    return sorted[below] + (place - (double)below) * (sorted[below + 1] - sorted[below]);
}

/* q of 7.7.1: how many steps of the sorted list the interval spans. */
static size_t span(size_t n, double coverage)
{
    double q = floor(coverage * (double)n + 0.5);
    if (!(q >= 1)) return n > 1 ? 1 : 0;
    return q < (double)n ? (size_t)q : n - 1;
}

void hl_interval_symmetric(size_t n, const double sorted[], double coverage, double *low, double *high)
{
    if (n == 0) {
        *low = *high = NAN;
        return;
    }
    size_t q = span(n, coverage), r = (n - q) / 2; /* number r + 1/2 rounded down, counted from 1 */
    r = r ? r - 1 : 0;
    *low = sorted[r];
    *high = sorted[r + q < n ? r + q : n - 1];
}

void hl_interval_shortest(size_t n, const double sorted[], double coverage, double *low, double *high)
{
    if (n == 0) {
        *low = *high = NAN;
        return;
    }
    size_t q = span(n, coverage), best = 0;
    for (size_t r = 1; r + q < n; r++)
        if (sorted[r + q] - sorted[r] < sorted[best + q] - sorted[best]) best = r;
    *low = sorted[best];
    *high = sorted[best + q];
}

double hl_share_above(size_t n, const double sorted[], double limit)
{
    size_t low = 0, high = n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (sorted[middle] > limit)
            high = middle;
        else
            low = middle + 1;
    }
    return n ? (double)(n - low) / (double)n : 0;
}
