/* correlation.c - reorder samples until their ranks are correlated as wanted. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/spread.h"

typedef struct ranked {
    double value;
    size_t row;
} ranked;

static int by_value(const void *a, const void *b)
{
    const ranked *x = a, *y = b;
    if (x->value != y->value) return x->value < y->value ? -1 : 1;
    return x->row < y->row ? -1 : x->row > y->row;
}

/* Lower factor of a symmetric matrix, in place.  false: not positive definite. */
static bool cholesky(size_t n, double a[])
{
    for (size_t j = 0; j < n; j++) {
        for (size_t k = 0; k < j; k++)
            for (size_t i = j; i < n; i++) a[i * n + j] -= a[i * n + k] * a[j * n + k];
        if (!(a[j * n + j] > 1e-12)) return false;
        double root = sqrt(a[j * n + j]);
        for (size_t i = j; i < n; i++) a[i * n + j] /= root;
        for (size_t k = j + 1; k < n; k++) a[j * n + k] = 0;
    }
    return true;
}

static bool is_correlation(size_t n, const double r[])
{
    for (size_t i = 0; i < n; i++) {
        if (r[i * n + i] != 1) return false;
        for (size_t j = 0; j < i; j++)
            if (r[i * n + j] != r[j * n + i] || !(fabs(r[i * n + j]) <= 1)) return false;
    }
    return true;
}

/* Correlations of the columns as they are. */
static void measure(size_t samples, size_t n, const double scores[], double r[])
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j <= i; j++) {
            double sum = 0;
            for (size_t s = 0; s < samples; s++) sum += scores[s * n + i] * scores[s * n + j];
            r[i * n + j] = r[j * n + i] = sum / (double)samples;
        }
}

/* scores := scores * (wanted * present^-1)^T, both lower factors: their correlation becomes the wanted one.
 */
static void turn(size_t samples, size_t n, const double wanted[], const double present[], double scores[],
                 double spare[])
{
    for (size_t s = 0; s < samples; s++) {
        double *row = &scores[s * n];
        for (size_t i = 0; i < n; i++) {
            spare[i] = row[i];
            for (size_t k = 0; k < i; k++) spare[i] -= present[i * n + k] * spare[k];
            spare[i] /= present[i * n + i];
        }
        for (size_t i = 0; i < n; i++) {
            row[i] = 0;
            for (size_t k = 0; k <= i; k++) row[i] += wanted[i * n + k] * spare[k];
        }
    }
}

/* Give column `u` of p the order of ranks that the same column of scores has. */
static void reorder(size_t samples, size_t n, size_t u, const double scores[], double p[], ranked from[],
                    ranked to[])
{
    for (size_t s = 0; s < samples; s++) {
        from[s] = (ranked){p[s * n + u], s};
        to[s] = (ranked){scores[s * n + u], s};
    }
    qsort(from, samples, sizeof *from, by_value);
    qsort(to, samples, sizeof *to, by_value);
    for (size_t s = 0; s < samples; s++) p[to[s].row * n + u] = from[s].value;
}

hl_status hl_sample_correlate(size_t samples, size_t unknowns, const double r[], double p[])
{
    size_t n = unknowns, square = n * n;
    if (samples < 2 * n || !is_correlation(n, r)) return HL_BAD_INPUT;
    double *scores = calloc(samples * n + 1, sizeof *scores),
           *wanted = calloc(2 * square + n + 1, sizeof *wanted);
    ranked *lists = calloc(2 * samples + 1, sizeof *lists);
    hl_status status = HL_NO_MEMORY;
    if (scores && wanted && lists) {
        double *present = wanted + square, *spare = present + square;
        for (size_t i = 0; i < samples * n; i++) scores[i] = hl_normal_quantile(p[i]);
        memcpy(wanted, r, square * sizeof *wanted);
        measure(samples, n, scores, present);
        status = HL_BAD_INPUT;
        if (cholesky(n, wanted) && cholesky(n, present)) {
            turn(samples, n, wanted, present, scores, spare);
            for (size_t u = 0; u < n; u++) reorder(samples, n, u, scores, p, lists, lists + samples);
            status = HL_OK;
        }
    }
    free(scores);
    free(wanted);
    free(lists);
    return status;
}
