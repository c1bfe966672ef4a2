/* bench.c - whole electro-thermal solutions per second of an adapter, on one core, and where the
 * time goes.   bench SCRIPT.lua [seconds [points]]
 *
 * Every point is another operating point (mains voltage and load walk over a grid), so nothing can be
 * carried over from the one before.  Time is that of the processor, so that a busy machine tells the same.
 * With a number of points it solves just those, for counting instructions:
 *   valgrind --tool=callgrind --toggle-collect=hl_solve bench SCRIPT.lua 9 16 */
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "cli/session.h"

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void vary(double settings[], const double base[], size_t voltage, size_t load, unsigned long k)
{
    settings[voltage] = 90.0 + (double)(k * 37 % 175);
    settings[load] = base[load] * (0.25 + 0.75 * (double)(k * 61 % 101) / 100.0);
}

typedef struct tally {
    unsigned long points, unsolved;
    double seconds;
} tally;

/* Until the seconds are over or `most` points are done. */
static tally run(bound_design *bound, double *settings, double seconds, unsigned long most)
{
    size_t voltage = hl_design_find_setting(bound->design, "mains.voltage", NULL);
    size_t load = hl_design_find_setting(bound->design, "load", NULL);
    double start = now();
    tally done = {0};
    for (; done.points < most && done.seconds < seconds; done.seconds = now() - start)
        for (int k = 0; k < 16; k++, done.points++) {
            vary(settings, bound->settings, voltage, load, done.points);
            if (hl_solve(bound->workspace, settings) != HL_OK ||
                hl_result_outcome(bound->workspace) != HL_SOLVED)
                done.unsolved++;
        }
    return done;
}

/* Stages, parts, buses and thermal network, from a run with the clocks on. */
static void print_times(bound_design *bound, double *settings, double seconds)
{
    hl_workspace_measure(bound->workspace, true);
    run(bound, settings, seconds, ULONG_MAX);
    const hl_times *t = hl_workspace_times(bound->workspace);
    double per = 1e6 / (double)t->points;
    printf("  where a solution's time goes, microseconds (%.1f rounds each):\n"
           "    stages %.1f   parts %.1f   buses %.1f   thermal network %.1f\n",
           (double)t->passes / (double)t->points, per * t->stages, per * t->parts, per * t->buses,
           per * t->network);
}

int main(int argc, char **argv)
{
    session_options options = {.script = argc > 1 ? argv[1] : NULL};
    double seconds = argc > 2 ? atof(argv[2]) : 2.0;
    unsigned long most = argc > 3 ? strtoul(argv[3], NULL, 10) : ULONG_MAX;
    session opened;
    if (!options.script || !session_open(&opened, &options)) return EXIT_FAILURE;
    size_t n = hl_design_settings(opened.bound->design);
    double *settings = calloc(n + 1, sizeof *settings);
    if (!settings) return EXIT_FAILURE;
    hl_design_defaults(opened.bound->design, settings);
    if (argc <= 3) run(opened.bound, settings, 0.2 * seconds, most); /* warm the caches */
    tally done = run(opened.bound, settings, seconds, most);
    printf("%s\n  %zu parts, %zu nodes\n", hl_design_name(opened.bound->design),
           hl_design_items(opened.bound->design), hl_design_nodes(opened.bound->design));
    printf("  %.0f whole solutions per second on one core (%lu points, %lu without a solution)\n",
           (double)done.points / done.seconds, done.points, done.unsolved);
    if (argc <= 3) print_times(opened.bound, settings, seconds);
    free(settings);
    session_close(&opened);
    return EXIT_SUCCESS;
}
