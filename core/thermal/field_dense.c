/* field_dense.c - small dense matrices: products and LU factors. */
#include "thermal/field_core.h"

#include <math.h>

enum { TOGETHER = 4 };

/* Four columns in one pass over y, which costs as much to fetch and put back as a column; each y takes them
 * one after the other, so that its bits are those of four passes. */
static void add_four(int rows, const double *const column[TOGETHER], const double x[TOGETHER], double y[])
{
    const double *restrict a = column[0], *restrict b = column[1], *restrict c = column[2];
    const double *restrict d = column[3];
    double *restrict sum = y;
    for (int r = 0; r < rows; r++) sum[r] = sum[r] + x[0] * a[r] + x[1] * b[r] + x[2] * c[r] + x[3] * d[r];
}

void field_multiply(int rows, int columns, const double *matrix, const double x[], double y[])
{
    const double *column[TOGETHER];
    double factor[TOGETHER];
    int waiting = 0;
    for (int c = 0; c < columns; c++) {
        if (x[c] == 0) continue;
        column[waiting] = matrix + (size_t)c * (size_t)rows;
        factor[waiting++] = x[c];
        if (waiting < TOGETHER) continue;
        add_four(rows, column, factor, y);
        waiting = 0;
    }
    for (int k = 0; k < waiting; k++)
        for (int r = 0; r < rows; r++) y[r] += factor[k] * column[k][r];
}

static int largest_below(int n, const double *a, int k)
{
    int best = k;
    for (int i = k + 1; i < n; i++)
        if (fabs(a[i * n + k]) > fabs(a[best * n + k])) best = i;
    return best;
}

bool dense_factor(int n, double *a, int *pivot)
{
    for (int k = 0; k < n; k++) {
        int p = largest_below(n, a, k);
        pivot[k] = p;
        if (!(fabs(a[p * n + k]) > 0) || !isfinite(a[p * n + k])) return false;
        for (int j = 0; p != k && j < n; j++) {
            double kept = a[k * n + j];
            a[k * n + j] = a[p * n + j];
            a[p * n + j] = kept;
        }
        for (int i = k + 1; i < n; i++) {
            double factor = a[i * n + k] / a[k * n + k];
            a[i * n + k] = factor;
            if (factor == 0) continue;
            for (int j = k + 1; j < n; j++) a[i * n + j] -= factor * a[k * n + j];
        }
    }
    return true;
}

void dense_solve(int n, const double *a, const int *pivot, double v[])
{
    for (int k = 0; k < n; k++) {
        double kept = v[pivot[k]];
        v[pivot[k]] = v[k];
        v[k] = kept;
    }
    for (int i = 0; i < n; i++)
        for (int j = 0; j < i; j++) v[i] -= a[i * n + j] * v[j];
    for (int i = n - 1; i >= 0; i--) {
        for (int j = i + 1; j < n; j++) v[i] -= a[i * n + j] * v[j];
        v[i] /= a[i * n + i];
    }
}
