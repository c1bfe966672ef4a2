/* lead.c - a point of a grid begins where points of its group, walked before, lead.
 *
 * Along the fastest axis on which a point of the group lies before it, as many of them in a row as have even
 * steps; and beside those, one entry back on the next axis, a line that has been walked. Answers along a line
 * have small differences of high order, and those of two lines beside each other differ little along both:
 * core/solve/start.c takes which of them would have led better. */
#include "sweep/lead.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Steps this near, as a share, are the same. */
static const double same = 1e-9;
enum { LINE_MOST = 6 };
/* Of a small plan groups are small, so that there is one for each of many workers: at most this share. */
enum { GROUPS_LEAST = 512, SMALL_PLAN = 4096, SMALL_GROUP = 16, USUAL_GROUP = 64 };

static size_t group_most(size_t points)
{
    if (points < SMALL_PLAN) return SMALL_GROUP;
    size_t share = points / GROUPS_LEAST;
    return share < USUAL_GROUP ? USUAL_GROUP : share < LEAD_MOST ? share : LEAD_MOST;
}

/* The first points of a group, and of a line, begin farthest off: so as few of them as may be. */
size_t lead_group(const hl_sweep *sweep)
{
    size_t most = group_most(sweep->points);
    size_t line = sweep->sampled || !sweep->n_axes ? 1 : sweep->axes[sweep->n_axes - 1].n_entries;
    return line < 1 || line > most ? most : most / line * line;
}

bool lead_create(lead *made, const hl_sweep *sweep, const double base[])
{
    memset(made, 0, sizeof *made);
    made->sweep = sweep;
    made->size = lead_group(sweep);
    made->first = SIZE_MAX;
    made->settings = malloc((sweep->n_settings + 1) * sizeof(double));
    made->blend = hl_start_create(sweep->design);
    bool good = made->settings && made->blend;
    for (size_t k = 0; !sweep->sampled && k < made->size; k++) {
        made->point[k] = hl_start_create(sweep->design);
        good = good && made->point[k];
    }
    size_t stride = 1;
    for (size_t i = sweep->n_axes; i-- > 0; stride *= sweep->axes[i].n_entries) made->stride[i] = stride;
    if (good) memcpy(made->settings, base, sweep->n_settings * sizeof(double));
    return good;
}

void lead_clear(lead *made)
{
    for (size_t k = 0; k < made->size; k++) hl_start_destroy(made->point[k]);
    hl_start_destroy(made->blend);
    free(made->settings);
    memset(made, 0, sizeof *made);
}

/* Are an entry and the two before it on even steps? */
static bool is_even(const axis *a, size_t entry)
{
    for (size_t k = 0; k < a->n_settings; k++) {
        const double *v = &a->value[entry * a->n_settings + k];
        double now = v[0], before = *(v - a->n_settings), first = *(v - 2 * a->n_settings);
        if (!(fabs(now - 2 * before + first) <= same * (fabs(now) + fabs(before)))) return false;
    }
    return true;
}

/* How many points of the group lie before this one along an axis, in a row and on even steps; `most` count.
 */
static size_t steps_back(const lead *l, size_t point, size_t index, size_t most)
{
    size_t n = 0, entry = plan_entry(l->sweep, point, index), stride = l->stride[index];
    while (n < most && n < entry && (n + 1) * stride <= point - l->first &&
           (n == 0 || is_even(&l->sweep->axes[index], entry - n + 1)))
        n++;
    return n;
}

/* The next axis outward from `end` along which a point of the group lies before this one. */
static bool find_axis(const lead *l, size_t point, size_t end, size_t *found)
{
    while (end-- > 0)
        if (steps_back(l, point, end, 1)) {
            *found = end;
            return true;
        }
    return false;
}

/* Beyond the points along one axis, beside those along it that lie one entry back on the next; false: they
 * do not lead. */
static bool lead_along(const lead *l, size_t point, size_t along)
{
    const hl_start *past[LINE_MOST], *beside[LINE_MOST + 1];
    const size_t at = point - l->first, stride = l->stride[along];
    size_t n = steps_back(l, point, along, LINE_MOST), m = 0, across;
    for (size_t k = 0; k < n; k++) past[k] = l->point[at - (k + 1) * stride];
    if (find_axis(l, point, along, &across))
        for (; m <= n && l->stride[across] + m * stride <= at; m++)
            beside[m] = l->point[at - l->stride[across] - m * stride];
    return hl_start_beside(l->blend, past, n, beside, m);
}

/* The start of a point; NULL: none before it in its group leads there. */
static const hl_start *find(const lead *l, size_t point)
{
    size_t along = l->sweep->n_axes;
    while (find_axis(l, point, along, &along))
        if (lead_along(l, point, along)) return l->blend;
    return NULL;
}

static hl_status solve_next(lead *l, hl_workspace *work, const double settings[])
{
    hl_status status = hl_solve_from(work, settings, find(l, l->next));
    hl_start_take(l->point[l->next - l->first], work);
    l->next++;
    return status;
}

hl_status lead_solve(lead *l, hl_workspace *work, size_t point, const double settings[])
{
    if (l->first != point - point % l->size || l->next > point) l->first = l->next = point - point % l->size;
    while (l->next < point) {
        hl_sweep_settings(l->sweep, l->next, l->settings);
        solve_next(l, work, l->settings);
    }
    return solve_next(l, work, settings);
}
