/* sweep.c - `heatledger sweep`: walk a plan on all cores into a store, and go on where it stopped. */
#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "cli/command.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/store_text.h"
#include "lua/sweep_plan.h"

static const char help[] =
    "usage: heatledger sweep PLAN.lua --store FILE [--workers N] [--shard I/N] [--csv | --json]\n"
    "\n"
    "Solve every point of the plan that PLAN.lua states with hl.sweep { ... }, on all cores, into one\n"
    "store (an SQLite file).  Run the same command again to go on where it stopped: by Ctrl-C, by a full\n"
    "disk, by a crash.  docs/sweeps.md tells how to state a plan and how to use many machines.\n"
    "\n"
    "  --store FILE      where the rows go; made when it is not there\n"
    "  --workers N       threads; as many as there are processors when not given\n"
    "  --shard I/N       only the I-th of N parts of the plan, I from 1; `heatledger merge` joins the "
    "stores\n"
    "  --csv             print the rows that are kept, as comma-separated values\n"
    "  --json            print the summary and the rows in the schema heatledger.sweep/1\n"
    "  --quiet           no progress on stderr\n"
    "  --set NAME=VALUE  change a setting of every point; may be repeated\n" OPTION_HELP_SCRIPT "\n"
    "exit: 0 all points done, 1 bad input or a store that cannot be written, 130 stopped by Ctrl-C, 143 by "
    "SIGTERM\n";

typedef struct choices {
    session_options session;
    const char *store, *workers, *shard;
    bool csv, json, quiet;
} choices;

static volatile sig_atomic_t told_to_stop;

static void on_signal(int number)
{
    if (told_to_stop) _exit(128 + number); /* asked twice: at once; the store stands at its last batch */
    told_to_stop = number;
}

static void watch_signals(void)
{
    struct sigaction action = {.sa_handler = on_signal};
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    signal(SIGXFSZ, SIG_IGN); /* a file-size limit is then an error of the write, like a full disk */
}

static bool read_number(const char *text, char end, const char **rest, size_t *number)
{
    char *stop;
    errno = 0;
    if (*text < '0' || *text > '9') return false;
    unsigned long long read = strtoull(text, &stop, 10);
    *number = (size_t)read;
    if (rest) *rest = stop + 1;
    return errno == 0 && *stop == end && read <= 1000000;
}

static bool parse(int argc, char **argv, choices *chosen, size_t *workers, hl_shard *shard)
{
    memset(chosen, 0, sizeof *chosen);
    const own_option own[] = {{"store", OWN_TEXT, &chosen->store},
                              {"workers", OWN_TEXT, &chosen->workers},
                              {"shard", OWN_TEXT, &chosen->shard},
                              {"csv", OWN_FLAG, &chosen->csv},
                              {"json", OWN_FLAG, &chosen->json},
                              {"quiet", OWN_FLAG, &chosen->quiet},
                              {NULL, OWN_FLAG, NULL}};
    if (!options_read("sweep", argc, argv, &chosen->session, own)) return false;
    const char *rest;
    *workers = 0;
    *shard = (hl_shard){1, 1};
    if (!chosen->store) {
        fputs("heatledger sweep: name a store: --store FILE\n", stderr);
        return false;
    }
    if (chosen->workers &&
        (!read_number(chosen->workers, '\0', NULL, workers) || *workers < 1 || *workers > 1024)) {
        fprintf(stderr, "heatledger sweep: --workers %s: give 1 to 1024\n", chosen->workers);
        return false;
    }
    if (chosen->shard && (!read_number(chosen->shard, '/', &rest, &shard->shard) ||
                          !read_number(rest, '\0', NULL, &shard->shards) || shard->shard < 1 ||
                          shard->shard > shard->shards)) {
        fprintf(stderr, "heatledger sweep: --shard %s: write I/N, such as 3/64, I from 1\n", chosen->shard);
        return false;
    }
    return true;
}

/* -------------------------------------------------------------- progress -- */

typedef struct meter {
    bool terminal, quiet;
    double begun, said;
} meter;

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void duration_text(double seconds, char text[32])
{
    if (!isfinite(seconds) || seconds > 3600.0 * 24 * 999)
        snprintf(text, 32, "unknown");
    else if (seconds < 90)
        snprintf(text, 32, "%.0f s", seconds);
    else if (seconds < 5400)
        snprintf(text, 32, "%.0f min", seconds / 60);
    else
        snprintf(text, 32, "%.1f h", seconds / 3600);
}

/* On a terminal one line that is written over; in a log a line now and then. */
static void report(void *context, const hl_sweep_progress *progress)
{
    meter *m = context;
    double time = now();
    if (m->quiet || time - m->said < (m->terminal ? 0.2 : 10.0)) return;
    m->said = time;
    char left[32];
    duration_text(progress->left, left);
    fprintf(stderr, "%s%zu of %zu points, %.0f a second, %s left%s", m->terminal ? "\r" : "", progress->done,
            progress->points, progress->rate, left, m->terminal ? "   " : "\n");
    fflush(stderr);
}

/* ---------------------------------------------------------------- derive -- */

typedef struct deriving {
    session *sessions; /* one for each worker: its own state, with the script run in it */
    size_t n, columns;
} deriving;

