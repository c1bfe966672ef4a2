/* ladder.c - transient impedance: pulses, trains of pulses, and Foster into Cauer and back.
 *
 * A Foster ladder is a sum of residues, Z(s) = sum (1/C_i) / (s + 1/tau_i) = b' (s I + D)^-1 b with D =
 * diag(1/tau_i) and b_i = 1/sqrt(C_i).  A Cauer ladder is the same with a tridiagonal matrix.  So one becomes
 * the other by Lanczos' tridiagonalisation of D from b, and back by its eigenvectors (Golub & Van Loan,
 * Matrix Computations, ch. 9 and 8; the continued fraction of network synthesis, Cauer 1926, without its
 * cancelling polynomials). */
#include "heatledger/ladder.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

enum { N = HL_LADDER_STAGES_MAX, SWEEPS_MAX = 60 };

static bool is_sane(const hl_ladder *ladder)
{
    if (ladder->n < 1 || ladder->n > N) return false;
    for (size_t i = 0; i < ladder->n; i++)
        if (!(ladder->resistance[i] > 0 && ladder->resistance[i] < 1e12) ||
            !(ladder->capacity[i] > 0 && ladder->capacity[i] < 1e12))
            return false;
    return true;
}

/* ---------------------------------------------------------------- pulses -- */

/* Z(t) = sum R_i (1 - e^(-t/tau_i)): JEDEC JESD51-14 section 4 (form from memory). */
double hl_foster_step(const hl_ladder *foster, double time)
{
    double sum = 0;
    for (size_t i = 0; i < foster->n; i++)
        sum -= foster->resistance[i] * expm1(-time / (foster->resistance[i] * foster->capacity[i]));
    return sum;
}

/* End of the pulse in the settled train, d = duty, T = period:
 *   sum R_i (1 - e^(-d T/tau_i)) / (1 - e^(-T/tau_i))
 * geometric series over all pulses before; exact for linear heat paths. */
double hl_foster_train(const hl_ladder *foster, double period, double duty)
{
    double sum = 0;
    for (size_t i = 0; i < foster->n; i++) {
        double tau = foster->resistance[i] * foster->capacity[i], all = expm1(-period / tau);
        sum += foster->resistance[i] * (all < 0 ? expm1(-duty * period / tau) / all : duty);
    }
    return sum;
}

double hl_foster_mean(const hl_ladder *foster, double duty)
{
    double sum = 0;
    for (size_t i = 0; i < foster->n; i++) sum += duty * foster->resistance[i];
    return sum;
}

/* Just before the pulse: what is left after the pause. */
double hl_foster_valley(const hl_ladder *foster, double period, double duty)
{
    double sum = 0;
    for (size_t i = 0; i < foster->n; i++) {
        double tau = foster->resistance[i] * foster->capacity[i], all = expm1(-period / tau);
        double end = all < 0 ? expm1(-duty * period / tau) / all : duty;
        sum += foster->resistance[i] * end * exp(-(1 - duty) * period / tau);
    }
    return sum;
}

/* -------------------------------------------------------- Foster to Cauer -- */

static double dot(size_t n, const double a[], const double b[])
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

/* Lanczos with full reorthogonalisation: diagonal and off-diagonal of the tridiagonal matrix. */
static bool tridiagonal(size_t n, const double rate[], const double start[], double diagonal[],
                        double beside[])
{
    double q[N][N], size = sqrt(dot(n, start, start));
    for (size_t i = 0; i < n; i++) q[0][i] = start[i] / size;
    for (size_t k = 0; k < n; k++) {
        double next[N];
        for (size_t i = 0; i < n; i++) next[i] = rate[i] * q[k][i];
        diagonal[k] = dot(n, q[k], next);
        if (k + 1 == n) break;
        for (int again = 0; again < 2; again++)
            for (size_t j = 0; j <= k; j++) {
                double share = dot(n, q[j], next);
                for (size_t i = 0; i < n; i++) next[i] -= share * q[j][i];
            }
        beside[k] = sqrt(dot(n, next, next));
        if (!(beside[k] > 1e-12 * diagonal[k])) return false; /* two stages of one time constant */
        for (size_t i = 0; i < n; i++) q[k + 1][i] = next[i] / beside[k];
    }
    return true;
}

/* Ladder with nodes scaled by sqrt(C): T_kk = (1/R_(k-1) + 1/R_k) / C_k, T_k,k+1 = 1 / (R_k sqrt(C_k
 * C_(k+1))). */
