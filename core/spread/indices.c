/* indices.c - Sobol' indices by two base samples and their mixtures, or from a sample that is there. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/spread.h"
#include "sweep/pool.h"

typedef struct mixing {
    const hl_indices_job *job;
    size_t groups;
    const double *a, *b; /* base samples, [base x unknowns] */
    double *rows;        /* [workers x unknowns], the point at hand */
    double *y;           /* [(groups + 2) x base x outputs] answers of a, b, and a with group g from b */
} mixing;

static size_t group_of(const mixing *m, size_t unknown)
{
    return m->job->groups ? m->job->group[unknown] : unknown;
}

static double *answer(const mixing *m, size_t block, size_t row)
{
    return &m->y[(block * m->job->base + row) * m->job->outputs];
}

/* Index = row * (groups + 2) + block: points that differ in one group follow each other, so a model that
 * prepares only what changed has little to do. */
static bool evaluate(void *context, size_t worker, size_t index)
{
    const mixing *m = context;
    const hl_indices_job *job = m->job;
    size_t blocks = m->groups + 2, row = index / blocks, block = index % blocks, n = job->unknowns;
    double *p = &m->rows[worker * n], *y = answer(m, block, row);
    for (size_t u = 0; u < n; u++) {
        bool from_b = block == 1 || (block >= 2 && group_of(m, u) == block - 2);
        p[u] = (from_b ? m->b : m->a)[row * n + u];
    }
    if (!job->model(job->context, worker, p, y))
        for (size_t k = 0; k < job->outputs; k++) y[k] = NAN;
    return true;
}

typedef struct moments {
    double mean, variance;
} moments;

/* Of all answers to both base samples. */
static moments base_moments(const mixing *m, size_t output)
{
    double sum = 0, square = 0;
    size_t n = 0;
    for (size_t block = 0; block < 2; block++)
        for (size_t row = 0; row < m->job->base; row++) {
            double y = answer(m, block, row)[output];
            if (!isfinite(y)) continue;
            sum += y;
            n++;
        }
    double mean = n ? sum / (double)n : 0;
    for (size_t block = 0; block < 2; block++)
        for (size_t row = 0; row < m->job->base; row++) {
            double y = answer(m, block, row)[output];
            if (isfinite(y)) square += (y - mean) * (y - mean);
        }
    return (moments){mean, n > 1 ? square / (double)(n - 1) : 0};
}

/* first: V_i = mean of f(B) (f(A with i of B) - f(A)), Saltelli 2010 table 2 (b), centred for less noise;
 * total: half the mean of (f(A) - f(A with i of B))^2, table 2 (f), after Jansen 1999. */
static void of_group(const mixing *m, size_t output, size_t group, moments all, double *first, double *total,
                     double *noise)
{
    double product = 0, square = 0, fourth = 0;
    size_t n = 0;
    for (size_t row = 0; row < m->job->base; row++) {
        double a = answer(m, 0, row)[output], b = answer(m, 1, row)[output];
        double mixed = answer(m, group + 2, row)[output];
        if (!isfinite(a) || !isfinite(b) || !isfinite(mixed)) continue;
        double change = mixed - a;
        product += (b - all.mean) * change;
        square += change * change;
        fourth += change * change * change * change;
        n++;
    }
    bool known = n > 1 && all.variance > 0;
    double count = (double)n, mean = square / count;
    *first = known ? product / count / all.variance : 0;
    *total = known ? 0.5 * mean / all.variance : 0;
    *noise = known ? 0.5 * sqrt(fmax(0, fourth / count - mean * mean) / count) / all.variance : 0;
}

static hl_status run(mixing *m, double first[], double total[], double noise[])
{
    const hl_indices_job *job = m->job;
    pool_job work = {.n = job->base * (m->groups + 2),
                     .workers = job->workers,
                     .chunk = m->groups + 2,
                     .run = evaluate,
                     .context = m};
    hl_status status = hl_pool_run(&work, NULL);
    if (status != HL_OK) return status;
    for (size_t k = 0; k < job->outputs; k++) {
        moments all = base_moments(m, k);
        for (size_t g = 0; g < m->groups; g++) {
            double spare = 0, *error = noise ? &noise[k * m->groups + g] : &spare;
            of_group(m, k, g, all, &first[k * m->groups + g], &total[k * m->groups + g], error);
        }
    }
    return HL_OK;
}

hl_status hl_indices(const hl_indices_job *job, double first[], double total[], double noise[])
{
    size_t n = job->unknowns, workers = job->workers ? job->workers : hl_pool_processors();
    mixing m = {.job = job, .groups = job->groups ? job->groups : n};
    if (!job->base || !n || !job->outputs || !job->model) return HL_BAD_INPUT;
    for (size_t u = 0; job->groups && u < n; u++)
        if (job->group[u] >= job->groups) return HL_BAD_INPUT;
    /* One hypercube of twice the unknowns: both halves are layered, and independent of each other. */
    double *both = calloc(2 * n * job->base, sizeof *both),
           *halves = calloc(2 * n * job->base, sizeof *halves);
    m.rows = calloc(workers * n, sizeof *m.rows);
    m.y = calloc((m.groups + 2) * job->base * job->outputs, sizeof *m.y);
    hl_status status = HL_NO_MEMORY;
    if (both && halves && m.rows && m.y) status = hl_latin_hypercube(job->seed, job->base, 2 * n, both);
    if (status == HL_OK) {
        for (size_t row = 0; row < job->base; row++) {
            memcpy(&halves[row * n], &both[2 * row * n], n * sizeof *both);
            memcpy(&halves[(job->base + row) * n], &both[(2 * row + 1) * n], n * sizeof *both);
        }
        m.a = halves;
        m.b = halves + job->base * n;
        status = run(&m, first, total, noise);
    }
    free(both);
    free(halves);
    free(m.rows);
    free(m.y);
    return status;
}

enum { LAYERS_MOST = 40, LAYER_LEAST = 10 };

/* Between layers: sum over layers of n_l (mean_l - mean)^2, less what chance alone gives, over the whole sum
 * of squares (omega squared: W. L. Hays, Statistics for Psychologists, Holt 1963, from memory). */
double hl_first_order(size_t n, const double p[], size_t stride, const double y[])
{
    double sum[LAYERS_MOST] = {0}, count[LAYERS_MOST] = {0}, all = 0, good = 0, whole = 0, between = 0;
    for (size_t i = 0; i < n; i++)
        if (isfinite(y[i])) {
            all += y[i];
            good++;
        }
    if (good < 2 * LAYER_LEAST) return 0;
    double mean = all / good;
    size_t layers = (size_t)fmin(LAYERS_MOST, fmax(2, sqrt(good) / 3));
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(y[i])) continue;
        size_t layer = (size_t)(p[i * stride] * (double)layers);
        if (layer >= layers) layer = layers - 1;
        sum[layer] += y[i] - mean;
        count[layer]++;
        whole += (y[i] - mean) * (y[i] - mean);
    }
    double used = 0;
    for (size_t l = 0; l < layers; l++) {
        if (count[l] == 0) continue;
        between += sum[l] * sum[l] / count[l];
        used++;
    }
    if (!(whole > 0) || !(good > used)) return 0;
    double within = (whole - between) / (good - used);
    return fmax(0, (between - (used - 1) * within) / (whole + within));
}