static bool derive(void *context, size_t worker, hl_workspace *workspace, const double settings[],
                   double derived[], char *why, size_t size)
{
    deriving *d = context;
    sandbox_refresh(d->sessions[worker].box);
    return sweep_plan_derive(sandbox_state(d->sessions[worker].box), workspace, settings, d->columns, derived,
                             why, size);
}

static bool open_workers(deriving *d, const session_options *options, size_t workers, size_t columns)
{
    d->columns = columns;
    if (!columns) return true;
    d->sessions = calloc(workers ? workers : 1, sizeof *d->sessions);
    for (size_t i = 0; d->sessions && i < workers; i++, d->n++)
        if (!session_run(&d->sessions[i], options)) {
            session_close(&d->sessions[i]);
            return false;
        }
    return d->sessions != NULL;
}

static void close_workers(deriving *d)
{
    for (size_t i = 0; i < d->n; i++) session_close(&d->sessions[i]);
    free(d->sessions);
}

/* ------------------------------------------------------------------- run -- */

static int finish(const choices *chosen, const hl_sweep *sweep, hl_store *store, double seconds,
                  size_t before, hl_diagnostics *diagnostics)
{
    hl_store_counts counts;
    if (hl_store_count(store, &counts, diagnostics) != HL_OK) return EXIT_BAD_INPUT;
    bool all = counts.done == counts.points;
    if (!all)
        fprintf(stderr, "stopped after %zu of %zu points; run the same command to go on\n", counts.done,
                counts.points);
    if (chosen->csv || chosen->json) {
        hl_status status = chosen->csv ? store_csv(stdout, store, diagnostics)
                                       : store_json(stdout, store, &counts, diagnostics);
        if (status != HL_OK) return EXIT_BAD_INPUT;
    } else {
        store_summary(stdout, store, sweep, &counts, diagnostics);
        if (counts.done > before && seconds > 0)
            printf("%zu points in %.2f s, %.0f a second\n", counts.done - before, seconds,
                   (double)(counts.done - before) / seconds);
    }
    if (!printed_whole(true)) return EXIT_BAD_INPUT;
    return all ? EXIT_GOOD : told_to_stop ? 128 + (int)told_to_stop : EXIT_BAD_INPUT;
}

static int walk(const choices *chosen, const hl_sweep *sweep, hl_store *store, size_t workers, size_t derived,
                hl_diagnostics *diagnostics)
{
    meter m = {.terminal = isatty(STDERR_FILENO), .quiet = chosen->quiet, .begun = now()};
    m.said = m.begun;
    deriving d = {0};
    hl_store_counts before;
    int code = EXIT_BAD_INPUT;
    if (hl_store_count(store, &before, diagnostics) == HL_OK &&
        open_workers(&d, &chosen->session, before.done < before.points ? workers : 0, derived)) {
        hl_sweep_run_options options = {.workers = workers,
                                        .derive = derived ? derive : NULL,
                                        .derive_context = &d,
                                        .report = report,
                                        .report_context = &m,
                                        .stop = &told_to_stop};
        double began = now();
        hl_status status = hl_sweep_run(sweep, store, &options, diagnostics);
        double seconds = now() - began;
        if (m.terminal && !m.quiet) fputs("\r\033[K", stderr);
        if (status == HL_OK) code = finish(chosen, sweep, store, seconds, before.done, diagnostics);
    }
    close_workers(&d);
    return code;
}

/* A face's mean is no hot spot, and the column's name does not tell which it is. */
static void name_case(const hl_sweep *sweep, const hl_design *design)
{
    for (size_t i = 0; i < hl_sweep_columns(sweep); i++)
        if (!strcmp(hl_sweep_column(sweep, i), "case_hottest_c") && hl_design_case_hottest(design))
            printf("case_hottest_c: %s\n", hl_design_case_hottest(design));
}

static int run(int argc, char **argv)
{
    choices chosen;
    size_t workers;
    hl_shard shard;
    session opened = {0};
    if (!parse(argc, argv, &chosen, &workers, &shard)) return EXIT_BAD_INPUT;
    told_to_stop = 0;
    watch_signals();
    int code = EXIT_BAD_INPUT;
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    if (diagnostics && session_open(&opened, &chosen.session)) {
        lua_State *L = sandbox_state(opened.box);
        hl_sweep *sweep = NULL;
        if (!sweep_plan_stated(L))
            fprintf(stderr, "%s: states no plan; end the script with: return hl.sweep { ... }\n",
                    chosen.session.script);
        else
            sweep = sweep_plan_build(L, opened.bound, chosen.session.script, diagnostics);
        hl_store *store = sweep ? hl_store_open(chosen.store, sweep, shard, diagnostics) : NULL;
        if (store)
            code = walk(&chosen, sweep, store, hl_sweep_workers(workers), hl_sweep_derived_columns(sweep),
                        diagnostics);
        if (code == EXIT_GOOD && !chosen.csv && !chosen.json) name_case(sweep, opened.bound->design);
        hl_store_close(store);
        hl_sweep_destroy(sweep);
    }
    session_print(diagnostics, session_least(&chosen.session));
    hl_diagnostics_destroy(diagnostics);
    session_close(&opened);
    return code;
}

extern const command command_sweep;
const command command_sweep = {"sweep", "many points of a plan on all cores, into a store", help, run};
