/* sweep.h - many points of one design: a plan, its workers, its store.
 * Part of the host interface: include heatledger.h.
 *
 * A plan numbers its points 0 .. n-1 and says which settings each has, which figures are kept of it and which
 * rows stay.  A run solves a range of points on several threads and writes them to a store in order, so what
 * a store holds is always a leading part of its ranges, and the same bits for any number of workers. */
#ifndef HEATLEDGER_SWEEP_H
#define HEATLEDGER_SWEEP_H

#include <signal.h>

#include "heatledger/design.h"

#ifdef __cplusplus
extern "C" {
#endif

/* --------------------------------------------------------------- figures -- */

/* One number of a solved point, by name: input_w, output_w, loss_w, efficiency, power_factor, input_current,
 * feedback_gain; part_hottest_c (hottest part), case_hottest_c (hottest surface towards the air),
 * headroom_used (the largest share of any limit); ITEM.temperature_c, ITEM.loss_w, ITEM.headroom_used,
 * ITEM.MECHANISM_w; STAGE.input_w, STAGE.output_w, STAGE.loss_w, STAGE.headroom_used or a quantity,
 * STAGE.switching_frequency; PORT.voltage, PORT.power_w; NODE.temperature_c, NODE.heat_w, NODE.headroom_used;
 * and any setting.  SI; degrees Celsius with _c. */
typedef struct hl_probe {
    int kind;
    size_t a, b;    /* what the kind counts */
    char name[112]; /* as asked; a quantity's name stands behind the last dot */
} hl_probe;

/* false: the design has no such figure.  A quantity is not known before a point is solved: STAGE.anything is
 * found, and is not a number in points that do not give it. */
HL_EXPORT bool hl_probe_find(const hl_design *design, const char *name, hl_probe *figure);

/* For a name that hl_probe_find does not know: the names that may have been meant, as the end of a sentence.
 */
HL_EXPORT void hl_probe_advice(const hl_design *design, const char *name, char *text, size_t size);
/* The figure of the point solved last; NaN when it was not solved. */
HL_EXPORT double hl_probe_read(const hl_probe *figure, const hl_workspace *workspace,
                               const double settings[]);

/* ------------------------------------------------------------------ plan -- */

typedef struct hl_sweep hl_sweep;

/* A plan without axes: one point.  `settings` are those that no axis sets.  The design must outlive it. */
HL_EXPORT hl_sweep *hl_sweep_create(const hl_design *design, const double settings[]);
HL_EXPORT void hl_sweep_destroy(hl_sweep *sweep);

/* An axis of n_entries entries, each giving n_settings settings their values[entry * n_settings + k].  Labels
 * (may be NULL) name entries in the store; otherwise the first setting's value or word does.  Axes that
 * choose parts are walked outermost, the others in the order they were added, the last one fastest. */
HL_EXPORT hl_status hl_sweep_axis(hl_sweep *sweep, const char *name, size_t n_settings,
                                  const size_t settings[], size_t n_entries, const double values[],
                                  const char *const labels[], hl_diagnostics *diagnostics);
/* An axis of all values from low to high; only a sample can walk it. */
HL_EXPORT hl_status hl_sweep_range(hl_sweep *sweep, size_t setting, double low, double high,
                                   hl_diagnostics *diagnostics);
/* Not the full grid but `points` points: each axis is cut into that many even strata and each stratum drawn
 * once (M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21(2), 1979).  The same seed, the same
 * points. */
HL_EXPORT void hl_sweep_sample(hl_sweep *sweep, size_t points, uint64_t seed);

/* A column: a figure by name, or one that the derive function of the run fills. */
HL_EXPORT hl_status hl_sweep_figure(hl_sweep *sweep, const char *name, hl_diagnostics *diagnostics);
HL_EXPORT hl_status hl_sweep_derived(hl_sweep *sweep, const char *name, hl_diagnostics *diagnostics);
/* A row whose column is not within least .. most breaks the limit of that name; NaN breaks it too. */
HL_EXPORT hl_status hl_sweep_limit(hl_sweep *sweep, const char *column, double least, double most,
                                   hl_diagnostics *diagnostics);

typedef enum hl_keep {
    HL_KEEP_ALL,
    HL_KEEP_BEST,     /* the `most` best by one column, of solved rows that break no limit */
    HL_KEEP_PARETO,   /* rows of that kind that no other beats in every column named */
    HL_KEEP_FAILURES, /* the first `most` rows that were not solved or break a limit */
} hl_keep;
enum { HL_AIMS_MAX = 8 };
/* What is aimed at: a column, as low or as high as can be. */
typedef struct hl_aim {
    const char *column;
    bool highest;
} hl_aim;
HL_EXPORT hl_status hl_sweep_keep(hl_sweep *sweep, hl_keep keep, size_t most, size_t n_aims,
                                  const hl_aim aims[], hl_diagnostics *diagnostics);
/* Text that the results depend on too, such as the script of the plan: a store of another text is another
 * plan. */
HL_EXPORT hl_status hl_sweep_stamp(hl_sweep *sweep, const char *name, const char *text, size_t length);

/* Settle the order of axes and the hash; nothing may be added later.  HL_BAD_INPUT: what does not fit. */
HL_EXPORT hl_status hl_sweep_finish(hl_sweep *sweep, hl_diagnostics *diagnostics);
HL_EXPORT size_t hl_sweep_points(const hl_sweep *sweep);
HL_EXPORT const char *hl_sweep_hash(const hl_sweep *sweep); /* sixteen hexadecimal digits */
HL_EXPORT size_t hl_sweep_columns(const hl_sweep *sweep);
HL_EXPORT size_t hl_sweep_derived_columns(const hl_sweep *sweep); /* the last of them */
HL_EXPORT const char *hl_sweep_column(const hl_sweep *sweep, size_t index);
/* The column that the best rows are kept by, and whether high is good; NULL: rows are kept for another
 * reason. */
HL_EXPORT const char *hl_sweep_aim(const hl_sweep *sweep, bool *highest);
/* Put the settings of a point into settings[]; touches those of the axes only. */
HL_EXPORT void hl_sweep_settings(const hl_sweep *sweep, size_t point, double settings[]);

/* ----------------------------------------------------------------- store -- */

/* One SQLite file.  Tables plan, axis, entry, span and point; the view `result` shows a row a point with the
 * axes' values and the figures by name. */
typedef struct hl_store hl_store;

/* Shard `shard` of `shards` (1/1: all): a contiguous range of points. */
typedef struct hl_shard {
    size_t shard, shards;
} hl_shard;

/* Make the store, or open one of the same plan and shard to go on with it.  NULL: why is in diagnostics:
 * another plan (both hashes are named), another shard, in use by another process, no store at all, a full
 * disk. */
HL_EXPORT hl_store *hl_store_open(const char *path, const hl_sweep *sweep, hl_shard shard,
                                  hl_diagnostics *diagnostics);
/* Open what is there, for reading. */
HL_EXPORT hl_store *hl_store_read(const char *path, hl_diagnostics *diagnostics);
HL_EXPORT void hl_store_close(hl_store *store);

typedef struct hl_store_counts {
    size_t points, done; /* of the store's ranges */
    size_t solved, infeasible, ran_away, refused;
    size_t broken; /* solved, but a limit is broken */
    size_t rows;   /* kept */
} hl_store_counts;
HL_EXPORT hl_status hl_store_count(hl_store *store, hl_store_counts *counts, hl_diagnostics *diagnostics);

/* Each kept row in the order of points: names and values as text, NULL where there is none.  false: stop. */
typedef bool (*hl_row)(void *context, size_t columns, const char *const names[], const char *const values[],
                       const bool is_text[]);
HL_EXPORT hl_status hl_store_rows(hl_store *store, size_t most, hl_row row, void *context,
                                  hl_diagnostics *diagnostics);

/* Join stores of one plan into a new one at `path`.  Their ranges must cover all points once and be finished,
 * unless `incomplete`: then the same sweep command goes on with what is missing.  The new store is written
 * beside, synced and renamed. */
HL_EXPORT hl_status hl_store_merge(const char *path, size_t n, const char *const parts[], bool incomplete,
                                   hl_diagnostics *diagnostics);

/* ------------------------------------------------------------------- run -- */

typedef struct hl_sweep_progress {
    size_t points, done; /* of the store's ranges, what it already held included */
    double rate;         /* points a second, lately */
    double left;         /* s */
} hl_sweep_progress;

typedef struct hl_sweep_run_options {
    size_t workers; /* 0: one for each processor */
    /* Fill derived[] of the point `worker` has just solved; called for solved points, from several threads at
     * once.  false: the sweep stops; `why` (size bytes) is told. */
    bool (*derive)(void *context, size_t worker, hl_workspace *workspace, const double settings[],
                   double derived[], char *why, size_t size);
    void *derive_context;
    void (*report)(void *context,
                   const hl_sweep_progress *progress); /* from the calling thread; may be NULL */
    void *report_context;
    const volatile sig_atomic_t *stop; /* not zero: finish the points in hand; may be NULL */
} hl_sweep_run_options;

/* Solve what the store lacks.  HL_OK also when stopped: compare the counts.  HL_NO_FILE: the store cannot be
 * written (a full disk); what was written stands, and the same call goes on from there. */
HL_EXPORT hl_status hl_sweep_run(const hl_sweep *sweep, hl_store *store, const hl_sweep_run_options *options,
                                 hl_diagnostics *diagnostics);
/* How many workers that makes. */
HL_EXPORT size_t hl_sweep_workers(size_t wanted);

#ifdef __cplusplus
}
#endif
#endif
