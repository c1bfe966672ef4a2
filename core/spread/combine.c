/* combine.c - the law of propagation of uncertainty for any function. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/spread.h"
#include "quantity/float_state.h"

typedef struct probe {
    const hl_combination *job;
    double *x;           /* [inputs] where the function is asked */
    double *at[4];       /* [outputs] answers beside the estimate */
    double *sensitivity; /* [outputs x inputs] */
    double *covariance;  /* [outputs x outputs] */
} probe;

static bool ask(probe *p, size_t i, double step_i, size_t j, double step_j, double y[])
{
    const hl_combination *job = p->job;
    memcpy(p->x, job->x, job->inputs * sizeof *p->x);
    p->x[i] += step_i;
    p->x[j] += step_j;
    return job->f(job->context, p->x, y);
}

/* Step for input i: a small share of its own uncertainty, so that the slope is that at the estimate. */
static double small_step(const hl_combination *job, size_t i)
{
    double step = 1e-2 * job->u[i], least = 1e-6 * fabs(job->x[i]);
    if (step > 0) return fmax(step, 1e-10 * fabs(job->x[i]));
    return least > 0 ? least : 1e-6;
}

/* dy/dx_i by differences at one and two steps, their error of second order removed.
 * source: Richardson's extrapolation; exact for polynomials up to the fourth degree */
static bool slopes(probe *p, size_t i)
{
    const hl_combination *job = p->job;
    double h = small_step(job, i);
    if (!ask(p, i, h, i, 0, p->at[0]) || !ask(p, i, -h, i, 0, p->at[1]) ||
        !ask(p, i, 2 * h, i, 0, p->at[2]) || !ask(p, i, -2 * h, i, 0, p->at[3]))
        return false;
    for (size_t k = 0; k < job->outputs; k++)
        p->sensitivity[k * job->inputs + i] =
            (8 * (p->at[0][k] - p->at[1][k]) - (p->at[2][k] - p->at[3][k])) / (12 * h);
    return true;
}

static double correlation(const hl_combination *job, size_t i, size_t j)
{
    if (job->r) return job->r[i * job->inputs + j];
    return i == j;
}

/* JCGM 102:2011, 6.2.1.3: U_y = C U_x C'; JCGM 100:2008, eq. 13 and 16 for one output. */
static void covariances(probe *p)
{
    const hl_combination *job = p->job;
    size_t n = job->inputs, m = job->outputs;
    for (size_t a = 0; a < m; a++)
        for (size_t b = 0; b <= a; b++) {
            double sum = 0;
            for (size_t i = 0; i < n; i++)
                for (size_t j = 0; j < n; j++)
                    sum += p->sensitivity[a * n + i] * job->u[i] * correlation(job, i, j) * job->u[j] *
                           p->sensitivity[b * n + j];
            p->covariance[a * m + b] = p->covariance[b * m + a] = sum;
        }
}

/* JCGM 100:2008, 5.1.2 note: sum over i, j of ((1/2) f_ij^2 + f_i f_ijj) u_i^2 u_j^2, independent inputs.
 * Derivatives by differences one standard uncertainty wide. */
