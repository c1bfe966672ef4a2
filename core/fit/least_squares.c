/* least_squares.c - weighted least squares within bounds. */
#include <cminpack.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/fit.h"
#include "quantity/float_state.h"

enum { CALLS_MOST = 4000 };

/* Model errors come from its own iteration, about 1e-9; a step that changes the model by far more than that.
 */
static const double usual_step = 1e-5;

/* Residual where the model has no answer: so far off that the step is taken back. */
static const double far_off = 1e6;

typedef struct search {
    const hl_fit_problem *problem;
    hl_fit_result *result;
    double *x, *predicted, *aside, *moved; /* a step aside, and the residuals there */
    bool ever;                             /* the model gave an answer at least once */
} search;

static const double turn = 6.28318530717958648;
static const double first_reach = 0.15; /* of z, for the first step: about a radian */

/* z in any number <-> x within its bounds: x = middle + half sin z, a turn away from z = 0: the method's
 * steps and ends are in proportion to z, and none of them may vanish at the middle. source: F. James, M.
 * Roos, Computer Physics Communications 10, 1975 (transformation for double bounds) */
static double inside(const hl_fit_value *v, double z)
{
    return 0.5 * (v->low + v->high) + 0.5 * (v->high - v->low) * sin(z);
}

static double outside(const hl_fit_value *v, double x)
{
    double share = (x - 0.5 * (v->low + v->high)) / (0.5 * (v->high - v->low));
    /* Not from an end, where the slope is zero; but a microhenry between none and a henry is no end. */
    if (!(fabs(share) <= 1 - 1e-9)) share = copysign(0.999, share);
    return turn + asin(share);
}

/* Normalised residuals, readings first, then priors.  false: no answer. */
static bool residuals(search *s, const double x[], double r[])
{
    const hl_fit_problem *p = s->problem;
    s->result->calls++;
    if (!p->model(p->context, x, s->predicted)) return false;
    for (size_t i = 0; i < p->n_readings; i++) {
        r[i] = (p->readings[i].value - s->predicted[i]) / p->readings[i].u;
        if (!isfinite(r[i])) return false;
    }
    size_t row = p->n_readings;
    for (size_t k = 0; k < p->n_values; k++)
        if (p->values[k].prior_u > 0) r[row++] = (p->values[k].prior - x[k]) / p->values[k].prior_u;
    return true;
}

static bool residuals_at(search *s, const double z[], double r[])
{
    for (size_t k = 0; k < s->problem->n_values; k++) s->x[k] = inside(&s->problem->values[k], z[k]);
    return residuals(s, s->x, r);
}

static double step_of(const hl_fit_problem *p)
{
    return p->step > 0 ? p->step : usual_step;
}

/* Column k of the slopes, by a step of one length. Aside to the other hand where there is no answer, which is
 * why lmdif of cminpack does not do: it looks ahead alone. None on either: no slope. */
static void slope_column(search *s, int m, int k, double *z, const double *r, double *column)
{
    double kept = z[k], h = step_of(s->problem);
    for (int i = 0; i < m; i++) column[i] = 0;
    for (int side = 0; side < 2; side++, h = -h) {
        z[k] = kept + h;
        if (!residuals_at(s, z, s->moved)) continue;
        for (int i = 0; i < m; i++) column[i] = (s->moved[i] - r[i]) / h;
        break;
    }
    z[k] = kept;
}

/* What lmder of cminpack asks: residuals, or (flag 2) their slopes column by column. */
static int ask(void *context, int m, int n, const double *z, double *r, double *jacobian, int rows, int flag)
{
    search *s = context;
    if (flag == 2) {
        memcpy(s->aside, z, (size_t)n * sizeof *s->aside);
        for (int k = 0; k < n; k++) slope_column(s, m, k, s->aside, r, jacobian + (size_t)k * (size_t)rows);
        return 0;
    }
    if (residuals_at(s, z, r)) {
        s->ever = true;
        return 0;
    }
    if (!s->ever) return -1;
    for (int i = 0; i < m; i++) r[i] = far_off;
    return 0;
}

