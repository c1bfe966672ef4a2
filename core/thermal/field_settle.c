/* field_settle.c - fixed points by Anderson's acceleration (D. G. Anderson 1965, J. ACM 12; Walker & Ni 2011,
 * SIAM J. Numer. Anal. 49). */
#include "thermal/field_core.h"

#include <math.h>
#include <string.h>

enum { WINDOW = FIELD_SETTLE_WINDOW, ROUNDS_MAX = 60 };

static double product(int n, const double x[], const double y[])
{
    double sum = 0;
    for (int i = 0; i < n; i++) sum += x[i] * y[i];
    return sum;
}

/* Smallest combination of the kept changes of residual: normal equations, made a little stiffer. */
static bool weigh(int n, int kept, double *const change[], const double residual[], double weight[WINDOW])
{
    double normal[WINDOW * WINDOW];
    int pivot[WINDOW];
    for (int i = 0; i < kept; i++) {
        for (int j = 0; j <= i; j++)
            normal[i * kept + j] = normal[j * kept + i] = product(n, change[i], change[j]);
        weight[i] = product(n, change[i], residual);
    }
    for (int i = 0; i < kept; i++) normal[i * kept + i] *= 1 + 1e-12;
    if (!dense_factor(kept, normal, pivot)) return false;
    dense_solve(kept, normal, pivot, weight);
    for (int i = 0; i < kept; i++)
        if (!isfinite(weight[i])) return false;
    return true;
}

bool field_settle(const field_settling *s)
{
    int n = s->n, kept = 0;
    double *w = s->value, *space = s->space, *change[WINDOW], *step[WINDOW];
    double *image = space, *residual = space + n, *last = space + 2 * n, *last_w = space + 3 * n;
    for (int i = 0; i < WINDOW; i++) {
        change[i] = space + (4 + i) * n;
        step[i] = space + (4 + WINDOW + i) * n;
    }
    for (int round = 0; round < ROUNDS_MAX; round++) {
        double size = 0, weight[WINDOW];
        s->evaluate(s->context, image);
        for (int i = 0; i < n; i++) {
            residual[i] = image[i] - w[i];
            size += fabs(residual[i]);
        }
        if (!isfinite(size)) return false;
        if (size <= s->tolerance) return true;
        if (round > 0) {
            double *dr = change[WINDOW - 1], *dw = step[WINDOW - 1];
            for (int i = WINDOW - 1; i > 0; i--) {
                change[i] = change[i - 1];
                step[i] = step[i - 1];
            }
            change[0] = dr;
            step[0] = dw;
            for (int i = 0; i < n; i++) {
                dr[i] = residual[i] - last[i];
                dw[i] = w[i] - last_w[i];
            }
            if (kept < WINDOW) kept++;
        }
        memcpy(last, residual, (size_t)n * sizeof *last);
        memcpy(last_w, w, (size_t)n * sizeof *last_w);
        if (kept > 0 && !weigh(n, kept, change, residual, weight)) kept = 0;
        for (int i = 0; i < n; i++) w[i] += residual[i];
        for (int k = 0; k < kept; k++)
            for (int i = 0; i < n; i++) w[i] -= weight[k] * (step[k][i] + change[k][i]);
    }
    return false;
}