static bool second_order(probe *p, size_t i, size_t j, const double y[])
{
    const hl_combination *job = p->job;
    size_t m = job->outputs;
    double hi = job->u[i], hj = job->u[j];
    double *pp = p->at[0], *pm = p->at[1], *mp = p->at[2], *mm = p->at[3];
    if (hi == 0 || hj == 0) return true;
    if (i == j) {
        if (!ask(p, i, hi, i, 0, pp) || !ask(p, i, -hi, i, 0, pm) || !ask(p, i, 2 * hi, i, 0, mp) ||
            !ask(p, i, -2 * hi, i, 0, mm))
            return false;
        for (size_t k = 0; k < m; k++) {
            double f2 = pp[k] - 2 * y[k] + pm[k], f3 = 0.5 * (mp[k] - 2 * pp[k] + 2 * pm[k] - mm[k]);
            double f1 = p->sensitivity[k * job->inputs + i] * hi;
            p->covariance[k * m + k] += 0.5 * f2 * f2 + f1 * f3;
        }
        return true;
    }
    if (!ask(p, i, hi, j, hj, pp) || !ask(p, i, hi, j, -hj, pm) || !ask(p, i, -hi, j, hj, mp) ||
        !ask(p, i, -hi, j, -hj, mm))
        return false;
    for (size_t k = 0; k < m; k++) {
        double cross = 0.25 * (pp[k] - pm[k] - mp[k] + mm[k]), straight_p = 0, straight_m = 0;
        /* f_ijj u_i u_j^2 = (curvature in j at x_i + u_i, less that at x_i - u_i) / 2; its middle values come
         * below */
        straight_p = pp[k] + pm[k];
        straight_m = mp[k] + mm[k];
        p->covariance[k * m + k] += 0.5 * cross * cross;
        pp[k] = 0.5 * (straight_p - straight_m);
    }
    if (!ask(p, i, hi, i, 0, pm) || !ask(p, i, -hi, i, 0, mp)) return false;
    for (size_t k = 0; k < m; k++) {
        double third = pp[k] - (pm[k] - mp[k]);
        p->covariance[k * m + k] += p->sensitivity[k * job->inputs + i] * hi * third;
    }
    return true;
}

/* u^4 / sum of (c_i u_i)^4 / v_i.  source: JCGM 100:2008, eq. G.2b; for independent inputs */
static double effective_freedom(const probe *p, size_t output)
{
    const hl_combination *job = p->job;
    double sum = 0, variance = p->covariance[output * job->outputs + output];
    for (size_t i = 0; i < job->inputs; i++) {
        double part = p->sensitivity[output * job->inputs + i] * job->u[i];
        if (job->freedom && isfinite(job->freedom[i])) sum += part * part * part * part / job->freedom[i];
    }
    return sum > 0 ? variance * variance / sum : HUGE_VAL;
}

static void hand_over(const probe *p, hl_combined *out)
{
    const hl_combination *job = p->job;
    size_t m = job->outputs;
    for (size_t k = 0; k < m; k++) {
        out->u[k] = sqrt(fmax(0, p->covariance[k * m + k]));
        if (out->freedom) out->freedom[k] = job->r ? NAN : effective_freedom(p, k);
    }
    for (size_t a = 0; out->r && a < m; a++)
        for (size_t b = 0; b < m; b++) {
            double product = out->u[a] * out->u[b];
            out->r[a * m + b] = a == b ? 1 : product > 0 ? p->covariance[a * m + b] / product : 0;
        }
    if (out->sensitivity) memcpy(out->sensitivity, p->sensitivity, m * job->inputs * sizeof(double));
}

static hl_status work(probe *p, hl_combined *out)
{
    const hl_combination *job = p->job;
    memcpy(p->x, job->x, job->inputs * sizeof *p->x);
    if (!job->f(job->context, p->x, out->y)) return HL_NO_SOLUTION;
    for (size_t i = 0; i < job->inputs; i++)
        if (!slopes(p, i)) return HL_NO_SOLUTION;
    covariances(p);
    for (size_t i = 0; job->second_order && !job->r && i < job->inputs; i++)
        for (size_t j = 0; j < job->inputs; j++)
            if (!second_order(p, i, j, out->y)) return HL_NO_SOLUTION;
    hand_over(p, out);
    return HL_OK;
}

hl_status hl_combine(const hl_combination *job, hl_combined *combined)
{
    PLAIN_FLOAT_STATE;
    size_t n = job->inputs, m = job->outputs;
    if (!n || !m || !job->f || !job->x || !job->u || !combined->y || !combined->u) return HL_BAD_INPUT;
    for (size_t i = 0; i < n; i++)
        if (!isfinite(job->x[i]) || !(job->u[i] >= 0 && isfinite(job->u[i]))) return HL_BAD_INPUT;
    double *memory = calloc(n + 4 * m + n * m + m * m, sizeof *memory);
    if (!memory) return HL_NO_MEMORY;
    probe p = {.job = job, .x = memory};
    for (int k = 0; k < 4; k++) p.at[k] = memory + n + (size_t)k * m;
    p.sensitivity = memory + n + 4 * m;
    p.covariance = p.sensitivity + n * m;
    hl_status status = work(&p, combined);
    free(memory);
    return status;
}
