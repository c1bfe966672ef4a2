/* sweep_bench.c - a sweep with its store on one worker, two, and so on up to the processors there are.
 *   sweep_bench [--json] [--points N] SCRIPT.lua
 *
 * Mains x load x ambient of an adapter, eight figures a row, all rows kept in an SQLite file under TMPDIR.
 * Scaling is told twice: by the clock, which a busy machine spoils, and by processor time a point, which
 * tells what workers cost one another; with idle processors the two agree. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "cli/session.h"

enum { RUNS_MAX = 8, LOADS = 10, ROOMS = 6 };

typedef struct run {
    size_t workers, points, solved;
    double wall, processor; /* s */
    double stored;          /* bytes in the file */
    double resident;        /* bytes at most, of the whole process so far */
} run;

static double clock_of(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static bool add_axis(hl_sweep *sweep, const bound_design *bound, const char *name, size_t n, double low,
                     double high, hl_diagnostics *said)
{
    size_t setting = hl_design_find_setting(bound->design, name, NULL);
    double *values = malloc(n * sizeof *values);
    if (!values) return false;
    for (size_t i = 0; i < n; i++) values[i] = low + (high - low) * (double)i / (double)(n > 1 ? n - 1 : 1);
    hl_status status = hl_sweep_axis(sweep, name, 1, &setting, n, values, NULL, said);
    free(values);
    return status == HL_OK;
}

static hl_sweep *plan(const bound_design *bound, size_t points, hl_diagnostics *said)
{
    static const char *const figures[] = {"efficiency",    "loss_w",         "input_w",
                                          "power_factor",  "part_hottest_c", "case_hottest_c",
                                          "headroom_used", "feedback_gain"};
    hl_sweep *sweep = hl_sweep_create(bound->design, bound->settings);
    if (!sweep) return NULL;
    size_t mains = points / (LOADS * ROOMS) > 1 ? points / (LOADS * ROOMS) : 1;
    bool good = add_axis(sweep, bound, "mains.voltage", mains, 90, 264, said) &&
                add_axis(sweep, bound, "ambient.temperature", ROOMS, 273.15, 313.15, said) &&
                add_axis(sweep, bound, "load", LOADS, 0.1, 1, said);
    for (size_t i = 0; good && i < sizeof figures / sizeof figures[0]; i++)
        good = hl_sweep_figure(sweep, figures[i], said) == HL_OK;
    if (good && hl_sweep_finish(sweep, said) == HL_OK) return sweep;
    hl_sweep_destroy(sweep);
    return NULL;
}

static bool measure(const hl_sweep *sweep, size_t workers, run *r, hl_diagnostics *said)
{
    char path[300];
    const char *folder = getenv("TMPDIR");
    snprintf(path, sizeof path, "%.200s/sweep_bench_%ld.db", folder ? folder : "/tmp", (long)getpid());
    hl_store *store = hl_store_open(path, sweep, (hl_shard){1, 1}, said);
    if (!store) return false;
    hl_store_counts counts = {0};
    hl_sweep_run_options options = {.workers = workers};
    double wall = clock_of(CLOCK_MONOTONIC), processor = clock_of(CLOCK_PROCESS_CPUTIME_ID);
    bool good = hl_sweep_run(sweep, store, &options, said) == HL_OK;
    *r = (run){.workers = workers,
               .wall = clock_of(CLOCK_MONOTONIC) - wall,
               .processor = clock_of(CLOCK_PROCESS_CPUTIME_ID) - processor};
    good = good && hl_store_count(store, &counts, said) == HL_OK;
    hl_store_close(store);
    struct stat file;
    struct rusage usage;
    if (stat(path, &file) == 0) r->stored = (double)file.st_size;
    if (getrusage(RUSAGE_SELF, &usage) == 0) r->resident = 1024.0 * (double)usage.ru_maxrss;
    r->points = counts.done;
    r->solved = counts.solved;
    unlink(path);
    return good && counts.done > 0;
}

/* ----------------------------------------------------------------- report -- */

static void print_table(const char *name, const run r[], size_t n)
{
    printf("| sweep of %s | points | /s by the clock | scaling | processor µs a point | scaling | "
           "MB stored by 1e6 points | MB resident at most |\n"
           "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n",
           name);
    for (size_t i = 0; i < n; i++) {
        double points = (double)r[i].points, alone = r[0].processor / (double)r[0].points,
               each = r[i].processor / points;
        printf("| %zu worker%s | %zu | %.0f | %.2f | %.0f | %.2f | %.0f | %.0f |\n", r[i].workers,
               r[i].workers > 1 ? "s" : "", r[i].points, points / r[i].wall, r[0].wall / r[i].wall,
               1e6 * each, (double)r[i].workers * alone / each, r[i].stored / points, 1e-6 * r[i].resident);
    }
}

static void print_json(const char *name, const run r[], size_t n)
{
    printf("{\"schema\":\"heatledger.bench_sweep/1\",\"design\":\"%s\",\"runs\":[", name);
    for (size_t i = 0; i < n; i++)
        printf("%s{\"workers\":%zu,\"points\":%zu,\"solved\":%zu,\"wall_s\":%.4f,\"processor_s\":%.4f,"
               "\"stored_bytes\":%.0f,\"resident_bytes\":%.0f}",
               i ? "," : "", r[i].workers, r[i].points, r[i].solved, r[i].wall, r[i].processor, r[i].stored,
               r[i].resident);
    printf("]}\n");
}

static bool run_all(const char *script, size_t points, bool json)
{
    session_options options = {.script = script};
    session opened;
    run r[RUNS_MAX];
    size_t n = 0, most = hl_sweep_workers(0) > 2 ? hl_sweep_workers(0) : 2;
    if (!session_open(&opened, &options)) return false;
    hl_diagnostics *said = hl_diagnostics_create();
    hl_sweep *sweep = plan(opened.bound, points, said);
    bool good = sweep != NULL;
    for (size_t workers = 1; good && workers <= most && n < RUNS_MAX; workers *= 2)
        good = measure(sweep, workers, &r[n++], said);
    if (good) (json ? print_json : print_table)(hl_design_name(opened.bound->design), r, n);
    session_print(said, HL_ERROR);
    hl_sweep_destroy(sweep);
    hl_diagnostics_destroy(said);
    session_close(&opened);
    return good;
}

int main(int argc, char **argv)
{
    bool json = false;
    size_t points = 3000;
    const char *script = NULL;
    for (int i = 1; i < argc; i++) {
        if (!strcmp(argv[i], "--json"))
            json = true;
        else if (!strcmp(argv[i], "--points") && i + 1 < argc)
            points = strtoul(argv[++i], NULL, 10);
        else
            script = argv[i];
    }
    return script && run_all(script, points, json) ? EXIT_SUCCESS : EXIT_FAILURE;
}