static bool is_sane(const hl_fit_problem *p)
{
    if (!p->n_values || !p->n_readings || !p->model) return false;
    for (size_t k = 0; k < p->n_values; k++) {
        const hl_fit_value *v = &p->values[k];
        if (!(v->low < v->high) || !isfinite(v->low) || !isfinite(v->high)) return false;
        if (!(v->start >= v->low && v->start <= v->high) || !(v->prior_u >= 0)) return false;
        if (v->prior_u > 0 && !isfinite(v->prior)) return false;
    }
    for (size_t i = 0; i < p->n_readings; i++)
        if (!isfinite(p->readings[i].value) || !(p->readings[i].u > 0 && isfinite(p->readings[i].u)))
            return false;
    return true;
}

static bool minimise(search *s)
{
    const hl_fit_problem *p = s->problem;
    int n = (int)p->n_values, m = (int)s->result->rows, calls = 0, slopes_asked = 0;
    /* lmder wants at least as many rows as values: rows of zeros do no harm, and say nothing. */
    int rows = m > n ? m : n;
    double *memory = calloc((size_t)rows * (size_t)n + 3 * (size_t)rows + 7 * (size_t)n, sizeof *memory);
    int *order = calloc((size_t)n, sizeof *order);
    bool good = memory && order;
    if (good) {
        double *z = memory, *r = z + n, *jacobian = r + rows, *diagonal = jacobian + rows * n;
        double *qtf = diagonal + n, *w1 = qtf + n, *w2 = w1 + n, *w3 = w2 + n, *w4 = w3 + n;
        s->moved = w4 + rows;
        s->aside = s->moved + rows;
        for (int k = 0; k < n; k++) z[k] = outside(&p->values[k], p->values[k].start);
        int found = lmder(ask, s, rows, n, z, r, jacobian, rows, 1e-10, 1e-10, 0, CALLS_MOST, diagonal, 1,
                          first_reach, 0, &calls, &slopes_asked, order, qtf, w1, w2, w3, w4);
        good = found >= 0 && s->ever;
        for (int k = 0; k < n; k++) s->result->x[k] = inside(&p->values[k], z[k]);
    }
    free(memory);
    free(order);
    return good;
}

/* Column k of the slopes at the end, in the value itself, by differences on both sides where the bounds and
 * the model leave room.  A search that was stopped where the model's answers end has them on one side alone.
 */
static bool end_column(search *s, size_t k, double h, double above[], double below[])
{
    const hl_fit_value *v = &s->problem->values[k];
    hl_fit_result *f = s->result;
    double kept = f->x[k], up = fmin(v->high, kept + h), down = fmax(v->low, kept - h);
    f->x[k] = up;
    bool ahead = residuals(s, f->x, above);
    f->x[k] = down;
    bool behind = residuals(s, f->x, below);
    f->x[k] = kept;
    f->at_edge[k] = !ahead || !behind;
    if (!ahead) {
        memcpy(above, f->r, f->rows * sizeof *above);
        up = kept;
    }
    if (!behind) {
        memcpy(below, f->r, f->rows * sizeof *below);
        down = kept;
    }
    if (!(up > down)) return false;
    for (size_t i = 0; i < f->rows; i++) f->jacobian[i * f->n + k] = (below[i] - above[i]) / (up - down);
    return true;
}

static bool slopes(search *s, double above[], double below[])
{
    enum { SHORTER_MOST = 6 };
    hl_fit_result *f = s->result;
    if (!residuals(s, f->x, f->r)) return false;
    for (size_t k = 0; k < f->n; k++) {
        const hl_fit_value *v = &s->problem->values[k];
        double h = 10 * step_of(s->problem) * (v->high - v->low);
        int tries = 0;
        while (!end_column(s, k, h, above, below) && ++tries < SHORTER_MOST) h /= 4;
        if (tries == SHORTER_MOST) return false;
    }
    return true;
}

