/* singular.c - singular values of a small matrix by rotations from one side. */
#include <math.h>
#include <stdlib.h>

#include "heatledger/fit.h"

enum { SWEEPS_MOST = 60 };

/* Turn columns p and q of x[rows x n]. */
static void turn(size_t rows, size_t n, double x[], size_t p, size_t q, double c, double s)
{
    for (size_t i = 0; i < rows; i++) {
        double a = x[i * n + p], b = x[i * n + q];
        x[i * n + p] = c * a - s * b;
        x[i * n + q] = s * a + c * b;
    }
}

/* Make columns p and q orthogonal.  false: they are already. */
static bool straighten(size_t m, size_t n, double a[], double v[], size_t p, size_t q)
{
    double pp = 0, qq = 0, pq = 0;
    for (size_t i = 0; i < m; i++) {
        pp += a[i * n + p] * a[i * n + p];
        qq += a[i * n + q] * a[i * n + q];
        pq += a[i * n + p] * a[i * n + q];
    }
    if (!(fabs(pq) > 1e-15 * sqrt(pp * qq)) || pq == 0) return false;
    double zeta = (qq - pp) / (2 * pq), t = copysign(1, zeta) / (fabs(zeta) + hypot(1, zeta));
    double c = 1 / hypot(1, t), s = c * t;
    turn(m, n, a, p, q, c, s);
    turn(n, n, v, p, q, c, s);
    return true;
}

static void swap_columns(size_t rows, size_t n, double x[], size_t p, size_t q)
{
    for (size_t i = 0; i < rows; i++) {
        double kept = x[i * n + p];
        x[i * n + p] = x[i * n + q];
        x[i * n + q] = kept;
    }
}

hl_status hl_singular_values(size_t m, size_t n, double a[], double s[], double v[])
{
    for (size_t i = 0; i < m * n; i++)
        if (!isfinite(a[i])) return HL_BAD_INPUT;
    for (size_t i = 0; i < n * n; i++) v[i] = i % (n + 1) == 0;
    bool moved = true;
    for (int sweep = 0; moved && sweep < SWEEPS_MOST; sweep++) {
        moved = false;
        for (size_t p = 0; p + 1 < n; p++)
            for (size_t q = p + 1; q < n; q++) moved |= straighten(m, n, a, v, p, q);
    }
    for (size_t k = 0; k < n; k++) {
        s[k] = 0;
        for (size_t i = 0; i < m; i++) s[k] = hypot(s[k], a[i * n + k]);
    }
    for (size_t k = 0; k < n; k++) {
        size_t most = k;
        for (size_t j = k + 1; j < n; j++)
            if (s[j] > s[most]) most = j;
        if (most == k) continue;
        double kept = s[k];
        s[k] = s[most];
        s[most] = kept;
        swap_columns(n, n, v, k, most);
        swap_columns(m, n, a, k, most);
    }
    return HL_OK;
}
