/* ladder_fit.c - a Foster ladder through a measured or printed curve of transient impedance.
 *
 * First the resistances on a fixed logarithmic grid of time constants, none negative (coordinate descent on
 * the least squares of relative deviations: Lawson & Hanson, Solving Least Squares Problems, ch. 23); then
 * all resistances and time constants together by Levenberg's and Marquardt's method in their logarithms,
 * which keeps them above 0. */
#include "heatledger/ladder.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

enum { N = HL_LADDER_STAGES_MAX, GRID_SWEEPS = 3000, ROUNDS = 200 };

static const double least_share = 1e-4; /* a stage with less of the whole is dropped */

typedef struct fit {
    size_t points, n;
    const double *time, *impedance;
    double r[N], tau[N];
} fit;

static double shape(double time, double tau)
{
    return -expm1(-time / tau);
}

/* Time constants a little inside and beyond the curve: the first third of a decade below its first point. */
static void lay_grid(fit *f, size_t stages)
{
    double first = 0.5 * f->time[0], last = f->time[f->points - 1];
    f->n = stages;
    for (size_t i = 0; i < stages; i++)
        f->tau[i] =
            stages > 1 ? first * pow(last / first, (double)i / (double)(stages - 1)) : sqrt(first * last);
}

static void fit_grid(fit *f)
{
    for (size_t i = 0; i < f->n; i++) f->r[i] = f->impedance[f->points - 1] / (double)f->n;
    for (int sweep = 0; sweep < GRID_SWEEPS; sweep++)
        for (size_t i = 0; i < f->n; i++) {
            double push = 0, weight = 0;
            for (size_t k = 0; k < f->points; k++) {
                double rest = f->impedance[k];
                for (size_t j = 0; j < f->n; j++)
                    if (j != i) rest -= f->r[j] * shape(f->time[k], f->tau[j]);
                double s = shape(f->time[k], f->tau[i]) / f->impedance[k];
                push += s * rest / f->impedance[k];
                weight += s * s;
            }
            f->r[i] = weight > 0 ? fmax(push / weight, 0) : 0;
        }
}

static void drop_small(fit *f)
{
    double whole = 0;
    for (size_t i = 0; i < f->n; i++) whole += f->r[i];
    size_t kept = 0;
    for (size_t i = 0; i < f->n; i++)
        if (f->r[i] > least_share * whole) {
            f->r[kept] = f->r[i];
            f->tau[kept++] = f->tau[i];
        }
    f->n = kept;
}

static double deviation(const fit *f, size_t k)
{
    double z = 0;
    for (size_t i = 0; i < f->n; i++) z += f->r[i] * shape(f->time[k], f->tau[i]);
    return z / f->impedance[k] - 1;
}

static double squares(const fit *f)
{
    double sum = 0;
    for (size_t k = 0; k < f->points; k++) sum += deviation(f, k) * deviation(f, k);
    return sum;
}

/* Symmetric positive system by Cholesky's factors, in place. */
static bool solve(size_t n, double a[2 * N][2 * N], double b[])
{
    for (size_t j = 0; j < n; j++) {
        for (size_t k = 0; k < j; k++) a[j][j] -= a[j][k] * a[j][k];
        if (!(a[j][j] > 0)) return false;
        a[j][j] = sqrt(a[j][j]);
        for (size_t i = j + 1; i < n; i++) {
            for (size_t k = 0; k < j; k++) a[i][j] -= a[i][k] * a[j][k];
            a[i][j] /= a[j][j];
        }
    }
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++) b[i] -= a[i][k] * b[k];
        b[i] /= a[i][i];
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++) b[i] -= a[k][i] * b[k];
        b[i] /= a[i][i];
    }
    return true;
}

/* Normal equations in ln R and ln tau: d z/d ln R = R s, d z/d ln tau = -R (t/tau) e^(-t/tau). */
static void assemble(const fit *f, double a[2 * N][2 * N], double b[])
{
    size_t n = 2 * f->n;
    memset(a, 0, sizeof(double[2 * N][2 * N]));
    memset(b, 0, n * sizeof *b);
    for (size_t k = 0; k < f->points; k++) {
        double row[2 * N] = {0}, d = deviation(f, k);
        for (size_t i = 0; i < f->n; i++) {
            double x = f->time[k] / f->tau[i];
            row[i] = f->r[i] * shape(f->time[k], f->tau[i]) / f->impedance[k];
            row[f->n + i] = -f->r[i] * x * exp(-x) / f->impedance[k];
        }
        for (size_t i = 0; i < n; i++) {
            b[i] -= row[i] * d;
            for (size_t j = 0; j < n; j++) a[i][j] += row[i] * row[j];
        }
    }
}

static void refine(fit *f)
{
    double damping = 1e-2, best = squares(f);
    for (int round = 0; round < ROUNDS && damping < 1e8; round++) {
        double a[2 * N][2 * N], b[2 * N];
        assemble(f, a, b);
        for (size_t i = 0; i < 2 * f->n; i++) a[i][i] += damping * a[i][i] + 1e-12;
        if (!solve(2 * f->n, a, b)) {
            damping *= 10;
            continue;
        }
        fit tried = *f;
        for (size_t i = 0; i < f->n; i++) {
            tried.r[i] *= exp(fmin(fmax(b[i], -1), 1));
            tried.tau[i] *= exp(fmin(fmax(b[f->n + i], -1), 1));
        }
        double now = squares(&tried);
        bool better = now < best;
        damping *= better ? 0.3 : 4;
        if (!better) continue;
        bool settled = best - now < 1e-12 * best;
        *f = tried;
        best = now;
        if (settled) return;
    }
}

static bool curve_is_sane(size_t points, const double time[], const double impedance[])
{
    if (points < 2) return false;
    for (size_t k = 0; k < points; k++) {
        if (!(time[k] > 0 && time[k] < 1e9) || !(impedance[k] > 0 && impedance[k] < 1e9)) return false;
        if (k > 0 && (!(time[k] > time[k - 1]) || !(impedance[k] >= impedance[k - 1]))) return false;
    }
    return true;
}

hl_status hl_foster_fit(size_t points, const double time[], const double impedance[], size_t stages,
                        hl_ladder *foster, double *worst)
{
    if (!curve_is_sane(points, time, impedance) || stages < 1 || stages > N) return HL_BAD_INPUT;
    fit f = {.points = points, .time = time, .impedance = impedance};
    size_t most = points < stages ? points : stages;
    lay_grid(&f, most);
    fit_grid(&f);
    drop_small(&f);
    refine(&f);
    foster->n = f.n;
    for (size_t i = 0; i < f.n; i++) {
        foster->resistance[i] = f.r[i];
        foster->capacity[i] = f.tau[i] / f.r[i];
    }
    if (worst) {
        *worst = 0;
        for (size_t k = 0; k < points; k++) *worst = fmax(*worst, fabs(deviation(&f, k)));
    }
    return HL_OK;
}
