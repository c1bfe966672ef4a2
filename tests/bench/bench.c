/* bench.c - whole electro-thermal solutions per second of an adapter, on one core, and where the
 * time goes.   bench SCRIPT.lua [seconds]
 *
 * Every point is another operating point (mains voltage and load walk over a grid), so nothing can be
 * carried over from the one before. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "cli/session.h"

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void vary(double settings[], const double base[], size_t voltage, size_t load, unsigned long k)
{
    settings[voltage] = 90.0 + (double)(k * 37 % 175);
    settings[load] = base[load] * (0.25 + 0.75 * (double)(k * 61 % 101) / 100.0);
}

static double run(bound_design *bound, double *settings, double seconds, unsigned long *points,
                  unsigned long *unsolved)
{
    size_t voltage = hl_design_find_setting(bound->design, "mains.voltage", NULL);
    size_t load = hl_design_find_setting(bound->design, "load", NULL);
    double start = now();
    *points = *unsolved = 0;
    while (now() - start < seconds)
        for (int k = 0; k < 16; k++) {
            vary(settings, bound->settings, voltage, load, *points);
            if (hl_solve(bound->workspace, settings) != HL_OK ||
                hl_result_outcome(bound->workspace) != HL_SOLVED)
                ++*unsolved;
            ++*points;
        }
    return now() - start;
}

int main(int argc, char **argv)
{
    session_options options = {.script = argc > 1 ? argv[1] : NULL};
    double seconds = argc > 2 ? atof(argv[2]) : 2.0;
    session opened;
    if (!options.script || !session_open(&opened, &options)) return EXIT_FAILURE;
    size_t n = hl_design_settings(opened.bound->design);
    double *settings = calloc(n + 1, sizeof *settings);
    if (!settings) return EXIT_FAILURE;
    hl_design_defaults(opened.bound->design, settings);
    unsigned long points, unsolved, measured;
    run(opened.bound, settings, 0.2 * seconds, &points, &unsolved); /* warm the caches */
    double took = run(opened.bound, settings, seconds, &points, &unsolved);
    printf("%s\n  %zu parts, %zu nodes\n", hl_design_name(opened.bound->design),
           hl_design_items(opened.bound->design), hl_design_nodes(opened.bound->design));
    printf("  %.0f whole solutions per second on one core (%lu points, %lu without a solution)\n",
           (double)points / took, points, unsolved);
    hl_workspace_measure(opened.bound->workspace, true);
    run(opened.bound, settings, seconds, &measured, &unsolved);
    const hl_times *t = hl_workspace_times(opened.bound->workspace);
    double per = 1e6 / (double)t->points;
    printf("  where a solution's time goes, microseconds (%.1f rounds each):\n"
           "    stages %.1f   parts %.1f   buses %.1f   thermal network %.1f\n",
           (double)t->passes / (double)t->points, per * t->stages, per * t->parts, per * t->buses,
           per * t->network);
    free(settings);
    session_close(&opened);
    return EXIT_SUCCESS;
}
