/* field_eigen.c - eigenvalues and vectors of a small symmetric matrix.
 *
 * Householder's reduction to three diagonals and implicit QL (Martin, Reinsch & Wilkinson 1968 and Bowdler,
 * Martin, Reinsch & Wilkinson 1968, Numer. Math. 11; Golub & Van Loan 1996, Matrix Computations, 8.3). */
#include "thermal/field_modes.h"

#include <float.h>
#include <math.h>

enum { ROUNDS_MAX = 60 };

/* Reflect row i's part left of its diagonal onto one entry; the vector stays in that row, v'v = 2h. */
static double reflect_row(double *row, int i, double *off)
{
    double scale = 0, h = 0;
    for (int k = 0; k < i; k++) scale += fabs(row[k]);
    if (i < 2 || scale == 0) {
        *off = i > 0 ? row[i - 1] : 0;
        return 0;
    }
    for (int k = 0; k < i; k++) {
        row[k] /= scale;
        h += row[k] * row[k];
    }
    double f = row[i - 1], g = f >= 0 ? -sqrt(h) : sqrt(h);
    *off = scale * g;
    row[i - 1] = f - g;
    return h - f * g;
}

/* A <- H A H on the leading i x i block, both triangles. */
static void reflect_block(int n, double *a, int i, double h, double *p)
{
    const double *v = a + (size_t)i * (size_t)n;
    double k = 0;
    for (int r = 0; r < i; r++) {
        const double *row = a + (size_t)r * (size_t)n;
        double sum = 0;
        for (int c = 0; c < i; c++) sum += row[c] * v[c];
        p[r] = sum / h;
        k += v[r] * p[r];
    }
    k /= 2 * h;
    for (int r = 0; r < i; r++) p[r] -= k * v[r];
    for (int r = 0; r < i; r++) {
        double *row = a + (size_t)r * (size_t)n;
        for (int c = 0; c < i; c++) row[c] -= v[r] * p[c] + p[r] * v[c];
    }
}

/* The product of all reflections, in place of the vectors they came from. */
static void gather_reflections(int n, double *a, const double *h, double *spare)
{
    for (int i = 0; i < n; i++) {
        double *v = a + (size_t)i * (size_t)n;
        if (i > 0 && h[i] != 0) {
            for (int c = 0; c < i; c++) spare[c] = 0;
            for (int r = 0; r < i; r++)
                for (int c = 0; c < i; c++) spare[c] += v[r] * a[(size_t)r * (size_t)n + (size_t)c];
            for (int r = 0; r < i; r++)
                for (int c = 0; c < i; c++) a[(size_t)r * (size_t)n + (size_t)c] -= v[r] / h[i] * spare[c];
        }
        for (int c = 0; c < i; c++) v[c] = a[(size_t)c * (size_t)n + (size_t)i] = 0;
        v[i] = 1;
    }
}

/* Turn rows k and k + 1 of the vectors, kept as rows here. */
static void turn(int n, double *a, int k, double c, double s)
{
    double *x = a + (size_t)k * (size_t)n, *y = x + n;
    for (int i = 0; i < n; i++) {
        double f = y[i];
        y[i] = s * x[i] + c * f;
        x[i] = c * x[i] - s * f;
    }
}

/* One implicit QL sweep on l..m. */
static void sweep(int n, double *a, double *d, double *e, int l, int m)
{
    double g = (d[l + 1] - d[l]) / (2 * e[l]), r = hypot(g, 1);
    g = d[m] - d[l] + e[l] / (g + (g >= 0 ? r : -r));
    double s = 1, c = 1, p = 0;
    for (int i = m - 1; i >= l; i--) {
        double f = s * e[i], b = c * e[i];
        r = hypot(f, g);
        e[i + 1] = r;
        if (r == 0) {
            d[i + 1] -= p;
            e[m] = 0;
            return;
        }
        s = f / r;
        c = g / r;
        g = d[i + 1] - p;
        r = (d[i] - g) * s + 2 * c * b;
        p = s * r;
        d[i + 1] = g + p;
        g = c * r - b;
        turn(n, a, i, c, s);
    }
    d[l] -= p;
    e[l] = g;
    e[m] = 0;
}

static int small_off(int n, const double *d, const double *e, int l)
{
    int m = l;
    for (; m < n - 1; m++)
        if (fabs(e[m]) <= DBL_EPSILON * (fabs(d[m]) + fabs(d[m + 1]))) break;
    return m;
}

static void transpose(int n, double *a)
{
    for (int i = 0; i < n; i++)
        for (int j = 0; j < i; j++) {
            double *x = a + (size_t)i * (size_t)n + j, *y = a + (size_t)j * (size_t)n + i, kept = *x;
            *x = *y;
            *y = kept;
        }
}

static void sort_rows(int n, double *a, double *d)
{
    for (int i = 0; i < n - 1; i++) {
        int least = i;
        for (int j = i + 1; j < n; j++)
            if (d[j] < d[least]) least = j;
        if (least == i) continue;
        double kept = d[i];
        d[i] = d[least];
        d[least] = kept;
        for (int k = 0; k < n; k++) {
            double *x = a + (size_t)i * (size_t)n + k, *y = a + (size_t)least * (size_t)n + k;
            kept = *x;
            *x = *y;
            *y = kept;
        }
    }
}

bool symmetric_eigen(int n, double *a, double value[], double spare[])
{
    double *e = spare, *h = spare + n + 1, *p = h + n;
    for (int i = n - 1; i >= 0; i--) {
        h[i] = reflect_row(a + (size_t)i * (size_t)n, i, &e[i]);
        if (h[i] != 0) reflect_block(n, a, i, h[i], p);
    }
    for (int i = 0; i < n; i++) value[i] = a[(size_t)i * (size_t)n + (size_t)i];
    gather_reflections(n, a, h, p);
    transpose(n, a);
    for (int i = 1; i < n; i++) e[i - 1] = e[i];
    e[n - 1] = 0;
    for (int l = 0; l < n; l++) {
        int rounds = 0;
        for (int m = small_off(n, value, e, l); m != l; m = small_off(n, value, e, l)) {
            if (rounds++ == ROUNDS_MAX) return false;
            sweep(n, a, value, e, l, m);
        }
    }
    sort_rows(n, a, value);
    transpose(n, a);
    return true;
}