hl_status hl_foster_to_cauer(const hl_ladder *foster, hl_ladder *cauer)
{
    if (!is_sane(foster)) return HL_BAD_INPUT;
    size_t n = foster->n;
    double rate[N], start[N], diagonal[N], beside[N], before = 0, left = 0;
    for (size_t i = 0; i < n; i++) {
        rate[i] = 1 / (foster->resistance[i] * foster->capacity[i]);
        start[i] = 1 / sqrt(foster->capacity[i]);
        left += foster->resistance[i];
    }
    if (!tridiagonal(n, rate, start, diagonal, beside)) return HL_BAD_INPUT;
    hl_ladder made = {.n = n};
    double capacity = 1 / dot(n, start, start);
    for (size_t k = 0; k < n; k++) {
        made.capacity[k] = capacity;
        double conductance = diagonal[k] * capacity - before;
        /* the last resistance is what the sum leaves: its own conductance is a difference of near equals */
        made.resistance[k] = k + 1 < n ? 1 / conductance : left;
        left -= made.resistance[k];
        if (k + 1 < n) capacity = conductance * conductance / (beside[k] * beside[k] * capacity);
        before = conductance;
    }
    if (!is_sane(&made)) return HL_BAD_INPUT;
    *cauer = made;
    return HL_OK;
}

/* -------------------------------------------------------- Cauer to Foster -- */

/* Jacobi's method for a small symmetric matrix; eigenvalues on its diagonal, vectors in columns of v
 * (Golub & Van Loan section 8.5). */
static void eigen(size_t n, double a[N][N], double v[N][N])
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) v[i][j] = i == j;
    for (int sweep = 0; sweep < SWEEPS_MAX; sweep++) {
        bool turned = false;
        for (size_t p = 0; p + 1 < n; p++)
            for (size_t q = p + 1; q < n; q++) {
                if (!(fabs(a[p][q]) > 1e-16 * sqrt(fabs(a[p][p] * a[q][q])))) continue;
                turned = true;
                double theta = (a[q][q] - a[p][p]) / (2 * a[p][q]);
                double t = (theta >= 0 ? 1 : -1) / (fabs(theta) + sqrt(1 + theta * theta));
                double c = 1 / sqrt(1 + t * t), s = t * c;
                for (size_t k = 0; k < n; k++) {
                    double x = a[k][p], y = a[k][q];
                    a[k][p] = c * x - s * y;
                    a[k][q] = s * x + c * y;
                }
                for (size_t k = 0; k < n; k++) {
                    double x = a[p][k], y = a[q][k];
                    a[p][k] = c * x - s * y;
                    a[q][k] = s * x + c * y;
                    x = v[k][p], y = v[k][q];
                    v[k][p] = c * x - s * y;
                    v[k][q] = s * x + c * y;
                }
            }
        if (!turned) return;
    }
}

static void sort_by_time(hl_ladder *foster)
{
    for (size_t i = 1; i < foster->n; i++)
        for (size_t k = i; k > 0; k--) {
            double *r = foster->resistance, *c = foster->capacity;
            if (r[k] * c[k] >= r[k - 1] * c[k - 1]) break;
            double x = r[k], y = c[k];
            r[k] = r[k - 1], c[k] = c[k - 1];
            r[k - 1] = x, c[k - 1] = y;
        }
}

hl_status hl_cauer_to_foster(const hl_ladder *cauer, hl_ladder *foster)
{
    if (!is_sane(cauer)) return HL_BAD_INPUT;
    size_t n = cauer->n;
    double a[N][N], v[N][N], before = 0;
    memset(a, 0, sizeof a);
    for (size_t k = 0; k < n; k++) {
        double after = 1 / cauer->resistance[k];
        a[k][k] = (before + after) / cauer->capacity[k];
        if (k + 1 < n) a[k][k + 1] = a[k + 1][k] = -after / sqrt(cauer->capacity[k] * cauer->capacity[k + 1]);
        before = after;
    }
    eigen(n, a, v);
    hl_ladder made = {.n = n};
    for (size_t i = 0; i < n; i++) { /* residue v_1^2 / C_1 = 1/C_i; R_i = tau_i / C_i */
        made.capacity[i] = cauer->capacity[0] / (v[0][i] * v[0][i]);
        made.resistance[i] = 1 / (a[i][i] * made.capacity[i]);
    }
    sort_by_time(&made);
    if (!is_sane(&made)) return HL_BAD_INPUT;
    *foster = made;
    return HL_OK;
}
