/* plan.h - what a plan holds; the public calls are in heatledger/sweep.h. */
#ifndef HEATLEDGER_SWEEP_PLAN_H
#define HEATLEDGER_SWEEP_PLAN_H

#include "diagnostic/arena.h"
#include "heatledger/sweep.h"

enum { AXES_MAX = 32, COLUMNS_MAX = 256, AXIS_SETTINGS_MAX = 64, NAME_MAX_LENGTH = 112 };

typedef struct axis {
    const char *name;
    size_t n_settings, n_entries; /* entries 0: all values from low to high */
    size_t *setting;
    double *value;      /* [entry * n_settings + k] */
    const char **label; /* [entry]; NULL: none */
    double low, high;
    bool swaps; /* chooses parts */
} axis;

typedef struct column {
    const char *name;
    bool derived;
    hl_probe figure;
    bool limited;
    double least, most;
} column;

typedef struct aim {
    size_t column;
    bool highest;
} aim;

struct hl_sweep {
    const hl_design *design;
    arena *memory;
    double *base; /* settings that no axis sets */
    size_t n_settings;
    axis axes[AXES_MAX];
    size_t n_axes;
    column columns[COLUMNS_MAX];
    size_t n_columns, n_derived;
    hl_keep keep;
    size_t keep_most;
    aim aims[HL_AIMS_MAX];
    size_t n_aims;
    bool sampled, finished;
    size_t points;
    uint64_t seed;
    uint32_t *stratum[AXES_MAX]; /* of a sample: [point] */
    uint64_t stamp;              /* of the texts that results depend on */
    char hash[17];
};

/* What axis `index` gives at `point`: the entry, or the value of a range. */
size_t plan_entry(const hl_sweep *sweep, size_t point, size_t index);
double plan_range_value(const hl_sweep *sweep, size_t point, size_t index);

/* Which limits the figures break: names joined by ", " in text; false: none. */
bool plan_broken(const hl_sweep *sweep, const double figures[], char *text, size_t size);

/* The plan in lines of text, in an arena of its own. */
const char *plan_text(const hl_sweep *sweep, arena *memory);
/* Sixteen digits over that text, the stamps and everything the design holds. */
void plan_hash(const hl_sweep *sweep, const char *text, char hash[17]);

/* FNV-1a over bytes, for fingerprints.  source: G. Fowler, L. C. Noll, K.-P. Vo, the 64-bit form; constants
 * from memory. */
uint64_t fingerprint(uint64_t so_far, const void *bytes, size_t length);
extern const uint64_t fingerprint_begin;

#endif
