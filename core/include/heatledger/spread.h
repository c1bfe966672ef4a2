/* spread.h - how sure a figure is: chance, distributions, samples, quantiles, sensitivity indices, the
 * combination of measurement uncertainty, and all of it run over a design.
 * Part of the host interface: include it beside heatledger.h.
 * Everything but the last section knows nothing of adapters and works on any function.  Nothing here
 * keeps state: the same seed gives the same bits, for any number of workers. */
#ifndef HEATLEDGER_SPREAD_H
#define HEATLEDGER_SPREAD_H

#include <stdbool.h>
#include <stdint.h>

#include "heatledger/design.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---------------------------------------------------------------- chance -- */

/* Ten rounds of a counter-based generator: the number depends on its place alone, not on what was drawn
 * before.  source: J. K. Salmon and others, Parallel random numbers: as easy as 1, 2, 3, SC11, 2011 (Philox
 * 4x32) */
HL_EXPORT void hl_chance_block(const uint32_t counter[4], const uint32_t key[2], uint32_t out[4]);
/* Number `index` of `stream` under `seed`: 64 bits, and evenly in the open interval (0, 1). */
HL_EXPORT uint64_t hl_chance_bits(uint64_t seed, uint64_t stream, uint64_t index);
HL_EXPORT double hl_chance(uint64_t seed, uint64_t stream, uint64_t index);

/* --------------------------------------------------------- distributions -- */

typedef enum hl_shape {
    HL_SHAPE_FIXED,           /* p[0], always */
    HL_SHAPE_UNIFORM,         /* p[0] .. p[1] */
    HL_SHAPE_TRIANGULAR,      /* low p[0], peak p[1], high p[2] */
    HL_SHAPE_NORMAL,          /* mean p[0], standard deviation p[1] */
    HL_SHAPE_LOG_NORMAL,      /* median p[0] > 0, standard deviation p[1] of the logarithm */
    HL_SHAPE_STUDENT,         /* location p[0], scale p[1], degrees of freedom p[2] >= 1 */
    HL_SHAPE_ARC_SINE,        /* p[0] .. p[1]: a sine at a moment unknown */
    HL_SHAPE_INEXACT_UNIFORM, /* p[0] .. p[1], each end known to +-p[2] only (JCGM 101, 6.4.3) */
} hl_shape;

typedef struct hl_distribution {
    hl_shape shape;
    double p[3];
} hl_distribution;

/* Value that lies above a share `probability` (0..1, held away from the ends) of the distribution.
 * NaN for parameters that make no distribution. */
HL_EXPORT double hl_distribution_quantile(const hl_distribution *distribution, double probability);
HL_EXPORT double hl_distribution_mean(const hl_distribution *distribution);
/* Standard deviation; HUGE_VAL for Student's t with two degrees of freedom or fewer. */
HL_EXPORT double hl_distribution_deviation(const hl_distribution *distribution);

HL_EXPORT double hl_normal_quantile(double probability);
/* Student's t: share below x, and its inverse; any degrees of freedom > 0, HUGE_VAL = normal. */
HL_EXPORT double hl_student_probability(double x, double freedom);
HL_EXPORT double hl_student_quantile(double probability, double freedom);

/* --------------------------------------------------------------- samples -- */

/* samples x unknowns numbers in (0, 1), row by row.  Latin hypercube: of `samples` equal layers of each
 * unknown exactly one point lies in each.
 * source: M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21(2), 1979 */
HL_EXPORT hl_status hl_latin_hypercube(uint64_t seed, size_t samples, size_t unknowns, double p[]);
/* The same count of independent numbers. */
HL_EXPORT void hl_plain_sample(uint64_t seed, size_t samples, size_t unknowns, double p[]);
/* Reorder the columns of p so that their normal scores have the correlations r[unknowns x unknowns];
 * the numbers of each column stay.  HL_BAD_INPUT: r is not a correlation matrix, or too few samples.
 * source: R. L. Iman, W. J. Conover, Communications in Statistics B11(3), 1982 */
