/* bench.h - a bench file in memory. */
#ifndef HEATLEDGER_BENCH_H
#define HEATLEDGER_BENCH_H

#include "diagnostic/arena.h"
#include "heatledger/fit.h"
#include "heatledger/spread.h"

typedef struct bench_value {
    hl_fit_value fit;
    const char *unit;
    size_t *settings; /* [n] that take this value */
    size_t n;
    bool open; /* an end of its bounds is neither stated nor from a band: all that the model takes */
    hl_place place;
} bench_value;

typedef struct bench_point {
    const char *name;
    size_t n_set;
    size_t *set; /* settings stated at this point */
    double *to;
} bench_point;

typedef struct bench_reading {
    hl_fit_reading fit;
    const char *unit;
    size_t point, figure;
    hl_place place;
} bench_reading;

struct hl_bench {
    arena *memory;
    const hl_design *design;
    hl_workspace *workspace;
    hl_figures *figures;
    double *base, *settings, *read; /* [settings], [settings], [figures] */
    bench_value *values;
    bench_point *points;
    bench_reading *readings;
    size_t n_values, n_points, n_readings;
    char reason[512], trial[400]; /* why the last point asked for has no answer, and with which values */
};

#endif
