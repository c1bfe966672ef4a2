/* order.c - which settings a point has: the grid walked so that neighbours differ little, or a sample. */
#include "quantity/float_state.h"
#include "sweep/plan.h"

#include <string.h>

static const size_t points_most = (size_t)1 << 40;

/* One step of a generator of good bits from a counter.
 * source: S. Vigna's splitmix64 (public domain), constants from memory. */
static uint64_t mixed(uint64_t z)
{
    z += 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

/* Number in [0, 1) that belongs to this seed, axis and point. */
static double chance(const hl_sweep *sweep, size_t index, size_t point)
{
    uint64_t z =
        mixed(mixed(sweep->seed) ^ mixed((uint64_t)index * 0x100000001ULL + 1) ^ mixed(~(uint64_t)point));
    return (double)(z >> 11) * 0x1p-53;
}

/* A random order of the strata 0 .. points-1.
 * source: R. Durstenfeld, Communications of the ACM 7(7), 1964, algorithm 235. */
static bool shuffle(hl_sweep *sweep, size_t index)
{
    uint32_t *stratum = arena_array(sweep->memory, sweep->points, sizeof *stratum);
    if (!stratum) return false;
    for (size_t i = 0; i < sweep->points; i++) stratum[i] = (uint32_t)i;
    uint64_t state = mixed(sweep->seed ^ mixed((uint64_t)index + 77));
    for (size_t i = sweep->points; i > 1; i--) {
        state += 0x9E3779B97F4A7C15u;
        size_t other = (size_t)(mixed(state) % i);
        uint32_t kept = stratum[i - 1];
        stratum[i - 1] = stratum[other];
        stratum[other] = kept;
    }
    sweep->stratum[index] = stratum;
    return true;
}

/* Axes that choose parts come first; else the order they were added in stays. */
static void put_swaps_outermost(hl_sweep *sweep)
{
    axis sorted[AXES_MAX];
    size_t n = 0;
    if (sweep->n_axes == 0) return;
    for (int swaps = 1; swaps >= 0; swaps--)
        for (size_t i = 0; i < sweep->n_axes; i++)
            if (sweep->axes[i].swaps == (swaps == 1)) sorted[n++] = sweep->axes[i];
    memcpy(sweep->axes, sorted, n * sizeof *sorted);
}

static hl_status count_grid(hl_sweep *sweep, hl_diagnostics *diagnostics)
{
    sweep->points = 1;
    for (size_t i = 0; i < sweep->n_axes; i++) {
        const axis *a = &sweep->axes[i];
        if (!a->n_entries) {
            hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                               "axis '%s' has a range without steps; give steps, or take a sample", a->name);
            return HL_BAD_INPUT;
        }
        if (a->n_entries > points_most / sweep->points) {
            hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                               "the grid has more than 1e12 points; take fewer steps, or a sample");
            return HL_BAD_INPUT;
        }
        sweep->points *= a->n_entries;
    }
    return HL_OK;
}

static hl_status draw_sample(hl_sweep *sweep, hl_diagnostics *diagnostics)
{
    if (sweep->points < 1 || sweep->points > 100000000) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "a sample of %zu points; take 1 to 100 million",
                           sweep->points);
        return HL_BAD_INPUT;
    }
    for (size_t i = 0; i < sweep->n_axes; i++)
        if (!shuffle(sweep, i)) {
            hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; take a smaller sample");
            return HL_NO_MEMORY;
        }
    return HL_OK;
}

hl_status hl_sweep_finish(hl_sweep *sweep, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    put_swaps_outermost(sweep);
    hl_status status = sweep->sampled ? draw_sample(sweep, diagnostics) : count_grid(sweep, diagnostics);
    if (status != HL_OK) return status;
    arena *memory = arena_create();
    const char *text = memory ? plan_text(sweep, memory) : NULL;
    if (text) plan_hash(sweep, text, sweep->hash);
    arena_destroy(memory);
    if (!text) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; make the plan smaller");
        return HL_NO_MEMORY;
    }
    sweep->finished = true;
    return HL_OK;
}

size_t plan_entry(const hl_sweep *sweep, size_t point, size_t index)
{
    if (sweep->sampled) {
        double u =
            ((double)sweep->stratum[index][point] + chance(sweep, index, point)) / (double)sweep->points;
        size_t entry = (size_t)(u * (double)sweep->axes[index].n_entries);
        return entry < sweep->axes[index].n_entries ? entry : sweep->axes[index].n_entries - 1;
    }
    for (size_t i = sweep->n_axes; i-- > index + 1;) point /= sweep->axes[i].n_entries;
    return point % sweep->axes[index].n_entries;
}

double plan_range_value(const hl_sweep *sweep, size_t point, size_t index)
{
    const axis *a = &sweep->axes[index];
    double u = ((double)sweep->stratum[index][point] + chance(sweep, index, point)) / (double)sweep->points;
    return a->low + u * (a->high - a->low);
}

void hl_sweep_settings(const hl_sweep *sweep, size_t point, double settings[])
{
    size_t rest = point;
    for (size_t i = sweep->n_axes; i-- > 0;) { /* the last axis is the fastest digit */
        const axis *a = &sweep->axes[i];
        if (!a->n_entries) {
            settings[a->setting[0]] = plan_range_value(sweep, point, i);
            continue;
        }
        size_t entry = sweep->sampled ? plan_entry(sweep, point, i) : rest % a->n_entries;
        rest /= a->n_entries;
        for (size_t k = 0; k < a->n_settings; k++)
            settings[a->setting[k]] = a->value[entry * a->n_settings + k];
    }
}
