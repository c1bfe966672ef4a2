/* diagnosis.c - how far a fit can be trusted: errors, what disagrees, what the data cannot tell. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/fit.h"
#include "heatledger/spread.h"

/* Along a direction in which the data leave more than this share of half the bounds' width open they do not
 * tell. */
static const double told = 1.0;
/* A value is told when its standard error from the readings is at most this share of half its bounds' width:
 * one either way then leaves half of them out.  Common practice, no source. */
static const double told_value = 0.5;
/* Parts of a direction smaller than this are not named. */
static const double named = 0.25;
/* A singular value below this share of the greatest is zero but for the noise of differences. */
static const double noise_share = 1e-7;
/* A reading with a leverage above this is predicted by itself alone. */
static const double own_word = 1 - 1e-6;
/* Chance of naming any reading of a sound bench. */
static const double false_alarm = 0.05;

/* Scaled slopes: rows x n, columns in units of half the bounds' width, and their decomposition. */
typedef struct decomposition {
    size_t n, rows;
    double *scale; /* [n] */
    double *a;     /* [rows x n] left vectors times singular values */
    double *s, *v;
} decomposition;

static bool decompose(const hl_fit_problem *p, const hl_fit_result *f, size_t rows, const bool left_out[],
                      decomposition *d)
{
    d->n = f->n;
    d->rows = rows;
    for (size_t k = 0; k < f->n; k++) d->scale[k] = 0.5 * (p->values[k].high - p->values[k].low);
    for (size_t i = 0; i < rows; i++)
        for (size_t k = 0; k < f->n; k++)
            d->a[i * f->n + k] = left_out && left_out[i] ? 0 : f->jacobian[i * f->n + k] * d->scale[k];
    return hl_singular_values(rows, f->n, d->a, d->s, d->v) == HL_OK;
}

static bool is_zero(const decomposition *d, size_t k)
{
    return !(d->s[k] > noise_share * d->s[0]) || !(d->s[k] > 0);
}

/* Covariance (J'J)^-1 of what is told; a value with a part in an untold direction has no error. */
static void errors(const hl_fit_problem *p, hl_fit_result *f, const decomposition *d)
{
    size_t n = f->n;
    for (size_t a = 0; a < n; a++)
        for (size_t b = 0; b < n; b++) {
            double sum = 0;
            for (size_t k = 0; k < n; k++)
                if (!is_zero(d, k)) sum += d->v[a * n + k] * d->v[b * n + k] / (d->s[k] * d->s[k]);
            f->covariance[a * n + b] = sum * d->scale[a] * d->scale[b];
        }
    for (size_t a = 0; a < n; a++) {
        double margin = 1e-3 * 2 * d->scale[a];
        bool open = false;
        for (size_t k = 0; k < n; k++) open |= is_zero(d, k) && fabs(d->v[a * n + k]) > 1e-3;
        open |= f->at_edge[a];
        f->estimate[a] = (hl_fit_estimate){.value = f->x[a],
                                           .u = open ? HUGE_VAL : sqrt(f->covariance[a * n + a]),
                                           .at_bound = f->x[a] - p->values[a].low < margin ||
                                                       p->values[a].high - f->x[a] < margin,
                                           .at_edge = f->at_edge[a]};
    }
}

/* Which values the readings tell by themselves: d is of their rows alone. */
static void find_told(hl_fit_result *f, const decomposition *d)
{
    size_t n = f->n;
    for (size_t a = 0; a < n; a++) {
        hl_fit_estimate *e = &f->estimate[a];
        double square = 0;
        for (size_t k = 0; k < n; k++) {
            double part = d->v[a * n + k];
            if (is_zero(d, k))
                square += fabs(part) > 1e-3 ? HUGE_VAL : 0;
            else
                square += part * part / (d->s[k] * d->s[k]);
        }
        e->told = sqrt(square) <= told_value && !e->at_bound && !e->at_edge;
    }
}

/* Directions that the readings (without priors) leave wide open. */
static bool find_blind(hl_fit_result *f, const decomposition *d)
{
    size_t n = f->n;
    for (size_t k = 0; k < n; k++) {
        double spread = is_zero(d, k) ? HUGE_VAL : 1 / d->s[k];
        if (spread <= told) continue;
        hl_fit_blind *blind = &f->blind[f->n_blinds++];
        blind->spread = spread;
        blind->value = arena_array(f->memory, n, sizeof *blind->value);
        blind->part = arena_array(f->memory, n, sizeof *blind->part);
        if (!blind->value || !blind->part) return false;
        for (size_t a = 0; a < n; a++) {
            double part = d->v[a * n + k];
            if (fabs(part) < named) continue;
            size_t at = blind->n++;
            for (; at > 0 && fabs(part) > fabs(blind->part[at - 1]); at--) {
                blind->part[at] = blind->part[at - 1];
                blind->value[at] = blind->value[at - 1];
            }
            blind->part[at] = part;
            blind->value[at] = a;
        }
    }
    return true;
}