HL_EXPORT hl_status hl_sample_correlate(size_t samples, size_t unknowns, const double r[], double p[]);

/* ------------------------------------------------------------- summaries -- */

/* Rising order; NaN to the end.  Returns how many are not NaN. */
HL_EXPORT size_t hl_sort(size_t n, double values[]);
HL_EXPORT double hl_mean(size_t n, const double values[]);
HL_EXPORT double hl_deviation(size_t n, const double values[]); /* n - 1 in the divisor; 0 for n < 2 */
/* Quantile of n >= 1 sorted values: value r stands at (r - 1/2) / n, straight lines between, the ends held.
 * source: JCGM 101:2008, 7.5 and annex D */
HL_EXPORT double hl_quantile(size_t n, const double sorted[], double probability);
/* Interval that holds a share `coverage`: with equal shares left out on both sides, or the shortest.
 * source: JCGM 101:2008, 7.7 */
HL_EXPORT void hl_interval_symmetric(size_t n, const double sorted[], double coverage, double *low,
                                     double *high);
HL_EXPORT void hl_interval_shortest(size_t n, const double sorted[], double coverage, double *low,
                                    double *high);
/* How often a value picked by chance from a is above one from b, ties counted half: U over the product of the
 * counts, 0..1; 0.5: neither lies higher.  a, b: rising, n_a, n_b >= 1; NaN when one is empty.
 * *deviation (may be NULL): its standard deviation when both are drawn from the same, sqrt((n_a + n_b + 1) /
 * (12 n_a n_b)).
 * source: H. B. Mann, D. R. Whitney, Annals of Mathematical Statistics 18(1), 1947, pp. 50-60 */
HL_EXPORT double hl_rank_area(size_t n_a, const double a[], size_t n_b, const double b[], double *deviation);
/* Share of n sorted values above the limit, 0..1. */
HL_EXPORT double hl_share_above(size_t n, const double sorted[], double limit);

/* ---------------------------------------------------- sensitivity indices -- */

/* A function of `unknowns` numbers in (0, 1), each evenly distributed, with `outputs` answers; called by
 * several workers at once.  false: no answer there; the point is left out. */
typedef bool (*hl_unit_model)(void *context, size_t worker, const double p[], double y[]);

typedef struct hl_indices_job {
    size_t base; /* points of each base sample; base x (groups + 2) calls in all */
    size_t unknowns, outputs;
    size_t groups;       /* 0: each unknown is a group of its own */
    const size_t *group; /* [unknowns] 0 .. groups-1; NULL with groups 0 */
    uint64_t seed;
    size_t workers; /* 0: one for each processor */
    hl_unit_model model;
    void *context;
} hl_indices_job;

/* Sobol' indices of each group for each output, [outputs x groups]: the share of the variance that goes
 * when the group alone is known (first), and that stays when all but the group is known (total).
 * May lie a little outside 0..1 by the noise of sampling.  `noise` (may be NULL): standard error of total.
 * sources: A. Saltelli and others, Computer Physics Communications 181(2), 2010, table 2;
 *          M. J. W. Jansen, Computer Physics Communications 117, 1999 */
HL_EXPORT hl_status hl_indices(const hl_indices_job *job, double first[], double total[], double noise[]);

/* First-order index from a sample that is there anyway: the variance of the means within layers of p.
 *   p  evenly distributed in (0, 1), every `stride`-th number; y  n answers, NaN: left out
 * Corrected for the noise within layers; 0 for fewer than 20 answers.
 * source: E. Plischke, E. Borgonovo, C. L. Smith, European Journal of Operational Research 226(3), 2013 */
HL_EXPORT double hl_first_order(size_t n, const double p[], size_t stride, const double y[]);

/* ------------------------------------------------- combining measurements -- */

/* y = f(x).  false: no answer at x. */
typedef bool (*hl_measurement)(void *context, const double x[], double y[]);

