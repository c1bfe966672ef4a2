/* fit.h - adjust what is free until a model agrees with readings, and say how far to trust that.
 * Part of the host interface: include it beside heatledger.h.
 * The first section knows nothing of adapters; the second reads bench files and fits a design. */
#ifndef HEATLEDGER_FIT_H
#define HEATLEDGER_FIT_H

#include <stdbool.h>

#include "heatledger/design.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---------------------------------------------------------- least squares -- */

typedef struct hl_fit_value {
    const char *name;
    double start, low, high; /* low < high: held within; start inside */
    double prior, prior_u;   /* known before as prior +- prior_u; prior_u 0: nothing is known */
} hl_fit_value;

typedef struct hl_fit_reading {
    const char *name;
    double value, u; /* u > 0: its standard uncertainty */
} hl_fit_reading;

/* What the readings would be at these values.  false: no answer there; the step is shortened. */
typedef bool (*hl_fit_model)(void *context, const double values[], double predicted[]);

typedef struct hl_fit_problem {
    size_t n_values, n_readings;
    const hl_fit_value *values;
    const hl_fit_reading *readings;
    hl_fit_model model;
    void *context;
    double step; /* of differences, relative to the width of the bounds; 0: 1e-5 */
} hl_fit_problem;

typedef struct hl_fit_estimate {
    double value, u; /* standard error from the stated uncertainties; HUGE_VAL: the data do not tell */
    bool at_bound;
    bool at_edge; /* beside it the model gives no answer: the search ended there, at no minimum; u is HUGE_VAL
                   */
    bool told; /* the readings alone, without priors, tell it to a quarter of its bounds' width, inside them,
                  and of a bench's value to no more than the band it had */
} hl_fit_estimate;

typedef struct hl_fit_residual {
    double predicted;
    double normalised; /* (reading - predicted) / u */
    double leverage;   /* 0..1: how far the reading holds the fit to itself */
    double deleted;    /* residual against the fit without this reading, in its own standard error */
    bool disagrees;    /* named wrong: see hl_fit */
    bool alone;        /* nothing else tells what it tells: it cannot be checked */
} hl_fit_residual;

/* Values of which only some combination is told by the data. */
typedef struct hl_fit_blind {
    size_t n;
    size_t *value; /* [n] indices of the values that take part, the greatest part first */
    double *part;  /* [n] of a direction of length one, in units of half the bounds' width */
    double spread; /* standard deviation along it, in the same unit; HUGE_VAL: nothing is told */
} hl_fit_blind;

typedef struct hl_fit_result hl_fit_result;

/* Weighted least squares within bounds (Levenberg-Marquardt of MINPACK on arc-sine transformed values).
 * Readings that disagree: of all residuals against the fit without the reading, the greatest is named when
 * chance would give one so great in fewer than 1 of 20 benches; then the next, without those named.
 * HL_OK: *result is to be destroyed.  HL_BAD_INPUT: no values or readings, or bounds or uncertainties that
 * make no sense.  HL_NO_SOLUTION: the model gives no answer at the start, or on both sides of the end.
 * source: MINPACK as J. J. More, Lecture Notes in Mathematics 630, 1978; residuals: R. D. Cook, S. Weisberg,
 * Residuals and Influence in Regression, Chapman and Hall 1982, 2.2 */
HL_EXPORT hl_status hl_fit(const hl_fit_problem *problem, hl_fit_result **result);
HL_EXPORT void hl_fit_destroy(hl_fit_result *result);
HL_EXPORT size_t hl_fit_values(const hl_fit_result *result);
HL_EXPORT const hl_fit_estimate *hl_fit_estimate_of(const hl_fit_result *result, size_t value);
HL_EXPORT double hl_fit_correlation(const hl_fit_result *result, size_t a, size_t b);
HL_EXPORT size_t hl_fit_readings(const hl_fit_result *result);
HL_EXPORT const hl_fit_residual *hl_fit_residual_of(const hl_fit_result *result, size_t reading);
/* Sum of squares, priors included, and its degrees of freedom: their ratio is near one when the stated
 * uncertainties are honest and the model can be right. */
HL_EXPORT double hl_fit_chi_square(const hl_fit_result *result, double *freedom);
HL_EXPORT size_t hl_fit_blinds(const hl_fit_result *result);
HL_EXPORT const hl_fit_blind *hl_fit_blind_of(const hl_fit_result *result, size_t index);
HL_EXPORT size_t hl_fit_calls(const hl_fit_result *result); /* of the model */

/* Singular values (falling) and right vectors v[n x n] (column k belongs to s[k]) of a[m x n], row by row; a
 * is overwritten.  One-sided Jacobi.  source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th
 * ed., 8.6.3 */
HL_EXPORT hl_status hl_singular_values(size_t m, size_t n, double a[], double s[], double v[]);

/* ------------------------------------------------------- bench of a design -- */

/* A bench file: free values, operating points and what was read there; docs/spread-and-fit.md has the format.
 */
typedef struct hl_bench hl_bench;
/* Read and check against the design; every problem with file:line:column.  NULL: see diagnostics. */
HL_EXPORT hl_bench *hl_bench_read_file(const hl_design *design, const char *path,
                                       hl_diagnostics *diagnostics);
HL_EXPORT hl_bench *hl_bench_read_text(const hl_design *design, const char *name, const char *text,
                                       size_t length, hl_diagnostics *diagnostics);
HL_EXPORT void hl_bench_destroy(hl_bench *bench);
HL_EXPORT size_t hl_bench_points(const hl_bench *bench);
HL_EXPORT const char *hl_bench_point_name(const hl_bench *bench, size_t point);
HL_EXPORT size_t hl_bench_values(const hl_bench *bench);
HL_EXPORT const hl_fit_value *hl_bench_value(const hl_bench *bench, size_t index);
HL_EXPORT const char *hl_bench_value_unit(const hl_bench *bench, size_t index);
HL_EXPORT size_t hl_bench_readings(const hl_bench *bench);
/* SI; unit "degC" stands for kelvin.  *point and *place may be NULL. */
HL_EXPORT const hl_fit_reading *hl_bench_reading(const hl_bench *bench, size_t index, const char **unit,
                                                 size_t *point, hl_place *place);
/* Replace what was read, to try the bench with other numbers (SI). */
HL_EXPORT void hl_bench_set_reading(hl_bench *bench, size_t index, double value);
/* What the design says the readings should be at these values.  false: no solution; hl_bench_reason tells. */
HL_EXPORT bool hl_bench_predict(hl_bench *bench, const double values[], double predicted[]);
HL_EXPORT const char *hl_bench_reason(const hl_bench *bench);
/* base (may be NULL): settings that hold at every point unless the bench says otherwise. */
HL_EXPORT hl_status hl_bench_fit(hl_bench *bench, const double base[], hl_fit_result **result,
                                 hl_diagnostics *diagnostics);
/* Write the parts whose values were fitted as a part file, those values with origin `bench` and their
 * standard error as band (log-normal where a normal one would reach below zero, which the value does not);
 * read it over the others: hl.parts { "parts.yaml", over = "fitted.yaml" }.  Values that the readings do not
 * tell stay as the part has them, and stand in a comment, as those of stages do.  HL_NO_FILE: nothing was
 * told, or nothing written.  Written beside `path`, synced and renamed. */
HL_EXPORT hl_status hl_bench_write_overlay(const hl_bench *bench, const hl_fit_result *result,
                                           const char *path, hl_diagnostics *diagnostics);

#ifdef __cplusplus
}
#endif
#endif
