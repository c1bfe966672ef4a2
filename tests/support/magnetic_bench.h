/* magnetic_bench.h - a bench for one magnetic model: values by name, waves by their corners, and the
 * questions a test asks of loss and limits. Fails the running test on any misuse. */
#ifndef MAGNETIC_BENCH_H
#define MAGNETIC_BENCH_H

#include "heatledger/plugin.h"

enum { MAGNETIC_LIST = 32, MAGNETIC_CYCLES = 512, MAGNETIC_SEGMENTS = 32768 };

typedef struct magnetic_bench {
    const hl_model *model;
    hl_value *values; /* [n_parameters] */
    void *state;
    void *library;
    hl_stress stress;
    double weight[MAGNETIC_CYCLES], frequency[MAGNETIC_CYCLES];
    hl_wave flux[MAGNETIC_CYCLES], current[HL_WINDINGS_MAX][MAGNETIC_CYCLES];
    hl_segment *segments;
    size_t used;
    double *lists; /* [n_parameters][2][MAGNETIC_LIST] */
} magnetic_bench;

/* Load HL_TEST_PLUGINS/<name>.so; all optional values not given, defaults taken. */
magnetic_bench *magnetic_bench_create(const char *name);
void magnetic_bench_destroy(magnetic_bench *bench);

/* State a number (of a list: one entry; of a curve: a flat one), a list, a curve, a word, or words
 * ("round litz"); or take it back. */
void magnetic_bench_set(magnetic_bench *bench, const char *parameter, double number);
void magnetic_bench_list(magnetic_bench *bench, const char *parameter, size_t n, const double entry[]);
size_t magnetic_bench_curve(magnetic_bench *bench, const char *parameter, size_t n, const double x[],
                            const double y[]); /* index of its value: straight lines until that is changed */
void magnetic_bench_choose(magnetic_bench *bench, const char *parameter, const char *words);
void magnetic_bench_unset(magnetic_bench *bench, const char *parameter);

/* Prepare; fails the test with the reason when refused. Or: the reason (static text of the bench), NULL when
 * accepted. */
void magnetic_bench_prepare(magnetic_bench *bench);
const char *magnetic_bench_refusal(magnetic_bench *bench);

/* Begin a stress of n cycles of equal weight at one frequency, all waves zero. */
void magnetic_bench_stress(magnetic_bench *bench, size_t cycles, size_t windings, double frequency);
/* Room for n segments that last until the next stress begins. */
hl_segment *magnetic_bench_segments(magnetic_bench *bench, size_t n);
/* A wave of straight lines through n corners (t / period, value), the last at t = 1. */
hl_wave magnetic_bench_corners(magnetic_bench *bench, double frequency, size_t n, const double corner[][2]);
/* A wave of steps: value[i] for the share share[i] of the period. */
hl_wave magnetic_bench_steps(magnetic_bench *bench, double frequency, size_t n, const double share[],
                             const double value[]);
hl_wave magnetic_bench_sine(magnetic_bench *bench, double frequency, double rms);

hl_loss magnetic_bench_loss(const magnetic_bench *bench, double temperature);
double magnetic_bench_watts(const magnetic_bench *bench, double temperature); /* sum over mechanisms */
hl_terminal magnetic_bench_terminal(const magnetic_bench *bench, double temperature);
/* The limit of that name; fails when there is none. */
hl_limit magnetic_bench_limit(const magnetic_bench *bench, const char *name, double temperature);

/* dP/dT against a central difference over `temperatures`, relative to the larger of slope and P / 1000 K. */
void magnetic_bench_check_slope(const magnetic_bench *bench, double relative);
/* No stress at all gives no loss. */
void magnetic_bench_check_rest(magnetic_bench *bench);

#endif