typedef struct hl_combination {
    size_t inputs, outputs;
    const double *x, *u;   /* [inputs] estimates and standard uncertainties */
    const double *freedom; /* [inputs] degrees of freedom, HUGE_VAL: exact; NULL: all exact */
    const double *r;       /* [inputs x inputs] correlations; NULL: none */
    bool second_order; /* add the terms of second order (JCGM 100, 5.1.2 note); without correlation only */
    hl_measurement f;
    void *context;
} hl_combination;

typedef struct hl_combined {
    double *y, *u, *freedom; /* [outputs]; freedom after Welch and Satterthwaite, without correlation only */
    double *r;               /* [outputs x outputs] */
    double *sensitivity;     /* [outputs x inputs] dy/dx */
} hl_combined;

/* Law of propagation of uncertainty.  Fields of `combined` that are NULL are not filled, but y and u are
 * wanted. HL_NO_SOLUTION: f gave no answer at x or beside it. source: JCGM 100:2008, eq. 10, 13, 16, H.9,
 * G.2b; several outputs: JCGM 102:2011, 6.2 */
HL_EXPORT hl_status hl_combine(const hl_combination *combination, hl_combined *combined);

/* --------------------------------------------------- figures of a design -- */

typedef enum hl_figure_kind {
    HL_FIGURE_EFFICIENCY,  /* 1 */
    HL_FIGURE_POWER,       /* W: input, output, loss of the whole; a port's */
    HL_FIGURE_LOSS,        /* W: an item, or a stage's own */
    HL_FIGURE_TEMPERATURE, /* K: an item, a node, the hottest face */
    HL_FIGURE_USED,        /* 1: share of a limit that an item or a node uses; above 1 it is broken */
    HL_FIGURE_QUANTITY,    /* of a stage, in its own unit */
} hl_figure_kind;

typedef struct hl_figure {
    hl_figure_kind kind;
    const char
        *name; /* "efficiency", "loss pfc.switch", "temperature face z1", "used pfc.switch drain voltage" */
    const char *unit; /* SI unit text; temperatures "degC" with the value in kelvin */
    size_t index, sub;
    bool hot; /* a temperature, or the share used of a limit of one */
} hl_figure;

/* All figures of a design, as they stand at the point that `workspace` solved last. */
typedef struct hl_figures hl_figures;
HL_EXPORT hl_figures *hl_figures_create(const hl_design *design, const hl_workspace *workspace);
HL_EXPORT void hl_figures_destroy(hl_figures *figures);
HL_EXPORT size_t hl_figures_count(const hl_figures *figures);
HL_EXPORT const hl_figure *hl_figures_get(const hl_figures *figures, size_t index);
/* Its name as people read it: what "case hottest" is depends on the network (hl_design_case_hottest). */
HL_EXPORT const char *hl_figures_title(const hl_figures *figures, size_t index);
/* Read all of them from a point that is solved; NaN where it has none. */
HL_EXPORT void hl_figures_read(const hl_figures *figures, const hl_workspace *workspace, double values[]);
/* Index by name ("efficiency", "loss", "case hottest", "pfc.switch" = its temperature), or SIZE_MAX;
 * `nearest` (may be NULL) gets a near name or NULL. */
HL_EXPORT size_t hl_figures_find(const hl_figures *figures, const char *name, const char **nearest);

/* ----------------------------------------------------- spread of a design -- */

/* One thing that is not known: a setting with a band, or a group of them that move together. */
typedef struct hl_unknown {
    const char *name;       /* of the group or the setting */
    const size_t *settings; /* [n] indices */
    size_t n;
} hl_unknown;

/* Put every setting with a band that stands at its central value to one end: word is "low", "typical" or
 * "high".  Where a band has no ends, the one that leaves 5 % beyond it; what moves against its group goes the
 * other way.  A corner of everything at once is further out than any likely adapter: `spread` tells how
 * likely. HL_BAD_INPUT: another word. */
HL_EXPORT hl_status hl_design_end(const hl_design *design, const char *word, double settings[],
                                  const hl_place *place, hl_diagnostics *diagnostics);

