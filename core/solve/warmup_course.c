/* warmup_course.c - what a warm-up leaves behind: rows, peaks, times to limits. */
#include "solve/warmup.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/limits.h"

hl_course *course_create(const hl_design *design, const double limit[])
{
    hl_course *course = calloc(1, sizeof *course);
    if (!course) return NULL;
    course->nodes = hl_design_nodes(design);
    course->items = design->n_items;
    course->peak = calloc(course->nodes + 1, sizeof *course->peak);
    course->junction = calloc(course->items + 1, sizeof *course->junction);
    if (!course->peak || !course->junction) {
        hl_course_destroy(course);
        return NULL;
    }
    for (size_t i = 0; i < course->nodes; i++)
        course->peak[i] =
            (hl_course_peak){0, 0, limit ? limit[i] : hl_design_node_limit(design, i), INFINITY};
    course->outcome = HL_SOLVED;
    course->figures.leader = -1;
    return course;
}

void hl_course_destroy(hl_course *course)
{
    if (!course) return;
    free(course->time);
    free(course->load);
    free(course->loss);
    free(course->temperature);
    free(course->peak);
    free(course->junction);
    free(course);
}

static bool grow(double **list, size_t count)
{
    double *grown = realloc(*list, count * sizeof **list);
    if (grown) *list = grown;
    return grown != NULL;
}

bool course_add(hl_course *course, double time, double load, double loss, const double temperature[])
{
    if (course->rows >= HL_PROFILE_ROWS_MAX) return false;
    if (course->rows == course->room) {
        size_t room = course->room ? 2 * course->room : 256;
        if (!grow(&course->time, room) || !grow(&course->load, room) || !grow(&course->loss, room) ||
            !grow(&course->temperature, room * (course->nodes + 1)))
            return false;
        course->room = room;
    }
    course->time[course->rows] = time;
    course->load[course->rows] = load;
    course->loss[course->rows] = loss;
    if (course->nodes)
        memcpy(course->temperature + course->rows * course->nodes, temperature,
               course->nodes * sizeof *temperature);
    course->rows++;
    return true;
}

void course_watch(hl_course *course, double time, double step, const double before[],
                  const double temperature[])
{
    for (size_t i = 0; i < course->nodes; i++) {
        hl_course_peak *peak = &course->peak[i];
        if (temperature[i] > peak->temperature) {
            peak->temperature = temperature[i];
            peak->time = time;
        }
        if (!(temperature[i] >= peak->limit) || peak->reached < INFINITY) continue;
        /* within one step of the integrator the course is straight enough */
        double climbed = temperature[i] - before[i];
        double share = climbed > 0 ? (peak->limit - before[i]) / climbed : 0;
        peak->reached = time - step * (1 - fmin(fmax(share, 0), 1));
    }
}

bool item_ladder(const design_item *item, hl_ladder *foster)
{
    const hl_value *given = &item->commons[HL_COMMON_TRANSIENT_IMPEDANCE];
    if (!given->given || given->curve.n < 2) return false;
    return hl_foster_fit(given->curve.n, given->curve.x, given->curve.y, 6, foster, NULL) == HL_OK;
}

hl_outcome hl_course_outcome(const hl_course *course)
{
    return course->outcome;
}

const char *hl_course_reason(const hl_course *course)
{
    return course->reason;
}

size_t hl_course_nodes(const hl_course *course)
{
    return course->nodes;
}

size_t hl_course_rows(const hl_course *course)
{
    return course->rows;
}

hl_course_row hl_course_at(const hl_course *course, size_t row)
{
    if (row >= course->rows) return (hl_course_row){NAN, NAN, NAN, NULL};
    return (hl_course_row){course->time[row], course->load[row], course->loss[row],
                           course->temperature + row * course->nodes};
}

hl_course_peak hl_course_peak_of(const hl_course *course, size_t node)
{
    return node < course->nodes ? course->peak[node] : (hl_course_peak){NAN, NAN, NAN, INFINITY};
}

double hl_course_junction_peak(const hl_course *course, size_t item)
{
    return item < course->items ? course->junction[item] : NAN;
}

const hl_course_figures *hl_course_summary(const hl_course *course)
{
    return &course->figures;
}
