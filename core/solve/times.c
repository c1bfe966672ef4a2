/* times.c - where the time of solving goes, measured only when asked. */
#include "solve/workspace.h"

#include <string.h>
#include <time.h>

double times_now(const hl_workspace *work)
{
    struct timespec now;
    if (!work->measuring) return 0;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void times_add(hl_workspace *work, double *sum, double since)
{
    if (work->measuring) *sum += times_now(work) - since;
}

void hl_workspace_measure(hl_workspace *workspace, bool on)
{
    workspace->measuring = on;
    if (on) memset(&workspace->times, 0, sizeof workspace->times);
}

const hl_times *hl_workspace_times(const hl_workspace *workspace)
{
    return &workspace->times;
}
