/* lead.c - a point of a grid begins where points of its group, walked before, lead.
 *
 * With a, b and c solved such that the point lies at a + b - c, so does its answer but for second
 * differences: along a line with a = b, at the corner of a parallelogram else.  More on a line with even
 * steps leave higher differences, as many as would have led best to the last of them.  What is led on is how
 * far answers are off from what the design's anchors foretell (core/solve/start.c). */
#include "sweep/lead.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Settings this near in each coordinate, as a share, are the same. */
static const double same = 1e-9;
enum { LINE_MOST = 6 };
/* Of a small plan groups are small, so that there is one for each of many workers. */
enum { SMALL_PLAN = 4096, SMALL_GROUP = 16 };

static size_t count_coordinates(const hl_sweep *sweep)
{
    size_t n = 0;
    for (size_t i = 0; i < sweep->n_axes; i++) n += sweep->axes[i].n_settings;
    return n;
}

static void place_of(const lead *l, const double settings[], double place[])
{
    for (size_t i = 0; i < l->sweep->n_axes; i++)
        for (size_t k = 0; k < l->sweep->axes[i].n_settings; k++)
            *place++ = settings[l->sweep->axes[i].setting[k]];
}

/* The first points of a group, and of a line, begin farthest off: so as few of them as may be. */
size_t lead_group(const hl_sweep *sweep)
{
    size_t most = sweep->points < SMALL_PLAN ? SMALL_GROUP : LEAD_MOST;
    size_t line = sweep->sampled || !sweep->n_axes ? 1 : sweep->axes[sweep->n_axes - 1].n_entries;
    return line < 1 || line > most ? most : most / line * line;
}

bool lead_create(lead *made, const hl_sweep *sweep, const double base[])
{
    memset(made, 0, sizeof *made);
    made->sweep = sweep;
    made->coordinates = count_coordinates(sweep);
    made->size = lead_group(sweep);
    made->group = SIZE_MAX;
    made->settings = malloc((sweep->n_settings + 1) * sizeof(double));
    made->here = calloc(made->coordinates + 1, sizeof(double));
    made->blend = hl_start_create(sweep->design);
    bool good = made->settings && made->here && made->blend;
    for (size_t k = 0; k < made->size; k++) {
        made->solved[k] = hl_start_create(sweep->design);
        made->place[k] = calloc(made->coordinates + 1, sizeof(double));
        good = good && made->solved[k] && made->place[k];
    }
    if (good) memcpy(made->settings, base, sweep->n_settings * sizeof(double));
    return good;
}

void lead_clear(lead *made)
{
    for (size_t k = 0; k < made->size; k++) {
        hl_start_destroy(made->solved[k]);
        free(made->place[k]);
    }
    hl_start_destroy(made->blend);
    free(made->settings);
    free(made->here);
    memset(made, 0, sizeof *made);
}

/* Distance in shares of each coordinate; settings that one point has and the other lacks are far apart. */
static double distance(const lead *l, const double a[], const double b[])
{
    double sum = 0;
    for (size_t i = 0; i < l->coordinates; i++) {
        if (isnan(a[i]) && isnan(b[i])) continue;
        double share = (a[i] - b[i]) / (fabs(a[i]) + fabs(b[i]) + 1e-12);
        sum += isfinite(share) ? share * share : 1;
    }
    return sqrt(sum);
}

/* Is the point at a + b - c? */
static bool completes(const lead *l, const double a[], const double b[], const double c[])
{
    for (size_t i = 0; i < l->coordinates; i++) {
        if (isnan(l->here[i]) && isnan(a[i]) && isnan(b[i]) && isnan(c[i])) continue;
        double off = l->here[i] - a[i] - b[i] + c[i];
        if (!(fabs(off) <= same * (fabs(a[i]) + fabs(b[i])))) return false;
    }
    return true;
}

/* One that continues the even steps c, a to the point: the c' with c = (a + c') / 2. */
static size_t before(const lead *l, size_t a, size_t c)
{
    for (size_t k = 0; k < l->n; k++) {
        bool even = true;
        for (size_t i = 0; even && i < l->coordinates; i++) {
            double off = l->place[a][i] - 2 * l->place[c][i] + l->place[k][i];
            even = fabs(off) <= same * (fabs(l->place[a][i]) + fabs(l->place[c][i]));
        }
        if (even && k != c) return k;
    }
    return SIZE_MAX;
}

/* On a line: beyond its last points on even steps. */
static bool blend_line(lead *l, size_t a, size_t c)
{
    size_t point[LINE_MOST] = {a, c}, n = 2;
    for (; n < LINE_MOST; n++) {
        point[n] = before(l, point[n - 2], point[n - 1]);
        if (point[n] == SIZE_MAX) break;
    }
    const hl_start *from[LINE_MOST] = {NULL};
    for (size_t k = 0; k < n; k++) from[k] = l->solved[point[k]];
    return hl_start_onward(l->blend, from, n);
}

static const hl_start *blend(lead *l, size_t a, size_t b, size_t c)
{
    const hl_start *corner[] = {l->solved[a], l->solved[b], l->solved[c]};
    const double one[] = {1, 1, -1};
    bool made = a == b ? blend_line(l, a, c) : hl_start_blend(l->blend, corner, one, 3);
    return made ? l->blend : l->solved[a];
}

/* The start of the point at l->here; NULL for the first that is solved. */
static const hl_start *find(lead *l)
{
    const size_t n = l->n;
    if (!n) return NULL;
    size_t nearest = 0, best_a = SIZE_MAX, best_b = 0, best_c = 0;
    double away[LEAD_MOST], least = INFINITY;
    for (size_t k = 0; k < n; k++) {
        away[k] = distance(l, l->here, l->place[k]);
        if (away[k] < away[nearest]) nearest = k;
    }
    for (size_t a = n; a-- > 0;)
        for (size_t b = a + 1; b-- > 0;)
            for (size_t c = 0; away[a] * away[b] < least && c < n; c++) {
                if (c == a || c == b || !completes(l, l->place[a], l->place[b], l->place[c])) continue;
                least = away[a] * away[b];
                best_a = a, best_b = b, best_c = c;
            }
    return best_a < n ? blend(l, best_a, best_b, best_c) : l->solved[nearest];
}

static hl_status solve_next(lead *l, hl_workspace *work, const double settings[])
{
    place_of(l, settings, l->here);
    hl_status status = hl_solve_from(work, settings, find(l));
    l->next++;
    if (status != HL_OK || !hl_start_take(l->solved[l->n], work)) return status;
    memcpy(l->place[l->n], l->here, l->coordinates * sizeof(double));
    l->n++;
    return status;
}

hl_status lead_solve(lead *l, hl_workspace *work, size_t point, const double settings[])
{
    if (l->group != point / l->size || l->next > point) {
        l->group = point / l->size;
        l->next = l->group * l->size;
        l->n = 0;
    }
    while (l->next < point) {
        hl_sweep_settings(l->sweep, l->next, l->settings);
        solve_next(l, work, l->settings);
    }
    return solve_next(l, work, settings);
}
