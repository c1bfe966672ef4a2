/* stage_bench.h - a bench for one stage: ideal parts with chosen terminal values, one solve, and
 * the questions a test asks of the answer.  Fails the running test on any misuse. */
#ifndef STAGE_BENCH_H
#define STAGE_BENCH_H

#include "heatledger/plugin.h"

typedef struct stage_bench {
    const hl_model *model;
    hl_stage_input in;              /* set load, voltages and extra_loss here before solving */
    hl_stage_output out;            /* of the last solve */
    hl_value *values;               /* [n_parameters], defaults at first */
    hl_terminal part[HL_SLOTS_MAX]; /* what the part in each slot shows */
    hl_scratch scratch;
    void *library;
} stage_bench;

/* Load HL_TEST_PLUGINS/<plugin>.so and take its stage model of that name (NULL: its first stage). All
 * slots empty, all parameters at their defaults, temperature 25 degC. */
stage_bench *stage_bench_create(const char *plugin, const char *model);
void stage_bench_destroy(stage_bench *bench);

/* State a parameter in SI, or take it back. */
void stage_bench_set(stage_bench *bench, const char *parameter, double number);
void stage_bench_unset(stage_bench *bench, const char *parameter);
/* State a choice by its word. */
void stage_bench_choose(stage_bench *bench, const char *parameter, const char *word);

/* Put `count` ideal parts of a family into a slot (0 empties it); returns its terminal, zeroed: fill it
 * in.  An ideal part loses nothing and shows the same terminal at any temperature and voltage. */
hl_terminal *stage_bench_fill(stage_bench *bench, const char *slot, hl_family family, unsigned count);

/* Dc load of `current` at the wanted voltage (0: the stage's own parameter decides). */
void stage_bench_load(stage_bench *bench, double voltage, double current);

/* Rewind the scratch, zero the answer and solve.  Checks that the scratch was not outgrown. */
hl_stage_status stage_bench_solve(stage_bench *bench);
/* Solve and fail with the reason unless solved. */
void stage_bench_expect_solved(stage_bench *bench);
/* Forget the warm start. */
void stage_bench_forget(stage_bench *bench);

/* The named quantity; fails when the stage does not give it. */
double stage_bench_quantity(const stage_bench *bench, const char *name);
bool stage_bench_has(const stage_bench *bench, const char *name);
/* Stress of a slot by name. */
const hl_stress *stage_bench_stress(const stage_bench *bench, const char *slot);

/* input = output + circuit loss + extra loss, relative to the input; NaN when a figure is none. */
double stage_bench_imbalance(const stage_bench *bench);
/* Fail when that is above `relative`, or when any quantity, side or stress figure is not finite, or the
 * weights of a stress do not sum to one. */
void stage_bench_check_contract(const stage_bench *bench, double relative);
/* The same without failing: NULL when sound, else what is wrong (static text). */
const char *stage_bench_fault(const stage_bench *bench, double relative);

#endif
