/* device_bench.h - a bench for one device model: values by name, one stress, and what the model answers.
 * Fails the running test on any misuse. */
#ifndef DEVICE_BENCH_H
#define DEVICE_BENCH_H

#include "heatledger/plugin.h"

enum { DEVICE_BENCH_CURVE = 8, DEVICE_BENCH_PARAMETERS = 96 };

typedef struct device_bench {
    const hl_model *model;
    hl_value values[DEVICE_BENCH_PARAMETERS];
    double x[DEVICE_BENCH_PARAMETERS][DEVICE_BENCH_CURVE], y[DEVICE_BENCH_PARAMETERS][DEVICE_BENCH_CURVE];
    void *state;
    hl_reason reason;
    void *library;
} device_bench;

/* Load HL_TEST_PLUGINS/<name>.so; values at their defaults. */
device_bench *device_bench_create(const char *name);
void device_bench_destroy(device_bench *bench);
/* Forget all values but the defaults. */
void device_bench_reset(device_bench *bench);

/* State values in SI; a curve has at most DEVICE_BENCH_CURVE points. */
void device_bench_set(device_bench *bench, const char *parameter, double number);
void device_bench_choose(device_bench *bench, const char *parameter, const char *word);
void device_bench_curve(device_bench *bench, const char *parameter, size_t n, const double x[],
                        const double y[]);

/* prepare(); the second fails the test with the model's reason. */
bool device_bench_prepare(device_bench *bench);
void device_bench_expect_prepared(device_bench *bench);

hl_terminal device_bench_terminal(const device_bench *bench, double temperature, double voltage);
hl_loss device_bench_loss(const device_bench *bench, const hl_stress *stress, double temperature);
double device_bench_watts(const hl_loss *loss);
/* The limit of that name; fails when the model does not give it. */
hl_limit device_bench_limit(const device_bench *bench, const hl_stress *stress, double temperature,
                            const char *name);

/* A stress of one cycle from named figures: every member of `one` may be left 0. */
typedef struct one_cycle {
    double frequency, average, rms, peak, on, off, voltage_on, voltage_off, reverse, reverse_rms, slope,
        swing, duty;
} one_cycle;
typedef struct one_cycle_store {
    double weight;
    one_cycle figures;
} one_cycle_store;
hl_stress one_cycle_stress(one_cycle_store *store, one_cycle figures);

#endif
