/* gain.c - how strongly temperature feeds back on itself through heat.
 *
 * The gain is the greatest eigenvalue of A = J^-1 S: J the derivative of link heat, S that of heat with
 * temperature where it is positive (heat that falls with temperature steadies the network
 * and counts with the links; whether the gain is below one is the same either way).  J is an
 * M-matrix, so A is nonnegative and its greatest eigenvalue is real with a nonnegative vector
 * (Perron & Frobenius; Berman & Plemmons ch. 2).  A few steps of power iteration, then
 * Noda's inverse iteration, which comes down on the eigenvalue from above, quadratically
 * (T. Noda 1971, Numer. Math. 17). */
#include "thermal/work.h"

#include <math.h>
#include <string.h>

enum { POWER_STEPS = 3, NODA_STEPS = 60 };

static const double least_difference = 1e-4;

static void scale_to_one(double vector[], int n)
{
    double most = 0;
    for (int i = 0; i < n; i++) most = fmax(most, fabs(vector[i]));
    for (int i = 0; i < n && most > 0; i++) vector[i] = fmax(fabs(vector[i]) / most, 1e-200);
}

/* J with the heat that falls with temperature; false when no heat rises. */
static bool load_matrix(hl_network_work *work, const double temperature[], const double slope[])
{
    bool rises = false;
    memcpy(work->temperature, temperature, (size_t)work->n * sizeof(double));
    work_assemble_links(work, least_difference);
    for (int i = 0; i < work->n; i++) {
        work->slope[i] = slope[i] > 0 ? slope[i] : 0;
        if (slope[i] < 0) work->value[work->diagonal[i]] -= slope[i];
        rises = rises || work->slope[i] > 0;
    }
    return rises;
}

/* x := A x / |A x| a few times; returns an upper bound of the eigenvalue. */
static double power_steps(hl_network_work *work, double x[], double image[])
{
    double bound = INFINITY;
    for (int k = 0; k < POWER_STEPS; k++) {
        for (int i = 0; i < work->n; i++) image[i] = work->slope[i] * x[i];
        work_solve(work, image);
        bound = 0;
        for (int i = 0; i < work->n; i++) bound = fmax(bound, image[i] / x[i]);
        memcpy(x, image, (size_t)work->n * sizeof(double));
        scale_to_one(x, work->n);
    }
    return bound;
}

/* image = J x with J in work->saved. */
static void multiply(const hl_network_work *work, const double x[], double image[])
{
    memset(image, 0, (size_t)work->n * sizeof(double));
    for (int j = 0; j < work->n; j++)
        for (int p = work->column[j]; p < work->column[j + 1]; p++)
            image[work->row[p]] += work->saved[p] * x[j];
}

/* (bound I - A) y = x, that is (bound J - S) y = J x.  Then A y / y = bound - x/y, whose greatest
 * element is the next bound. */
static double noda_step(hl_network_work *work, double bound, double x[], double y[])
{
    for (int p = 0; p < work->entries; p++) work->value[p] = bound * work->saved[p];
    for (int i = 0; i < work->n; i++) work->value[work->diagonal[i]] -= work->slope[i];
    if (!work_factor(work)) return bound; /* singular to rounding: this is the eigenvalue */
    multiply(work, x, y);
    work_solve(work, y);
    double least = INFINITY;
    for (int i = 0; i < work->n; i++) least = fmin(least, x[i] / y[i]);
    if (!(least > 0 && least < bound)) return bound;
    memcpy(x, y, (size_t)work->n * sizeof(double));
    scale_to_one(x, work->n);
    return bound - least;
}

/* Share of a node in the eigenvalue: slope x^2, exact where J is symmetric. */
static int greatest_share(const hl_network_work *work, const double x[])
{
    int leader = -1;
    double most = 0;
    for (int i = 0; i < work->n; i++) {
        double share = work->slope[i] * x[i] * x[i];
        if (!(share > most)) continue;
        most = share;
        leader = i;
    }
    return leader;
}

double hl_network_gain(hl_network_work *work, const hl_surroundings *surroundings, const double temperature[],
                       const double slope[], int *leader)
{
    work->ambient = surroundings->temperature;
    work->pressure = surroundings->pressure;
    if (leader) *leader = -1;
    if (!load_matrix(work, temperature, slope)) return 0;
    if (!work_factor(work)) return INFINITY; /* a heated node has no way out, or figures are not finite */
    memcpy(work->saved, work->value, ((size_t)work->entries + 1) * sizeof(double));
    double *x = work->mode;
    for (int i = 0; i < work->n; i++) x[i] = 1;
    double bound = power_steps(work, x, work->image);
    for (int k = 0; k < NODA_STEPS; k++) {
        double next = noda_step(work, bound, x, work->image);
        bool settled = !(bound - next > 1e-8 * bound); /* what is left goes with the square */
        bound = next;
        if (settled) break;
    }
    if (leader) *leader = greatest_share(work, x);
    return bound;
}