typedef struct hl_spread_options {
    size_t samples; /* 0: 1000 */
    uint64_t seed;
    size_t workers;       /* 0: one for each processor */
    const double *base;   /* [settings] the point; NULL: the design's own */
    const hl_band *bands; /* [settings] to take instead of the design's; NULL: the design's */
    const size_t *about;  /* [n_about] figures whose drivers are asked */
    size_t n_about;
    size_t total_base;     /* base points for total indices; 0: none */
    size_t total_unknowns; /* of how many leading unknowns; the rest counts as one; 0: 8 */
    bool (*progress)(void *context, size_t done, size_t of); /* false: stop; may be NULL */
    void *context;
    const bool *known; /* [settings] true: known as base has it, so it has no band; NULL: none beside those
                          whose base differs from the design's own */
} hl_spread_options;

typedef struct hl_driver {
    size_t unknown;      /* index; SIZE_MAX: all the others together */
    double first, total; /* shares of the variance; total NaN when not asked */
    double noise;        /* standard error of total */
    double left;         /* standard deviation of the figure that is left once it is known */
} hl_driver;

/* An unknown in which points without a solution lie elsewhere than the others, by more than chance gives any
 * of the unknowns in one spread of twenty. */
typedef struct hl_separator {
    size_t unknown;
    double area; /* how often a point without a solution stands at the higher quantile of it: hl_rank_area */
    size_t middle,
        middle_unsolved; /* points with it in the middle fifth of its band; those without a solution */
} hl_separator;

typedef struct hl_spread hl_spread;
/* HL_OK also when points have no solution: they are counted with their reasons.
 * HL_BAD_INPUT, HL_NO_SOLUTION (the central point has none), HL_NO_MEMORY: *spread is NULL, why in
 * diagnostics. */
HL_EXPORT hl_status hl_spread_design(const hl_design *design, const hl_spread_options *options,
                                     hl_spread **spread, hl_diagnostics *diagnostics);
HL_EXPORT void hl_spread_destroy(hl_spread *spread);
HL_EXPORT const hl_figures *hl_spread_figures(const hl_spread *spread);
HL_EXPORT size_t hl_spread_samples(const hl_spread *spread); /* asked */
HL_EXPORT size_t hl_spread_solved(const hl_spread *spread);
HL_EXPORT double hl_spread_seconds(const hl_spread *spread,
                                   double *solving); /* wall clock; of it in solving */
/* Reasons of points without a solution, most frequent first. */
HL_EXPORT size_t hl_spread_reasons(const hl_spread *spread);
HL_EXPORT const char *hl_spread_reason(const hl_spread *spread, size_t index, size_t *count,
                                       hl_outcome *outcome);
HL_EXPORT size_t hl_spread_unknowns(const hl_spread *spread);
HL_EXPORT const hl_unknown *hl_spread_unknown(const hl_spread *spread, size_t index);
/* What separates points without a solution from the others, the greatest |area - 1/2| first.  It looks at one
 * unknown at a time, and for what lies higher or lower: neither pairs nor both ends at once. */
HL_EXPORT size_t hl_spread_separators(const hl_spread *spread);
HL_EXPORT const hl_separator *hl_spread_separator(const hl_spread *spread, size_t index);
/* Quantile of figure i: of a temperature, and of the share used of its limit, over all samples, those without
 * a solution counted as hotter than any, so HUGE_VAL where it lies among them; of anything else over the
 * samples that solve.  *of (may be NULL): over how many. */
HL_EXPORT double hl_spread_quantile(const hl_spread *spread, size_t figure, double probability, size_t *of);
/* Of figure i: value at the central point; the solved samples in rising order (*n of them). */
HL_EXPORT double hl_spread_central(const hl_spread *spread, size_t figure);
HL_EXPORT const double *hl_spread_sorted(const hl_spread *spread, size_t figure, size_t *n);
/* Drivers of about[index], greatest share first. */
HL_EXPORT size_t hl_spread_drivers(const hl_spread *spread, size_t about);
HL_EXPORT const hl_driver *hl_spread_driver(const hl_spread *spread, size_t about, size_t index);

#ifdef __cplusplus
}
#endif
#endif