/* Linear fit without the readings named so far, about the values found: leverages and residuals of all rows.
 * A row left out is predicted by the others; its residual then has variance 1 + h instead of 1 - h. */
static bool judge(const hl_fit_problem *p, const hl_fit_result *f, decomposition *d, const bool left_out[],
                  double leverage[], double residual[])
{
    size_t n = f->n;
    if (!decompose(p, f, f->rows, left_out, d)) return false;
    /* shift in the direction k: u_k' r / s_k, with a = u s */
    double *shift = calloc(n, sizeof *shift);
    if (!shift) return false;
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < f->rows && !is_zero(d, k); i++)
            if (!left_out[i]) shift[k] += d->a[i * n + k] * f->r[i] / (d->s[k] * d->s[k]);
    for (size_t i = 0; i < f->rows; i++) {
        leverage[i] = 0;
        residual[i] = f->r[i];
        for (size_t k = 0; k < n; k++) {
            if (is_zero(d, k)) continue;
            double along = 0; /* row i of the slopes times direction k */
            for (size_t a = 0; a < n; a++) along += f->jacobian[i * n + a] * d->scale[a] * d->v[a * n + k];
            leverage[i] += along * along / (d->s[k] * d->s[k]);
            residual[i] -= along * shift[k];
        }
    }
    free(shift);
    return true;
}

/* Residual against the fit without reading i, in its standard error.
 * source: Cook and Weisberg 1982, eq. 2.2.4 with the stated uncertainties for sigma */
static double deleted(double residual, double leverage, bool left_out)
{
    if (left_out) return residual / sqrt(1 + leverage);
    return leverage < own_word ? residual / sqrt(1 - leverage) : 0;
}

/* Bound that the greatest of m such residuals passes by chance in one bench of twenty (Bonferroni, two
 * sides). */
static double alarm(size_t m)
{
    return -hl_normal_quantile(false_alarm / (2.0 * (double)m));
}

static bool find_disagreeing(const hl_fit_problem *p, hl_fit_result *f, decomposition *d)
{
    double *leverage = calloc(2 * f->rows + 1, sizeof *leverage),
           *residual = leverage ? leverage + f->rows : NULL;
    bool *left_out = calloc(f->rows + 1, sizeof *left_out), good = leverage && left_out;
    size_t spare = f->rows > f->n ? f->rows - f->n : 0;
    for (size_t named_now = 0; good; named_now++) {
        good = judge(p, f, d, left_out, leverage, residual);
        size_t worst = SIZE_MAX;
        for (size_t i = 0; good && i < f->m; i++) {
            hl_fit_residual *r = &f->residual[i];
            r->deleted = deleted(residual[i], leverage[i], left_out[i]);
            if (named_now == 0) {
                r->normalised = f->r[i];
                r->predicted = p->readings[i].value - f->r[i] * p->readings[i].u;
                r->leverage = leverage[i];
                r->alone = leverage[i] >= own_word;
            }
            if (!left_out[i] && (worst == SIZE_MAX || fabs(r->deleted) > fabs(f->residual[worst].deleted)))
                worst = i;
        }
        if (!good || worst == SIZE_MAX || named_now + 1 > spare) break;
        if (!(fabs(f->residual[worst].deleted) > alarm(f->m))) break;
        left_out[worst] = f->residual[worst].disagrees = true;
    }
    free(leverage);
    free(left_out);
    return good;
}

hl_status fit_diagnose(const hl_fit_problem *problem, hl_fit_result *f)
{
    decomposition d = {.n = f->n};
    double *memory = calloc(f->rows * f->n + f->n * f->n + 2 * f->n, sizeof *memory);
    if (!memory) return HL_NO_MEMORY;
    d.a = memory;
    d.v = d.a + f->rows * f->n;
    d.s = d.v + f->n * f->n;
    d.scale = d.s + f->n;
    size_t known = 0;
    for (size_t i = 0; i < f->rows; i++) f->chi_square += f->r[i] * f->r[i];
    bool good = decompose(problem, f, f->rows, NULL, &d);
    if (good) errors(problem, f, &d);
    for (size_t k = 0; good && k < f->n; k++) known += !is_zero(&d, k);
    f->freedom = (double)f->rows - (double)known;
    good = good && decompose(problem, f, f->m, NULL, &d) && find_blind(f, &d);
    if (good) find_told(f, &d);
    good = good && find_disagreeing(problem, f, &d);
    free(memory);
    return good ? HL_OK : HL_NO_MEMORY;
}