static bool make_room(hl_fit_result *f, const hl_fit_problem *p)
{
    f->memory = arena_create();
    if (!f->memory) return false;
    f->n = p->n_values;
    f->m = f->rows = p->n_readings;
    for (size_t k = 0; k < f->n; k++) f->rows += p->values[k].prior_u > 0;
    f->x = arena_array(f->memory, f->n, sizeof *f->x);
    f->r = arena_array(f->memory, f->rows, sizeof *f->r);
    f->jacobian = arena_array(f->memory, f->rows * f->n, sizeof *f->jacobian);
    f->covariance = arena_array(f->memory, f->n * f->n, sizeof *f->covariance);
    f->estimate = arena_array(f->memory, f->n, sizeof *f->estimate);
    f->at_edge = arena_array(f->memory, f->n, sizeof *f->at_edge);
    f->residual = arena_array(f->memory, f->m, sizeof *f->residual);
    f->blind = arena_array(f->memory, f->n, sizeof *f->blind);
    return f->x && f->r && f->jacobian && f->covariance && f->estimate && f->at_edge && f->residual &&
           f->blind;
}

hl_status hl_fit(const hl_fit_problem *problem, hl_fit_result **result)
{
    PLAIN_FLOAT_STATE;
    *result = NULL;
    if (!is_sane(problem)) return HL_BAD_INPUT;
    hl_fit_result *f = calloc(1, sizeof *f);
    if (!f) return HL_NO_MEMORY;
    hl_status status = HL_NO_MEMORY;
    search s = {.problem = problem, .result = f};
    double *memory =
        calloc(problem->n_values + problem->n_readings + 2 * (problem->n_readings + problem->n_values),
               sizeof *memory);
    if (memory && make_room(f, problem)) {
        s.x = memory;
        s.predicted = memory + f->n;
        double *above = s.predicted + f->m, *below = above + f->rows;
        status = minimise(&s) && slopes(&s, above, below) ? HL_OK : HL_NO_SOLUTION;
        if (status == HL_OK) status = fit_diagnose(problem, f);
    }
    free(memory);
    if (status != HL_OK) {
        hl_fit_destroy(f);
        return status;
    }
    *result = f;
    return HL_OK;
}

void hl_fit_destroy(hl_fit_result *result)
{
    if (!result) return;
    arena_destroy(result->memory);
    free(result);
}

size_t hl_fit_values(const hl_fit_result *result)
{
    return result->n;
}

const hl_fit_estimate *hl_fit_estimate_of(const hl_fit_result *result, size_t value)
{
    return value < result->n ? &result->estimate[value] : NULL;
}

double hl_fit_correlation(const hl_fit_result *result, size_t a, size_t b)
{
    if (a >= result->n || b >= result->n) return NAN;
    size_t n = result->n;
    double product = result->covariance[a * n + a] * result->covariance[b * n + b];
    return product > 0 && isfinite(product) ? result->covariance[a * n + b] / sqrt(product) : a == b;
}

size_t hl_fit_readings(const hl_fit_result *result)
{
    return result->m;
}

const hl_fit_residual *hl_fit_residual_of(const hl_fit_result *result, size_t reading)
{
    return reading < result->m ? &result->residual[reading] : NULL;
}

double hl_fit_chi_square(const hl_fit_result *result, double *freedom)
{
    if (freedom) *freedom = result->freedom;
    return result->chi_square;
}

size_t hl_fit_blinds(const hl_fit_result *result)
{
    return result->n_blinds;
}

const hl_fit_blind *hl_fit_blind_of(const hl_fit_result *result, size_t index)
{
    return index < result->n_blinds ? &result->blind[index] : NULL;
}

size_t hl_fit_calls(const hl_fit_result *result)
{
    return result->calls;
}
