/* fuzz_store.c - a file that claims to be a sweep's store: read, counted, listed, merged, and taken up again.
 * The fuzzer cuts and alters real stores (corpus/store). */
#define _GNU_SOURCE
#include <string.h>
#include <unistd.h>

#include "heatledger/sweep.h"
#include "target.h"
#include "uncertain_buck.h"

static uncertain_buck buck;
static hl_sweep *plan;
static double base[512];
static char folder[64], path[96], joined[96];

static void close_all(void)
{
    hl_sweep_destroy(plan);
    drafted_end(&buck);
    unlink(path);
    unlink(joined);
    rmdir(folder);
}

static void open_all(void)
{
    uncertain_buck_open(&buck);
    MUST(hl_design_settings(buck.design) <= sizeof base / sizeof *base);
    hl_design_defaults(buck.design, base);
    plan = hl_sweep_create(buck.design, base);
    MUST(plan);
    size_t load = drafted_setting(&buck, "load");
    const double loads[] = {0.25, 0.5, 0.75, 1.0};
    MUST(hl_sweep_axis(plan, "load", 1, &load, 4, loads, NULL, buck.said) == HL_OK);
    MUST(hl_sweep_figure(plan, "efficiency", buck.said) == HL_OK);
    MUST(hl_sweep_figure(plan, "loss_w", buck.said) == HL_OK);
    MUST(hl_sweep_finish(plan, buck.said) == HL_OK);
    const char *memory = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
    snprintf(folder, sizeof folder, "%s/store.XXXXXX", memory);
    MUST(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/s.sqlite", folder);
    snprintf(joined, sizeof joined, "%s/j.sqlite", folder);
    atexit(close_all);
}

static void put(const uint8_t *data, size_t size)
{
    FILE *file = fopen(path, "wb");
    MUST(file && fwrite(data, 1, size, file) == size && fclose(file) == 0);
}

static bool row(void *context, size_t columns, const char *const names[], const char *const values[],
                const bool is_text[])
{
    size_t *rows = context;
    for (size_t i = 0; i < columns; i++) {
        MUST(names[i] && strlen(names[i]) < 10000000);
        MUST(!values[i] || strlen(values[i]) < 10000000);
        MUST(is_text[i] == true || is_text[i] == false);
    }
    return ++*rows < 1000;
}

static void look(hl_store *store, hl_diagnostics *said)
{
    hl_store_counts counts;
    size_t rows = 0;
    if (hl_store_count(store, &counts, said) == HL_OK) MUST(counts.done <= counts.points);
    hl_store_rows(store, 1000, row, &rows, said);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (!plan) open_all();
    hl_diagnostics *said = hl_diagnostics_create();
    MUST(said);
    put(data, size);
    hl_store *store = hl_store_read(path, said);
    MUST(store || hl_diagnostics_errors(said) > 0);
    if (store) look(store, said);
    hl_store_close(store);
    const char *parts[] = {path};
    hl_store_merge(joined, 1, parts, size & 1, said);
    unlink(joined);
    put(data, size);
    store = hl_store_open(path, plan, (hl_shard){1, 1}, said);
    if (store) {
        hl_sweep_run_options options = {.workers = 1};
        look(store, said);
        hl_sweep_run(plan, store, &options, said);
        look(store, said);
    }
    hl_store_close(store);
    unlink(path);
    hl_diagnostics_destroy(said);
    return 0;
}
