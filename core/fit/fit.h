/* fit.h - what the files of a fit share. */
#ifndef HEATLEDGER_FIT_INTERNAL_H
#define HEATLEDGER_FIT_INTERNAL_H

#include "diagnostic/arena.h"
#include "heatledger/fit.h"

struct hl_fit_result {
    arena *memory;
    size_t n, m; /* values, readings */
    size_t rows; /* readings, then priors */
    size_t calls;
    double *x;          /* [n] */
    double *r;          /* [rows] normalised residuals, reading - model */
    double *jacobian;   /* [rows x n] d(model) / d(value) / u: -dr/dx */
    double *covariance; /* [n x n] */
    hl_fit_estimate *estimate;
    bool *at_edge;             /* [n] the model has no answer on one side */
    hl_fit_residual *residual; /* [m] */
    hl_fit_blind *blind;
    size_t n_blinds;
    double chi_square, freedom;
};

/* diagnosis.c: errors, correlations, what disagrees and what cannot be told, from x, r and jacobian. */
hl_status fit_diagnose(const hl_fit_problem *problem, hl_fit_result *result);

#endif
